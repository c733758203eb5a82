#!/usr/bin/env python3
"""The station in a real browser, on the virtual bench: from set-up to the printed sheet, halts, lost pages and servers.

usage: station_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]; PICTURES=FOLDER keeps what was seen"""
import http.client
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import time
import unittest
import urllib.parse

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from browser import Browser  # noqa: E402

DROPLEDGER, CHROMIUM, FIXTURES = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
SIX_UNITS = FIXTURES / "scenarios/six_units.toml"
PICTURES = os.environ.get("PICTURES")
PROFILE = """# Invented for a test: wide limits, so that short runs decide.
name = "short-test"
mode = "single"
confidence = 0.95
least_drops = 150
[limits]
miss_index = 0.08
multiples_index = 0.08
"""
RECORD = """schema = "dropledger/calibration/1"
id = "CAL-B1"
date = "2026-01-02"
expires = "2099-12-31"
[holds_for]
bench = "bench-1"
gate = 1
[efficiency]
value = 0.999
low = 0.996
high = 1.0
confidence = 0.95
method = "invented"
"""
ESCAPE = 27
WIDER = "Math.max(window.innerWidth - screen.width, document.documentElement.scrollWidth - window.innerWidth)"


class Station:
    """The program, serving."""

    def __init__(self, folder, *words):
        self.folder = pathlib.Path(folder)
        self.process = subprocess.Popen([DROPLEDGER, "serve", "--folder", folder, "--book", f"{folder}/bench.book", *words],
                                        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.first = self.process.stdout.readline().strip()
        self.base = self.first.split("/?")[0]

    def end(self):
        self.process.terminate()
        status = self.process.wait(60)
        self.process.stdout.close()
        return status

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()

    def logs(self):
        return sorted(self.folder.glob("*.droplog"))


class OnTheBench(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.browser = Browser(CHROMIUM)

    @classmethod
    def tearDownClass(cls):
        cls.browser.__exit__()

    def setUp(self):
        self.kept = tempfile.TemporaryDirectory(prefix="station")
        self.folder = pathlib.Path(self.kept.name)
        self.bench = None
        self.station = Station(self.folder)
        self.pages = []

    def tearDown(self):
        for page in self.pages:
            page.close()
        if self.station.process.poll() is None:
            self.station.end()
        if self.bench:
            self.bench.terminate()
            self.bench.wait()
        self.kept.cleanup()

    def page(self, path="/bench", **how):
        page = self.browser.open(self.station.first, **how)
        self.pages.append(page)
        page.order("Log.enable")
        page.go(self.station.base + path)
        return page

    def outside_bench(self, pace=4):
        """A virtual bench that outlives the station, as a real one does."""
        link = str(self.folder / "outside")
        self.bench = subprocess.Popen([DROPLEDGER, "simulate", "--scenario", SIX_UNITS, "--link", link, "--pace", str(pace)],
                                      stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.bench.stdout.readline()
        self.bench.stdout.close()
        return link

    def loaded(self, page, heading):
        page.until(f"document.readyState == 'complete' && document.querySelector('h1')?.innerText.startsWith({heading!r})")

    def to_the_machine(self, page):
        page.go(self.station.base + "/bench")
        page.click("form[action='/bench/virtual'] button")
        self.loaded(page, "Run ")

    def to_the_cautions(self, page, drops=None):
        self.to_the_machine(page)
        self.on_to_the_cautions(page, drops)

    def on_to_the_cautions(self, page, drops=None):
        if drops:
            page.value(f"document.querySelector('#drops').value = '{drops}'")
        page.click("button.go")
        self.loaded(page, "Ready to start")

    def start(self, page):
        page.click("button.go")
        self.loaded(page, "The run")
        page.until("document.querySelectorAll('#live tbody tr').length == 6")

    def look(self, page, name, whole=True):
        if PICTURES:
            page.picture(f"{PICTURES}/{name}.png", whole=whole)

    def no_complaints(self):
        told = [event["params"]["entry"]["text"] for event in self.browser.events if event.get("method") == "Log.entryAdded"]
        self.assertEqual([text for text in told if "Content Security Policy" in text or "Refused" in text], [])

    def test_a_newcomer_goes_from_the_first_page_to_the_printed_sheet(self):
        page = self.page("/")
        self.look(page, "first")
        page.click("a[href='/bench'].button")
        self.loaded(page, "Bench")
        self.look(page, "bench")
        self.to_the_cautions(page, 200)
        self.assertIn("Seed may be treated", page.value("document.querySelector('.caution').innerText"))
        self.assertEqual(self.station.logs(), [])  # nothing has started unasked
        self.look(page, "cautions")
        self.start(page)
        page.until("document.querySelectorAll('#live .strip svg path').length > 30")
        self.assertIn("%", page.value("document.querySelector('#live tbody').innerText"))
        self.look(page, "run", whole=False)
        page.until("location.pathname.startsWith('/verdict/')")
        self.loaded(page, "")
        words = page.value("document.body.innerText")
        self.assertIn("U-0204", words)
        self.assertIn("What to do", words)
        audited = subprocess.run([DROPLEDGER, "audit", self.station.logs()[0], "--brief"], capture_output=True, text=True)
        cause = re.search(r"U-0204.*?\b(misses [a-z ]+)", audited.stdout)
        if cause:  # the page says what the command says
            self.assertIn(cause[1].split(",")[0], words)
        self.look(page, "verdict")
        page.click("a[href^='/sheet/']")
        page.until("location.pathname.startsWith('/sheet/') && document.readyState == 'complete'")
        page.printed(self.folder / "sheet.pdf")
        pages = subprocess.run(["pdfinfo", self.folder / "sheet.pdf"], capture_output=True, text=True).stdout
        self.assertIn("Pages:           1\n", pages)
        page.go(self.station.base + "/units")
        self.assertEqual(page.value("document.querySelectorAll('tbody tr').length"), 6)
        self.look(page, "units")
        page.click("tbody a")
        page.until("location.pathname.startsWith('/units/') && document.readyState == 'complete'")
        self.look(page, "unit")
        self.no_complaints()

    def test_on_a_phone_nothing_is_wider_than_the_screen_and_halt_is_in_view(self):
        page = self.page("/", width=390, height=844, touch=True)
        for path in ("/", "/bench", "/units", "/field", "/setup"):
            page.go(self.station.base + path)
            self.assertLessEqual(page.value(WIDER), 0, path)
            self.look(page, "phone" + path.replace("/", "-"))
        self.to_the_cautions(page, 2000)
        self.assertLessEqual(page.value(WIDER), 0)
        self.start(page)
        page.media("screen", prefers_color_scheme="dark")
        page.until("parseInt(document.querySelector('#live .lead').innerText) > 100")
        self.assertLessEqual(page.value(WIDER), 0)
        self.look(page, "phone-run-dark", whole=False)
        for way in (0, 100000):
            page.value(f"window.scrollTo(0, {way})")
            box = page.box("button.halt")
            self.assertGreaterEqual(box["height"], 64)
            self.assertLessEqual(box["y"] + box["height"], 844)
        page.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        page.until("location.pathname.startsWith('/verdict/')")
        self.assertIn("@close,interrupted", self.station.logs()[0].read_text())
        self.loaded(page, "")
        self.assertLessEqual(page.value(WIDER), 0)
        self.look(page, "phone-verdict")

    def halted(self, page, act):
        """How long it takes from the act until the log holds the halt is told, and never judged."""
        log = self.station.logs()[0]
        self.assertNotIn("@sent,halt", log.read_text())
        begun = time.monotonic()
        act(page)
        while "@sent,halt" not in log.read_text():
            self.assertLess(time.monotonic() - begun, 30)
            time.sleep(0.005)
        print(f"halt by {act.__name__}: in the log after {1000 * (time.monotonic() - begun):.0f} ms", file=sys.stderr)
        while "@close,interrupted" not in log.read_text():
            self.assertLess(time.monotonic() - begun, 30)
            time.sleep(0.05)

    def halted_by(self, act):
        page = self.page()
        self.to_the_cautions(page, 2000)
        self.start(page)
        self.halted(page, act)
        page.until("location.pathname.startsWith('/verdict/')")

    def test_escape_halts_the_bench_from_another_page(self):
        def key(page):
            page.key("Escape", ESCAPE)
        page = self.page()
        self.to_the_cautions(page, 2000)
        self.start(page)
        page.go(self.station.base + "/units")
        self.halted(page, key)
        page.until("document.querySelector('#bar').innerText == ''")

    def test_the_key_halts_the_bench(self):
        def key(page):
            page.key("Escape", ESCAPE)
        self.halted_by(key)

    def test_the_button_halts_the_bench(self):
        def button(page):
            page.click("button.halt")
        self.halted_by(button)

    def test_closing_the_last_page_halts_the_bench_and_what_is_left_is_made_later(self):
        page = self.page()
        self.to_the_cautions(page, 600)
        self.start(page)
        second = self.page("/units")
        page.close()
        self.pages.remove(page)
        log = self.station.logs()[0]
        time.sleep(5)  # longer than a page may be silent: the other one answers
        self.assertNotIn("nobody stood by", log.read_text())
        self.assertIn("Running", second.value("document.querySelector('#bar').innerText"))
        second.close()
        self.pages.remove(second)
        deadline = time.monotonic() + 30
        while "nobody stood by" not in log.read_text():
            self.assertLess(time.monotonic(), deadline, "nobody is there, and the bench runs on")
            time.sleep(0.05)
        page = self.page("/bench")
        while page.value("document.querySelector('#bar').innerText"):
            time.sleep(0.2)  # what falls still is waited for
            page.go(self.station.base + "/bench")
        self.assertIn("halted", log.read_text())
        self.assertNotIn("@close", log.read_text())
        page.click("form[action='/resume'] button")
        self.loaded(page, "Ready to start")
        page.click("button.go")
        page.until("location.pathname.startsWith('/verdict/')", 120)
        checked = subprocess.run([DROPLEDGER, "check", log], capture_output=True, text=True)
        self.assertEqual(checked.returncode, 0, checked.stdout)

    def test_a_killed_server_halts_the_bench_and_its_log_is_gone_on_with(self):
        self.station.end()
        link = self.outside_bench()
        self.station = Station(self.folder, "--port", link)
        self.folder.joinpath("six.toml").write_text(subprocess.run(
            [DROPLEDGER, "setup", self.folder / "made.toml", "--units", "U-0201..U-0206", "--spacing-mm", "180", "--speed-mps",
             "0.5", "--drops", "150", "--gate0-place", "above", "--gate1-place", "below", "--gate1-height-mm", "50",
             "--valve-height-mm", "400", "--no-check"], capture_output=True, text=True).stdout and
            (self.folder / "made.toml").read_text())
        page = self.page("/machine/six.toml")
        self.on_to_the_cautions(page)
        self.start(page)
        page.until("parseInt(document.querySelector('#live .lead').innerText) > 20")
        self.station.kill()
        log = self.station.logs()[0]
        page.until("!document.querySelector('#lost').hidden")
        time.sleep(3)  # the controller halts 2 s after the last `alive`
        self.station = Station(self.folder, "--port", link)
        page = self.page("/bench")
        page.click("form[action='/resume'] button")
        self.loaded(page, "Ready to start")
        page.click("button.go")
        page.until("location.pathname.startsWith('/verdict/')", 120)
        self.assertIn("host_silent", log.read_text())
        self.assertEqual(subprocess.run([DROPLEDGER, "check", log], capture_output=True).returncode, 0)

    def test_hostile_names_of_units_stay_words(self):
        hostile = '<img src=x onerror=\\"document.title=1\\"><script>document.title=2</script>&amp;'
        page = self.page()
        page.click("form[action='/bench/virtual'] button")
        self.loaded(page, "Run ")
        settings = self.folder / "virtual-bench.toml"
        settings.write_text(settings.read_text().replace('"U-0201"', f'"{hostile}"'))
        page.go(self.station.base + "/machine/virtual-bench.toml")
        self.on_to_the_cautions(page, 60)
        self.start(page)
        page.until("location.pathname.startsWith('/verdict/')", 120)
        self.loaded(page, "")
        for path in (None, "/units", "/bench"):
            if path:
                page.go(self.station.base + path)
            self.assertEqual(page.value("document.querySelectorAll('main img, main script').length"), 0)
            self.assertNotIn(page.value("document.title"), ("1", "2"))
        page.go(self.station.base + "/units")
        self.assertIn("<img src=x", page.value("document.body.innerText"))

    def test_a_machine_is_set_up_and_tried_with_a_few_drops(self):
        page = self.page()
        page.click("form[action='/bench/virtual'] button")
        self.loaded(page, "Run ")
        page.go(self.station.base + "/setup")
        answers = {"name": "spring", "units": "U-0201..U-0202", "spacing-mm": "18 cm", "speed-mps": "1,8 km/h",
                   "gate0-place": "above", "gate1-place": "below", "gate1-height-mm": "5 cm", "valve-height-mm": "400"}
        for name, value in answers.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        self.look(page, "setup")
        page.click("button.go")
        self.loaded(page, "Run spring.toml")
        written = (self.folder / "spring.toml").read_text()
        self.assertIn("spacing_mm = 180", written)
        self.assertIn("speed_mps = 0.5", written)
        self.assertIn("gate1_fall_us", written)
        page.click("form[action^='/setup/try/'] button")
        self.loaded(page, "The run")
        for unit in ("U-0201", "U-0202"):
            page.until(f"document.querySelector('#live .caution')?.innerText.includes({unit!r})")
            self.assertIn("Seed may be treated", page.value("document.querySelector('#live .caution').innerText"))
            self.look(page, "try-" + unit, whole=False)
            page.click("#live button.go")
        self.loaded(page, "It has ended")
        self.assertIn("gate 1 saw", page.value("document.body.innerText"))
        self.look(page, "tried")

    def test_a_night_is_judged_from_a_dropped_table(self):
        night = self.folder / "elsewhere" / "night.csv"
        night.parent.mkdir()
        subprocess.run([DROPLEDGER, "simulate", "--field", night, "--seed", "4"], check=True, capture_output=True)
        text = night.read_text()
        night.write_text(text.replace("time,pass,row,drop", "time,Spur,row,drop", 1))
        page = self.page("/field")
        page.choose_files(".drop input", night)
        self.loaded(page, "What do the columns mean")
        self.look(page, "columns")
        self.assertEqual((self.folder / "night.csv").read_text(), night.read_text())
        self.assertEqual(page.value("document.querySelector('#drop').value"), "drop")
        page.value("document.querySelector('#pass').value = 'Spur'")
        page.click("button.go")
        page.until("document.querySelector('h1.do')")
        said = page.value("document.querySelector('h1.do').innerText").replace("\u00a0", " ")
        told = subprocess.run([DROPLEDGER, "field", self.folder / "night.csv", "--mapping", self.folder / "field-mapping.toml",
                               "--csv", self.folder / "told.txt"], capture_output=True, text=True)
        self.assertIn(said, told.stdout)
        self.look(page, "night", whole=False)
        walk = page.value("fetch(document.querySelector(\"a[href^='/field/file/walk.csv']\").href).then((a) => a.text())")
        self.assertEqual(walk.replace("\r\n", "\n"), (self.folder / "told.txt").read_text().replace("\r\n", "\n"))
        gpx = page.value("fetch(document.querySelector(\"a[href^='/field/file/walk.gpx']\").href).then((a) => a.text())")
        self.assertIn("<gpx", gpx)
        page.value("document.querySelector(\"[id^='found:']\").value = 'none'")
        page.value("document.querySelector(\"form[action='/field/found']\").submit()")
        deadline = time.monotonic() + 30
        while not (self.folder / "night.csv.found.csv").exists():
            self.assertLess(time.monotonic(), deadline)
            time.sleep(0.05)
        page.until("document.querySelector('h1.do') && document.querySelector(\"[id^='found:']\")?.value == ''")
        self.assertIn(",none", (self.folder / "night.csv.found.csv").read_text())
        page.value("const costs = document.querySelector('#cost-lost-plant').form; costs.elements['cost-lost-plant'].value = '0.2'; "
                   "document.querySelector('.noprint.links').remove(); costs.submit()")
        page.until("document.querySelector('#cost-lost-plant')?.value == '0.2' && document.querySelector('.noprint.links')")
        self.assertGreater(page.value("document.querySelectorAll('svg.ground .mark').length"), 0)
        self.assertNotEqual(page.value("getComputedStyle(document.querySelector('svg.ground .mark')).transform"), "none")
        self.no_complaints()
        phone = self.page("/field/result?table=night.csv", width=390, height=844, touch=True)
        phone.until("document.querySelector('h1.do')")
        self.assertLessEqual(phone.value(WIDER), 0)
        self.look(phone, "phone-night", whole=False)

    def test_a_batch_goes_from_its_opening_to_a_pack_that_holds(self):
        (self.folder / "short-test.toml").write_text(PROFILE)
        (self.folder / "CAL-B1.toml").write_text(RECORD)
        page = self.page("/batches")
        page.click("form[action='/batches/key'] button")
        self.loaded(page, "The bench")
        public = re.search(r"[0-9a-f]{64}", page.value("document.querySelector('pre').innerText"))[0]
        page.go(self.station.base + "/batches")
        answers = {"name": "spring", "serials": "U-0201..U-0203", "own-profile": "short-test.toml", "n": "2", "accept": "0"}
        for name, value in answers.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        page.value("document.querySelector(\"[name=rehearsal][value=yes]\").checked = true")
        self.look(page, "batches")
        page.value("document.querySelector(\"form[action='/batches/open']\").submit()")
        self.loaded(page, "Batch spring")
        page.value("document.getElementById('buyer-seed').value = 'a fine spring'")
        page.click("button.go")
        page.until("document.querySelector('h1')?.innerText == 'Batch spring' && document.body.innerText.includes('Add runs')")
        next_units = re.findall(r"U-020\d", re.search(r"to be tested next\s*(.*)", page.value("document.body.innerText"))[1])
        self.assertEqual(len(next_units), 2)
        self.look(page, "batch")
        self.to_the_machine(page)
        page.value("for (const one of document.querySelectorAll('[name=channel]')) one.checked = "
                   f"{next_units!r}.some((unit) => one.parentElement.innerText.includes(unit)); "
                   "document.querySelector('[name=sign][value=yes]').checked = true")
        self.on_to_the_cautions(page, 300)
        page.click("button.go")
        page.until("location.pathname.startsWith('/verdict/')", 120)
        base = self.station.base + "/batches/of/spring.batch.json"
        page.go(base)
        page.value("document.querySelector(\"form[action$='/add']\").submit()")
        page.until("document.querySelectorAll('tbody tr').length == 2")
        self.look(page, "batch-added")
        page.value("document.querySelector(\"form[action$='/decide']\").submit()")
        page.until("document.body.innerText.includes('Decided: accepted')")
        page.value("document.querySelector(\"form[action$='/certificate']\").submit()")
        page.until("document.querySelector(\"a[href$='certificate.pdf']\")")
        self.look(page, "batch-certified")
        self.assertEqual(page.value(f"fetch('{base}/certificate.pdf').then((a) => a.text()).then((t) => t.slice(0, 5))"), "%PDF-")
        page.value("document.querySelector(\"form[action$='/pack']\").submit()")
        deadline = time.monotonic() + 60
        while not (self.folder / "spring-pack" / "spring.pdf").exists():
            self.assertLess(time.monotonic(), deadline)
            time.sleep(0.1)
        self.loaded(page, "Batch spring")
        self.verified(page, public, "It holds")
        log = next((self.folder / "spring-pack").glob("*.droplog"))
        log.write_bytes(log.read_bytes().replace(b"drop,", b"drip,", 1))
        self.verified(page, public, "It does not hold")
        self.no_complaints()

    def verified(self, page, public, verdict):
        page.go(self.station.base + "/batches")
        page.choose_files(".drop input", *(self.folder / "spring-pack").iterdir())
        self.loaded(page, "Does it hold?")
        page.value(f"document.getElementById('public-key').value = {public!r}; "
                   "document.querySelector('[name=rehearsal][value=yes]').checked = true")
        page.click("button.go")
        self.loaded(page, verdict)
        self.look(page, "pack-" + verdict.replace(" ", "-"))

    def test_each_page_can_be_worked_by_keyboard_and_heard(self):
        page = self.page("/")
        self.to_the_machine(page)
        for path in ("/", "/bench", "/machine/virtual-bench.toml", "/setup", "/units", "/batches", "/field"):
            page.go(self.station.base + path)
            page.order("Accessibility.enable")
            nodes = page.order("Accessibility.getFullAXTree")["nodes"]
            roles = {"button", "link", "textbox", "combobox", "checkbox", "radio"}
            named = [node for node in nodes if not node["ignored"] and node["role"]["value"] in roles]
            self.assertGreater(len(named), 4, path)
            self.assertEqual([node for node in named if not node["name"]["value"].strip()], [], path)
            self.assertEqual(page.value("document.querySelectorAll('h1').length"), 1, path)
            self.assertEqual(page.value("[...document.querySelectorAll('[id]')].map((e) => e.id)"
                                        ".filter((id, i, all) => all.indexOf(id) != i)"), [], path)
            self.assertTrue(page.value("document.documentElement.lang"), path)
        page.go(self.station.base + "/")
        self.press_to(page, "To the bench")
        self.loaded(page, "Bench")
        self.press_to(page, "Run virtual-bench.toml")
        self.loaded(page, "Run ")
        page.value("document.querySelector('#drops').value = '2000'")
        self.press_to(page, "On to the cautions")
        self.loaded(page, "Ready to start")
        self.press_to(page, "The cautions are heeded: start the motors")
        self.loaded(page, "The run")
        page.until("document.querySelector('button.halt')")
        self.press_to(page, "HALT")
        page.until("location.pathname.startsWith('/verdict/')")
        self.assertIn("@close,interrupted", self.station.logs()[0].read_text())

    def press_to(self, page, words):
        """By the tab key to what says so, then Enter."""
        for _ in range(60):
            page.key("Tab", 9)
            if (page.value("document.activeElement.innerText") or "").strip().startswith(words):
                break
        else:
            self.fail(f"no way to {words!r} by keyboard")
        page.order("Input.dispatchKeyEvent", type="keyDown", key="Enter", code="Enter", windowsVirtualKeyCode=13, text="\r")
        page.order("Input.dispatchKeyEvent", type="keyUp", key="Enter", code="Enter", windowsVirtualKeyCode=13)

    def asked(self, method, path, headers=(), body=None):
        at = urllib.parse.urlparse(self.station.base)
        line = http.client.HTTPConnection(at.hostname, at.port, timeout=30)
        line.request(method, path, body, dict(headers))
        answer = line.getresponse()
        answer.read()
        line.close()
        return answer

    def test_strangers_are_refused(self):
        first = urllib.parse.urlparse(self.station.first)
        cookie = self.asked("GET", f"/?{first.query}").getheader("Set-Cookie").split(";")[0]
        let_in = {"Cookie": cookie}
        own = {**let_in, "Origin": self.station.base}
        self.assertEqual(self.asked("GET", "/bench").status, 403)
        self.assertEqual(self.asked("GET", "/bench", let_in).status, 200)
        self.assertEqual(self.asked("GET", "/bench", {**let_in, "Host": "evil.example"}).status, 403)
        for path in ("/run/halt", "/bench/virtual", "/run/start"):
            self.assertEqual(self.asked("POST", path, {**let_in, "Origin": "http://evil.example"}).status, 403, path)
            self.assertEqual(self.asked("POST", path, let_in).status, 403, path)
        for name in ("..%2Fx.csv", "%2Fetc%2Fx.csv", ".hidden.csv", "x.droplog", "a%0Ab.csv"):
            self.assertGreaterEqual(self.asked("PUT", "/field/table/" + name, own, b"x").status, 400, name)
        self.assertGreaterEqual(self.asked("GET", "/verdict/..%2F..%2Fetc%2Fpasswd", let_in).status, 200)
        self.assertEqual(self.station.logs(), [])

    def test_an_old_page_starts_nothing(self):
        page = self.page()
        self.to_the_cautions(page, 100)
        other = self.page()
        other.go(self.station.base + "/machine/virtual-bench.toml")
        self.on_to_the_cautions(other, 100)  # the newer one counts
        page.click("button.go")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('old')")
        self.assertEqual(self.station.logs(), [])


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v", *sys.argv[4:]])

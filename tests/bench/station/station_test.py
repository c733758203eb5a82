#!/usr/bin/env python3
"""The bench's pages in a real browser, on the virtual bench: from set-up to the printed sheet, halts, lost pages and
servers.

usage: station_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]"""
import http.client
import re
import socket
import subprocess
import sys
import time
import urllib.parse

from stations import DROPLEDGER, ESCAPE, SIX_UNITS, WIDER, Station, WithStation, run_tests


class OnTheBench(WithStation):
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
        self.look(page, "phone-run-dark", whole=False, dark=True)
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
        begun = time.monotonic()
        while "\ndrop," not in log.read_text():  # before its start a halted run leaves no log
            self.assertLess(time.monotonic() - begun, 30)
            time.sleep(0.05)
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
        self.to_the_cautions(page, 1200)
        self.start(page)
        second = self.page("/units")
        page.close()
        self.pages.remove(page)
        log = self.station.logs()[0]
        time.sleep(8)  # longer than a page may be silent: the other one answers
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

    def test_units_that_lack_different_numbers_of_drops_are_brought_to_the_end(self):
        # The leads are nearly a drop's time apart: wherever the run is halted, one unit is mostly a drop ahead.
        text = SIX_UNITS.read_text()
        scenario = self.folder / "elsewhere" / "two.toml"
        scenario.parent.mkdir()
        scenario.write_text(text[:text.index("[[channel]]")] + '[[channel]]\nunit = "U-1"\nlead_us = 345000\n'
                            '[[channel]]\nunit = "U-2"\nlead_us = 1000\n')
        self.station.end()
        link = self.outside_bench(8, scenario)
        self.station = Station(self.folder, "--port", link)
        subprocess.run([DROPLEDGER, "setup", self.folder / "two.toml", "--units", "U-1,U-2", "--spacing-mm", "180", "--speed-mps",
                        "0.5", "--drops", "300", "--gate0-place", "above", "--no-check"], check=True, capture_output=True)

        def made(log):
            lines = re.findall(r"^drop,\d+,\d+,(\d+),", log.read_text(), re.MULTILINE)
            return lines.count("0"), lines.count("1")
        for _ in range(5):  # one of twenty halts finds them level
            page = self.page("/machine/two.toml")
            self.on_to_the_cautions(page)
            page.click("button.go")
            page.until("parseInt(document.querySelector('#live .lead')?.innerText) > 8")
            page.close()
            self.pages.remove(page)
            log = self.station.logs()[-1]
            deadline = time.monotonic() + 60
            page = None
            while "nobody stood by" not in log.read_text():
                self.assertLess(time.monotonic(), deadline)
                time.sleep(0.1)
            page = self.page("/bench")
            while page.value("document.querySelector('#bar').innerText"):
                time.sleep(0.2)
                page.go(self.station.base + "/bench")
            if made(log)[0] != made(log)[1]:
                break
            page.click("form[action='/resume'] button")
            self.loaded(page, "Ready to start")
            page.click("form:last-of-type button")  # closed as it is; once more
            page.until("location.pathname.startsWith('/verdict/')", 120)
        self.assertNotEqual(made(log)[0], made(log)[1])
        page.click("form[action='/resume'] button")
        self.loaded(page, "Ready to start")
        page.click("button.go")
        page.until("document.querySelector('#live .caution')?.innerText.includes('of U-2. One start')", 120)
        self.assertNotIn("@close", log.read_text())
        self.look(page, "drops-left")
        page.click("#live button.go")
        page.until("location.pathname.startsWith('/verdict/')", 120)
        self.assertEqual(made(log), (300, 300))
        self.assertEqual(subprocess.run([DROPLEDGER, "check", log], capture_output=True).returncode, 0)

    def test_a_guard_that_was_opened_is_told_with_what_to_do_and_units_are_run_again(self):
        self.station.end()
        link = self.outside_bench(8, SIX_UNITS, "--guard-at-s", "12")
        self.station = Station(self.folder, "--port", link)
        subprocess.run([DROPLEDGER, "setup", self.folder / "six.toml", "--units", "U-0201..U-0206", "--spacing-mm", "180", "--speed-mps",
                        "0.5", "--drops", "300", "--gate0-place", "above", "--no-check"], check=True, capture_output=True)
        page = self.page("/machine/six.toml")
        self.on_to_the_cautions(page)
        self.start(page)
        page.until("location.pathname.startsWith('/verdict/')", 120)
        self.loaded(page, "")
        self.assertIn("guard open; close it, then start a new run", page.value("document.querySelector('.said-wrong').innerText"))
        self.assertIn("Run these 6 again", page.value("document.querySelector('.acts').innerText"))
        page.click("a[href^='/machine/six.toml']")
        self.loaded(page, "Run six.toml")
        self.assertEqual(page.value("document.querySelectorAll('[name=channel]:checked').length"), 6)
        page.go(self.station.base + "/machine/six.toml?unit=U-0204&unit=U-0202")
        self.assertEqual(page.value("[...document.querySelectorAll('[name=channel]:checked')].map((one) => one.value).join()"), "1,3")

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
        self.assertIn(log.name, page.value("document.querySelector('dl.context').innerText"))
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
        self.loaded(page, "What the try found")
        self.assertIn("gate 1 saw", page.value("document.body.innerText"))
        self.look(page, "tried")

    def test_two_pages_show_the_same_run_and_either_halts_it(self):
        page, other = self.page(), self.page("/units")
        self.to_the_cautions(page, 2000)
        self.start(page)
        other.until("document.querySelector('#bar').innerText.includes('Running')")
        other.go(self.station.base + "/run")
        drops = "parseInt(document.querySelector('#live .lead').innerText)"
        for one in (page, other):
            one.until(drops + " > 20")
        other.click("button.halt")
        for one in (page, other):
            one.until("location.pathname.startsWith('/verdict/')")
        self.assertIn("@close,interrupted", self.station.logs()[0].read_text())

    def idle_clients(self, number):
        """Lines that ask for what happens and never read it."""
        at = urllib.parse.urlparse(self.station.first)
        first = http.client.HTTPConnection(at.hostname, at.port)
        first.request("GET", f"/?{at.query}")
        cookie = first.getresponse().getheader("Set-Cookie").split(";")[0]
        first.close()
        lines = [socket.create_connection((at.hostname, at.port)) for _ in range(number)]
        for line in lines:
            line.sendall(f"GET /events HTTP/1.1\r\nHost: {at.netloc}\r\nCookie: {cookie}\r\n\r\n".encode())
        for line in lines:
            self.assertTrue(line.recv(12).startswith(b"HTTP/1.1 200"))
        return lines

    def test_two_hundred_idle_clients_keep_no_halt_from_its_bench(self):
        def button(page):
            page.click("button.halt")
        lines = self.idle_clients(200)
        page = self.page()
        self.to_the_cautions(page, 2000)
        self.start(page)
        page.until("parseInt(document.querySelector('#live .lead').innerText) > 60")
        self.halted(page, button)
        for line in lines:
            line.close()

    def test_a_page_of_another_site_starts_nothing(self):
        page = self.page()
        stranger = self.folder / "stranger.html"
        stranger.write_text(f"<form method=post action='{self.station.base}/bench/virtual'><button>x</button></form>")
        other = self.browser.open(stranger)
        self.pages.append(other)
        other.value("document.querySelector('button').click()")
        other.until("location.protocol == 'http:' && document.readyState == 'complete'")
        self.assertIn("Not here", other.value("document.body.innerText"))
        page.go(self.station.base + "/bench")
        self.assertTrue(page.value("!!document.querySelector(\"form[action='/bench/virtual']\")"))  # not started

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
    run_tests()

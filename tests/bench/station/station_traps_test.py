#!/usr/bin/env python3
"""What could fool a page: files dropped on the wrong one, a station that hangs, clocks that are set, two pages at once, a way
back, settings that are broken.

usage: station_traps_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]"""
import re
import signal
import subprocess

from stations import DROPLEDGER, SIX_UNITS, WithStation, run_tests

DROPS = "parseInt(document.querySelector('#live .lead').innerText)"


class WithTraps(WithStation):
    def setUp(self):
        super().setUp()
        self.elsewhere = self.folder / "elsewhere"
        self.elsewhere.mkdir()

    def file(self, name, content):
        file = self.elsewhere / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        return file

    def drop(self, page, *files, at=(640, 850)):
        """As a file manager does it, at this place of the window."""
        data = {"items": [], "files": [str(file) for file in files], "dragOperationsMask": 1}
        for kind in ("dragEnter", "dragOver", "drop"):
            page.order("Input.dispatchDragEvent", type=kind, x=at[0], y=at[1], data=data)

    def told(self, page):
        return page.value("document.querySelector('.drop output').innerText")

    def words(self, page, where="main"):
        return " ".join(page.value(f"document.querySelector({where!r}).innerText").replace("\u00a0", " ").split())

    def choose(self, page, *files):
        page.value("document.querySelector('.drop output').innerText = ''")
        page.choose_files(".drop input", *files)


class WhileARunIsOn(WithTraps):
    def running(self, drops=2000):
        page = self.page()
        self.to_the_cautions(page, drops)
        self.start(page)
        page.until(DROPS + " > 5")
        return page

    def goes_on(self, page):
        before = page.value(DROPS)
        page.until(f"{DROPS} > {before}")

    def kept_from_the_browser(self, page, kind, content):
        """Whether our script takes what is dragged there: else the browser opens it, and leaves the page."""
        return page.value("(() => { const what = new DataTransfer(); what.items.add(" + content + "); const event = new DragEvent("
                          f"{kind!r}, {{ dataTransfer: what, bubbles: true, cancelable: true }}); "
                          "document.querySelector('h1').dispatchEvent(event); return event.defaultPrevented; })()")

    def test_a_file_dropped_on_the_runs_page_does_not_lead_away_from_it(self):
        page = self.running()
        for kind in ("dragover", "drop"):
            self.assertTrue(self.kept_from_the_browser(page, kind, "new File(['x'], 'night.csv')"), kind)
            self.assertFalse(self.kept_from_the_browser(page, kind, "'words', 'text/plain'"), kind)
        self.goes_on(page)

    def test_a_station_that_hangs_is_told(self):
        page = self.running()
        self.assertTrue(page.value("document.querySelector('#lost').hidden"))
        self.station.process.send_signal(signal.SIGSTOP)
        try:
            page.until("!document.querySelector('#lost').hidden")
        finally:
            self.station.process.send_signal(signal.SIGCONT)
        page.until("document.querySelector('#lost').hidden")

    def test_a_clock_that_is_set_keeps_no_page_from_what_happens(self):
        page = self.running()
        worker = next(one for one in self.browser.order("Target.getTargets")["targetInfos"] if one["type"] == "shared_worker")
        session = self.browser.order("Target.attachToTarget", targetId=worker["targetId"], flatten=True)["sessionId"]
        self.browser.order("Runtime.evaluate", session, expression="let later = Date.now(); Date.now = () => later += 3600000")
        self.goes_on(page)
        self.browser.order("Target.detachFromTarget", sessionId=session)

    def test_a_page_loaded_anew_shows_the_run_and_the_way_back_leads_to_its_verdict(self):
        page = self.running()
        at = page.value("location.href")
        page.go(self.station.base + "/units")
        page.go(at)
        self.goes_on(page)
        page.click("button.halt")
        page.until("location.pathname.startsWith('/verdict/')")
        self.loaded(page, "")
        page.value("document.body.dataset.old = 'old'; history.back()")
        page.until("!document.body.dataset.old && document.readyState == 'complete' && location.pathname.startsWith('/verdict/')")
        self.assertFalse(page.value("!!document.querySelector('button.halt')"))

    def test_who_starts_twice_is_led_to_the_run_and_not_told_that_nothing_runs(self):
        page = self.page()
        self.to_the_cautions(page, 2000)
        token = page.value("document.querySelector('[name=ready]').value")
        self.start(page)
        where = page.value("fetch('/run/start', { method: 'POST', body: new URLSearchParams({ ready: " + repr(token) + " }) })"
                           ".then((answer) => answer.url)")
        self.assertTrue(where.endswith("/run"), where)
        self.assertEqual(len(self.station.logs()), 1)

    def test_the_run_that_is_on_keeps_another_from_starting(self):
        page, other = self.running(), self.page("/machine/virtual-bench.toml")
        other.click("button.go")
        other.until("document.querySelector('.said-wrong')?.innerText.includes('at work already')")
        self.assertEqual(len(self.station.logs()), 1)
        self.goes_on(page)


class BeforeARun(WithTraps):
    def test_the_first_page_says_in_which_folder_it_works(self):
        page = self.page("/")
        self.assertIn(str(self.folder), self.words(page))

    def test_a_double_click_begins_one_virtual_bench(self):
        page = self.page()
        answered = page.value("Promise.all([1, 2, 3, 4, 5, 6].map(() => fetch('/bench/virtual', { method: 'POST', redirect: 'manual' })))"
                              ".then((answers) => answers.length)")
        self.assertEqual(answered, 6)
        page.go(self.station.base + "/machine/virtual-bench.toml")
        self.on_to_the_cautions(page, 20)
        self.assertEqual(self.station.end(), 0)

    def test_a_form_that_is_sent_twice_at_once_is_sent_once(self):
        page = self.page("/setup")
        page.value("window.sent = 0; addEventListener('submit', (event) => { sent += !event.defaultPrevented; event.preventDefault(); }); "
                   "for (const one of document.querySelectorAll('[required]')) one.value = 'U-1'; "
                   "for (const _ of [1, 2]) document.querySelector('button.go').click()")
        self.assertEqual(page.value("sent"), 1)

    def test_what_is_confirmed_says_what_will_run_and_where(self):
        page = self.page()
        self.to_the_machine(page)
        page.value("for (const one of document.querySelectorAll('[name=channel]')) one.checked = ['1', '3'].includes(one.value)")
        self.on_to_the_cautions(page, 120)
        said = self.words(page, "dl.context")
        for one in ("virtual-bench.toml", "row 2, U-0202; row 4, U-0204", "120 a unit", "0.5 m/s", "the virtual one"):
            self.assertIn(one, said)
        self.assertNotIn("U-0201", said)
        page.go(self.station.base + "/machine/virtual-bench.toml")
        page.value("document.querySelector('[name=until][value=decided]').checked = true")
        self.on_to_the_cautions(page, 900)
        self.assertIn("until each unit is decided, 900 a unit at most", self.words(page, "dl.context"))

    def test_settings_that_cannot_be_read_are_told_where_machines_are_chosen(self):
        page = self.page()
        page.click("form[action='/bench/virtual'] button")
        self.loaded(page, "Run ")
        good = (self.folder / "virtual-bench.toml").read_text()
        (self.folder / "spring.toml").write_text(good.replace("spacing_mm =", "spacing_mm ==", 1))
        (self.folder / "typo.toml").write_text(good.replace("speed_mps", "sped_mps", 1))
        (self.folder / "field-mapping.toml").write_text("separator ==")  # is of no machine
        page.go(self.station.base + "/bench")
        said = page.value("[...document.querySelectorAll('.said-wrong')].map((one) => one.innerText).join(' ')")
        self.assertRegex(said, r"spring\.toml:\d+: ")
        self.assertRegex(said, r"typo\.toml:\d+: \[run\] knows no key `sped_mps`")
        self.assertNotIn("field-mapping", said)
        self.assertNotIn(str(self.folder), said)
        self.assertIn("Run virtual-bench.toml", self.words(page))

    def test_what_was_typed_stays_where_it_cannot_be_run(self):
        page = self.page()
        self.to_the_machine(page)
        for drops, why in (("many", "'many' is no number"), ("-5", "-5 is out of range")):
            page.value("for (const one of document.querySelectorAll('[name=channel]')) one.checked = one.value == '3'; "
                       f"document.querySelector('#drops').value = {drops!r}; "
                       "document.querySelector('[name=until][value=decided]').checked = true")
            page.click("button.go")
            page.until(f"document.querySelector('.said-wrong')?.innerText.includes({why!r})")
            self.loaded(page, "Run virtual-bench.toml")
            self.assertEqual(page.value("document.querySelector('#drops').value"), drops)
            self.assertEqual(page.value("[...document.querySelectorAll(':checked')].map((one) => one.value).join()"), "3,decided")
        self.assertEqual(self.station.logs(), [])


class WhatIsDropped(WithTraps):
    def judge_invented_night(self, page):
        page.click("form[action='/field/invented'] button")
        self.loaded(page, "What do the columns mean")
        page.click("button.go")
        page.until("document.querySelector('h1.do')")

    def test_a_file_dropped_anywhere_on_the_fields_page_is_taken(self):
        page = self.page("/field")
        self.drop(page, self.file("night.csv", "time,pass\n1,2\n"))
        self.loaded(page, "What do the columns mean")
        self.assertTrue((self.folder / "night.csv").exists())

    def test_a_button_stays_where_it_is_while_it_is_pressed(self):
        night = self.elsewhere / "night.csv"
        subprocess.run([DROPLEDGER, "simulate", "--field", night], check=True, capture_output=True)
        page = self.page("/field")
        self.drop(page, night)
        self.loaded(page, "What do the columns mean")
        place = "document.querySelector('button.go').getBoundingClientRect().y"
        x, y = page.press("button.go")
        before = page.value(place)
        page.value("(() => { const row = document.querySelector('#row'); row.value = ''; "
                   "row.dispatchEvent(new Event('change', { bubbles: true })); })()")
        page.until("performance.getEntriesByType('resource').some((one) => one.name.endsWith('/field/look') && one.responseEnd)")
        page.value("new Promise((done) => setTimeout(done, 300))")
        self.assertEqual(page.value(place), before)
        page.mouse("mouseReleased", 5, y)
        page.until("document.querySelector('#comes').ariaBusy == 'false'")
        self.assertNotEqual(page.value(place), before)
        self.assertEqual(page.value("location.pathname"), "/field/look")

    def test_who_has_no_table_takes_an_invented_night(self):
        page = self.page("/field")
        self.judge_invented_night(page)
        page.go(self.station.base + "/field")
        self.assertIsNone(page.value("document.querySelector(\"form[action='/field/invented']\")"))
        self.assertIn("invented-night.csv", self.words(page))

    def test_what_was_dug_up_is_kept_by_a_page_that_was_open_before(self):
        page = self.page("/field")
        self.judge_invented_night(page)
        other = self.page(page.value("location.pathname + location.search"))
        for one, stop in ((page, 0), (other, 1)):
            one.until("document.querySelector('h1.do')")
            one.value(f"(() => {{ document.body.dataset.old = 'old'; const dug = document.querySelectorAll('[id^=\"found:\"]')[{stop}]; "
                      "dug.value = 'none'; dug.form.submit(); })()")
            one.until("document.querySelector('h1.do') && !document.body.dataset.old")
        self.assertEqual((self.folder / "invented-night.csv.found.csv").read_text().count(",none\n"), 2)

    def test_what_cannot_be_a_finding_is_asked_again_and_spoils_no_night(self):
        found = self.folder / "invented-night.csv.found.csv"
        page = self.page("/field")
        self.judge_invented_night(page)
        page.value("(() => { const dug = document.querySelector('[id^=\"found:\"]'); dug.value = 'perhaps'; dug.form.submit(); })()")
        page.until("document.querySelector('.said-wrong')?.innerText.includes(\"'perhaps' is no finding\")")
        self.assertFalse(found.exists())
        found.write_text("pass,row,first_drop,last_drop,found\n9,8,733,737,perhaps\n")  # of an earlier version, or by hand
        page.go(self.station.base + "/field/result?table=invented-night.csv")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('perhaps')")
        page.value("(() => { const dug = document.querySelector('[id^=\"found:\"]'); dug.value = 'None'; dug.form.submit(); })()")
        page.until("document.querySelector('h1.do')")
        walk = self.elsewhere / "walk.csv"
        subprocess.run([DROPLEDGER, "field", self.folder / "invented-night.csv", "--csv", walk], capture_output=True)
        lines = walk.read_text().splitlines()
        lines[1:3] = [line + "seed" for line in lines[1:3]]
        page.value("document.body.dataset.old = 'old'")
        page.choose_files(".drop input", self.file("filled-in.csv", "\n".join(lines) + "\n"))
        page.until("document.querySelector('h1.do') && !document.body.dataset.old")
        self.assertEqual(found.read_text().count(",seed\n"), 2)
        self.assertIn("9,8,733,737,None\n", found.read_text())

    def test_what_is_no_table_is_refused_with_what_to_do(self):
        page = self.page("/field")
        for name, content, why in (
                ("certificate.PDF", "%PDF-1.5", "these are pages"), ("photo.jpg", b"\xff\xd8\xff\xe0\0\x10JFIF\0\x01", "no text"),
                ("night.csv.found.csv", "pass,row,first_drop,last_drop,found\n", "on the night's own page"),
                ("bench.key", "secret", "this is a key"), ("spring.toml", "[run]", "these are settings"),
                ("night.zip", b"PK\3\4", "unpack it"), ("broken.droplog", "hello", "does not begin like one")):
            self.choose(page, self.file(name, content))
            page.until(f"document.querySelector('.drop output').innerText.includes({why!r})")
        self.assertEqual([one.name for one in self.folder.iterdir() if one.is_file()], [])
        self.choose(page, self.file("wide.csv", ("time;pass\n" + 20 * "1;2\n").encode("utf-16-le")))  # text all the same
        self.loaded(page, "What do the columns mean")

    def test_a_table_without_rows_says_so(self):
        page = self.page("/field")
        self.choose(page, self.file("empty.csv", ""))
        page.until("document.querySelector('.said-wrong')?.innerText.includes('the table is empty')")
        self.choose(page, self.file("names.csv", "time,pass,row,drop,lat,lon,target,seen\n"))
        self.loaded(page, "What do the columns mean")
        self.assertIn("It has no rows below its names", self.words(page))
        page.click("button.go")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('no drops in it')")

    def test_two_packs_dropped_on_one_page_do_not_mix(self):
        page = self.page("/batches")
        self.choose(page, self.file("elsewhere.txt", "x"), self.file("pack.zip", b"PK\3\4"))
        page.until("document.querySelector('.drop output').innerText.includes('unpack it')")
        log = self.file("one.droplog", "x")
        certificate = self.file("may.certificate.json", "{}")
        hidden = self.file(".DS_Store", b"\0\1")
        self.choose(page, self.elsewhere / "elsewhere.txt", certificate, log, hidden)
        self.loaded(page, "Does it hold?")
        kept = sorted(sorted(one.name for one in pack.iterdir()) for pack in (self.folder / "dropped-packs").iterdir())
        self.assertEqual(kept, [["elsewhere.txt"], ["elsewhere.txt", "may.certificate.json", "one.droplog"]])

    def test_the_machines_logs_are_a_night_too_and_none_of_the_benchs_runs(self):
        for number in (1, 2):
            subprocess.run([DROPLEDGER, "simulate", "--scenario", SIX_UNITS, "--log", self.elsewhere / f"pass-{number}.droplog",
                            "--drops", "400", "--seed", str(number), "--started", f"2026-04-14T2{number}:00:00Z"], check=True,
                           capture_output=True)
        logs = [self.elsewhere / f"pass-{number}.droplog" for number in (1, 2)]
        page = self.page("/field")
        self.choose(page, *logs)
        page.until("document.querySelector('h1.do')")
        done = subprocess.run([DROPLEDGER, "field", *logs], capture_output=True, text=True)
        self.assertIn(page.value("document.querySelector('h1.do').innerText").replace("\u00a0", " "), done.stdout)
        self.assertEqual(page.value("[...document.querySelectorAll('.noprint.links a')].map((one) => one.innerText)"), ["list"])
        self.look(page, "night-of-logs", whole=False)
        page.value("document.querySelector('#row-spacing-mm').value = '45 cm'; document.querySelector('#same-direction').value = 'yes'; "
                   "document.querySelector('#same-direction').form.submit()")
        page.until("document.querySelector('#row-spacing-mm')?.value == '45 cm' && document.querySelector('h1.do') && "
                   "location.search.includes('same-direction=yes')")
        wide = subprocess.run([DROPLEDGER, "field", *logs, "--row-spacing-mm", "450", "--same-direction"], capture_output=True,
                              text=True)
        size = re.search(r"round east \d+ m, north \d+ m", " ".join(wide.stdout.split()))
        if size:
            self.assertIn(size[0], self.words(page))
        page.go(self.station.base + "/field")
        self.assertIn("pass-2.droplog", self.words(page))
        for path in ("/bench", "/units"):
            page.go(self.station.base + path)
            self.assertNotIn("pass-1", self.words(page))
            self.assertNotIn("not in the book", self.words(page))
        page.go(self.station.base + "/field/look?table=pass-1.droplog&table=night.csv")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('not judged together')")


if __name__ == "__main__":
    run_tests()

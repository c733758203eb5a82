#!/usr/bin/env python3
"""The station's other pages in a real browser: a night in the field, by keyboard and ear, strangers.

usage: station_pages_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]"""
import http.client
import re
import subprocess
import time
import urllib.parse

from stations import DROPLEDGER, WIDER, WithStation, run_tests


class OnPages(WithStation):
    def told(self, table, *words):
        """What the command says of it by the same mapping; and its walking list."""
        said = subprocess.run([DROPLEDGER, "field", table, "--mapping", f"{table}.mapping.toml", "--csv", self.folder / "told.txt",
                               *words], capture_output=True, text=True, cwd=self.folder)
        return said.stdout, (self.folder / "told.txt").read_text().replace("\r\n", "\n")

    def dropped(self, page, *tables):
        page.go(self.station.base + "/field")
        page.choose_files(".drop input", *tables)
        self.loaded(page, "What do the columns mean")

    def judged(self, page, before=""):
        """The headline, once it is another one than before."""
        page.until("document.querySelector('h1.do') && document.querySelector('.noprint.links')" + before)
        return page.value("document.querySelector('h1.do').innerText").replace("\u00a0", " ")

    def test_a_night_is_judged_from_a_dropped_table(self):
        night = self.folder / "elsewhere" / "night.csv"
        night.parent.mkdir()
        subprocess.run([DROPLEDGER, "simulate", "--field", night, "--seed", "4"], check=True, capture_output=True)
        night.write_text(night.read_text().replace("time,pass,row,drop", "time,Fahrt nr,row,drop", 1))
        page = self.page("/field")
        self.look(page, "field")
        self.dropped(page, night)
        self.look(page, "columns")
        self.assertRegex(page.value("document.body.innerText"), r"Its first \d,\d{3} rows can be read\.")
        self.assertEqual((self.folder / "night.csv").read_text(), night.read_text())
        self.assertEqual(page.value("document.querySelector('#drop').value"), "drop")
        self.say(page, {"pass": "Fahrt nr"})
        page.click("button.go")
        said = self.judged(page)
        words, walk = self.told("night.csv")
        self.assertIn(said, words)
        self.look(page, "night", whole=False)
        self.assertEqual(self.fetched(page, "walk.csv").replace("\r\n", "\n"), walk)
        self.assertIn("<gpx", self.fetched(page, "walk.gpx"))
        self.mark(page)
        page.value("const costs = document.querySelector('#cost-lost-plant').form; costs.elements['cost-lost-plant'].value = '0.2'; "
                   "costs.elements['gate-efficiency'].value = '8=much'; costs.submit()")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('8=much')")
        self.look(page, "a-question")
        self.assertEqual(page.value("document.querySelector('#cost-lost-plant').value"), "0.2")
        page.value("const sees = document.querySelector('#gate-efficiency'); sees.value = '8=0.85'; sees.form.submit()")
        self.judged(page, self.NEW)
        said = ("--cost-lost-plant", "0.2", "--gate-efficiency", "8=0.85")
        self.assertIn(self.judged(page), self.told("night.csv", *said)[0])
        found = "document.querySelector(\"form[action='/field/found'] [id^='found:']\")"
        place = page.value(found + ".id")
        for what in ("none", "seed", ""):  # dug, corrected, and taken out again
            self.mark(page)
            page.value(f"const dug = document.getElementById({place!r}); dug.value = {what!r}; dug.form.submit()")
            self.judged(page, self.NEW)
            self.assertEqual(f",{what}\n" in (self.folder / "night.csv.found.csv").read_text(), bool(what))
            self.assertEqual(page.value("document.querySelector('#cost-lost-plant').value"), "0.2")  # stays said
            self.assertIn(self.judged(page), self.told("night.csv", "--found", "night.csv.found.csv", *said)[0])
        page.value("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        self.look(page, "night-asked")
        self.assertGreater(page.value("document.querySelectorAll('svg.ground .mark').length"), 0)
        page.until("getComputedStyle(document.querySelector('svg.ground .mark')).transform != 'none'")  # set by our script
        self.no_complaints()
        phone = self.page("/field/result?table=night.csv", width=390, height=844, touch=True)
        phone.until("document.querySelector('h1.do')")
        self.assertLessEqual(phone.value(WIDER), 0)
        self.look(phone, "phone-night", whole=False)
        self.dropped(page, night)  # again: what was said of it is remembered
        self.assertEqual(page.value("document.querySelector('#pass').value"), "Fahrt nr")
        self.assertIn("this table before", page.value("document.querySelector('main').innerText"))

    NEW = " && !document.body.dataset.old"

    def test_a_table_that_lost_rows_says_so_before_anything_else(self):
        night = self.folder / "elsewhere" / "night.csv"
        night.parent.mkdir()
        subprocess.run([DROPLEDGER, "simulate", "--field", night, "--seed", "4"], check=True, capture_output=True)
        names, *rows = night.read_text().splitlines()
        night.write_text("\n".join([names, *(row for i, row in enumerate(rows) if i % 10 != 3)]) + "\n")
        page = self.page("/field", width=390, height=844, touch=True)
        self.dropped(page, night)
        page.click("button.go")
        self.judged(page)
        said = page.value("document.querySelector('.lacking').innerText")
        self.assertRegex(said, r"^By their numbers 28,\d{3} of 28\d,\d{3} drops are not in the table, in all 48 passes and 4 of 8 rows")
        self.assertIn("Export the table again", said)
        self.assertIn(said, self.told("night.csv")[0])
        page.value("window.scrollTo(0, 0)")
        box = page.box(".lacking")
        self.assertLess(box["y"] + box["height"], 844)  # the first screen of a phone
        self.look(page, "night-with-lost-rows", whole=False)

    def mark(self, page):
        page.value("document.body.dataset.old = 'old'")

    def say(self, page, answers):
        """Into the form of the columns, each as a person would: what comes of it follows."""
        for name, value in answers.items():
            page.value(f"(() => {{ const at = document.getElementById({name!r}); at.value = {value!r}; "
                       "at.dispatchEvent(new Event('change', { bubbles: true })); })()")
            page.until(f"document.getElementById({name!r}).value == {value!r} && !document.querySelector('[aria-busy=true]')")

    def foreign_table(self):
        """As no reader can understand it without being told: which day, which zone, which units."""
        rows = ["Machine 7, night of spring", "Zeit\tSpur\tReihe\tNr\tOst\tNord\tSoll\tIst\tAbweichung"]
        for number in range(1200):
            run, drop = divmod(number, 300)
            seen = 0 if run == 1 and 100 < drop < 120 else 1
            rows.append("\t".join([f"3/4/2026 22:{run:02}:{drop // 5 % 60:02}", f"{run + 1}", "2", f"{drop}", f"{432000 + 2 * run},5",
                                   f"{5761000 + 0.18 * drop:.2f}".replace(".", ","), "1", f"{seen}",
                                   f"{(number % 7 - 3) / 2:.2f}".replace(".", ",")]))
        table = self.folder / "elsewhere" / "foreign.csv"
        table.parent.mkdir()
        table.write_text("\n".join(rows) + "\n")
        return table

    def test_what_a_table_cannot_decide_is_asked_and_shown(self):
        table = self.foreign_table()
        page = self.page("/field")
        self.dropped(page, table)
        must = ["date-order", "unit-east_m", "unit-north_m", "system", "unit-offset_mm"]
        self.assertEqual(page.value("[...document.querySelectorAll('select:required')].map((one) => one.id)"), must)
        self.assertEqual(page.value("[...document.querySelectorAll('select:required')].map((one) => one.value).join('')"), "")
        self.assertIn("Not said yet", page.value("document.querySelector('#comes').innerText"))
        words = page.value("[...document.querySelector('#date-order').options].map((one) => one.text)")
        self.assertEqual(words, ["please say", "the day: 2026-04-03 22:00:00", "the month: 2026-03-04 22:00:00"])
        page.click("button.go")  # the browser does not send it
        self.assertEqual(page.value("location.pathname"), "/field/look")
        page.value("document.querySelectorAll('select').forEach((one) => { one.required = false; }); "
                   "document.querySelector('form[data-again]').submit()")  # nor does the station take it
        page.until("document.querySelector('.said-wrong')?.innerText.includes('Placement errors are in')")
        self.assertFalse((self.folder / "field-mapping.toml").exists())
        table.write_text(table.read_text() + "3/14/2026 22:59:00\t9\t2\t9\t432000,5\t5761000,00\t1\t1\t0,00\n")
        self.dropped(page, table)  # one more row settles it, against whoever says otherwise
        self.assertEqual(page.value("document.querySelector('#date-order').value"), "month")
        self.say(page, {"date-order": "day", "unit-east_m": "m", "unit-north_m": "m", "system": "plane", "unit-offset_mm": "mm"})
        page.click("button.go")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('month first')")
        self.say(page, {"date-order": "month", "unit-east_m": "m", "unit-north_m": "m", "system": "utm", "utm-zone": "32N",
                        "unit-offset_mm": "cm"})
        page.until("document.querySelector('#comes').innerText.includes('51.995492° N, 8.009571° E')")
        page.until("document.querySelector('#comes').innerText.includes('2026-03-04 22:00:00')")
        page.until("document.querySelector('#comes').innerText.includes('-15.0 mm')")
        self.assertIn("All its 1,201 rows can be read", page.value("document.querySelector('#comes').innerText"))
        self.assertNotIn("Not said yet", page.value("document.querySelector('#comes').innerText"))
        self.look(page, "columns-foreign")
        page.click("button.go")
        self.assertIn(self.judged(page), self.told("foreign-2.csv")[0])
        self.assertIn("51.99", page.value("document.body.innerText"))
        self.no_complaints()

    def test_tables_of_other_names_and_of_one_name_are_kept_beside_each_other(self):
        place = self.folder / "elsewhere"
        place.mkdir()
        page = self.page("/field")
        for name, text, kept in (("NIGHT.CSV", "time,pass\n1,2\n", "NIGHT.csv"), ("NIGHT.CSV", "time,pass\n1,3\n", "NIGHT-2.csv"),
                                 ("NIGHT.CSV", "time,pass\n1,2\n", "NIGHT.csv"), ("night.txt", "time;pass\n1;2\n", "night.txt.csv")):
            (place / name).write_text(text)
            self.dropped(page, place / name)
            self.assertTrue(page.value("document.querySelector('.lead').innerText").startswith(kept + ". "), kept)
            self.assertEqual((self.folder / kept).read_text(), text)
        (place / "night.xlsx").write_bytes(b"PK\x03\x04")
        page.go(self.station.base + "/field")
        page.choose_files(".drop input", place / "night.xlsx")
        page.until("document.querySelector('.drop output').innerText.includes('save it as CSV')")

    def test_hostile_words_in_a_table_stay_words(self):
        bad = '""><img src=x onerror=document.title=1>'
        lines = [f'time,pass,"Reihe <b>{bad}",drop,lat,lon,target,seen']
        lines += [f'177619{drop:04},"p{bad}","r{bad}",{drop},{52 + 2e-6 * drop:.7f},10.1,1,{int(not 50 < drop < 70)}' for drop in range(200)]
        table = self.folder / "elsewhere" / "<b>night.csv"
        table.parent.mkdir()
        table.write_text("\n".join(lines) + "\n")
        page = self.page("/field")
        self.dropped(page, table)
        self.say(page, {"row": page.value("document.querySelector('#row').options[3].value")})
        page.click("button.go")
        self.judged(page)
        page.value("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        self.assertEqual(page.value("document.querySelectorAll('main img, main b b').length"), 0)
        self.assertIn("><img src=x", page.value("document.body.innerText"))
        found = "document.querySelector(\"form[action='/field/found'] [id^='found:']\")"
        self.mark(page)
        page.value(f"const dug = {found}; dug.value = 'none'; dug.form.submit()")
        self.judged(page, self.NEW)
        self.assertIn(",none\n", next(self.folder.glob("*.found.csv")).read_text())
        self.assertEqual(page.value("document.querySelectorAll('main img').length"), 0)
        self.assertNotEqual(page.value("document.title"), "1")

    def test_several_tables_are_fields_by_their_names(self):
        place = self.folder / "elsewhere"
        place.mkdir()
        for name, seed in (("north", 4), ("south", 5)):
            subprocess.run([DROPLEDGER, "simulate", "--field", place / f"{name}.csv", "--seed", str(seed)], check=True,
                           capture_output=True)
        page = self.page("/field")
        self.dropped(page, place / "north.csv", place / "south.csv")
        self.assertEqual(page.value("document.querySelectorAll('#comes table').length"), 2)
        page.click("button.go")
        self.judged(page)
        words = page.value("document.body.innerText")
        self.assertIn("Field 2 (south.csv)", words)
        self.assertNotIn(str(self.folder), words)  # only the names, as they were dropped
        page.go(self.station.base + "/field/result?table=south.csv")
        self.judged(page)

    def fetched(self, page, name):
        """What a link leads to; a page that tells how far the work is comes before it on a busy machine."""
        return page.value("(async () => { let at = document.querySelector(\"a[href^='/field/file/" + name + "']\").href;"
                          "for (;;) { const answer = await fetch(at); const text = await answer.text();"
                          "if (!text.includes('http-equiv=\"refresh\"')) return text;"
                          "at = answer.url; await new Promise((done) => setTimeout(done, 200)); } })()")

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
        page.until("parseInt(document.querySelector('#live .lead')?.innerText) > 5")  # before its start it leaves no log
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
        for name in ("..%2Fx.csv", "%2Fetc%2Fx.csv", ".hidden.csv", "x.droplog", "a%0Ab.csv", "bench.key%2F"):
            self.assertGreaterEqual(self.asked("PUT", "/field/table/" + name, own, b"x").status, 400, name)
        self.assertGreaterEqual(self.asked("GET", "/verdict/..%2F..%2Fetc%2Fpasswd", let_in).status, 200)
        self.assertEqual(self.station.logs(), [])


if __name__ == "__main__":
    run_tests()

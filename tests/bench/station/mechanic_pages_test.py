#!/usr/bin/env python3
"""The mechanic's pages beside a run, in a real browser: before and after a repair, the book that makes itself, what a try finds.

usage: mechanic_pages_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]. Machines and faults are invented."""
import subprocess

from stations import DROPLEDGER, SIX_UNITS, WIDER, WithStation, run_tests


class OverTheSeasons(WithStation):
    def recorded(self, name, started, *words, repaired=False):
        scenario = self.folder.parent / f"{self.folder.name}-{name}.toml"
        text = SIX_UNITS.read_text()
        scenario.write_text(text.replace("fill = 0.91", "fill = 0.985") if repaired else text)
        subprocess.run([DROPLEDGER, "simulate", "--scenario", scenario, "--log", self.folder / f"{name}.droplog", "--started",
                        started, "--drops", "600", *words], check=True, capture_output=True)
        scenario.unlink()

    def a_repair(self):
        self.recorded("monday", "2026-03-02T08:00:00Z")
        self.recorded("quick", "2026-03-03T08:00:00Z", "--speed-mps", "1", "--seed", "5")
        self.recorded("retest", "2026-03-04T08:00:00Z", "--seed", "7", repaired=True)

    def entered(self, page):
        page.go(self.station.base + "/units")
        page.click("form[action='/units'] button")
        page.until("document.querySelector('h1')?.innerText.endsWith('entered')")

    def words(self, page, where="document.body"):
        return " ".join(page.value(f"{where}.innerText").replace("\u00a0", " ").split())

    def test_the_book_makes_itself_of_what_is_in_the_folder(self):
        self.a_repair()
        lines = (self.folder / "monday.droplog").read_text().splitlines(keepends=True)
        (self.folder / "broken.droplog").write_text("".join(lines[-3:]))
        page = self.page("/units")
        self.assertFalse((self.folder / "bench.book").exists())
        self.assertIn("4 files of this folder are not in the book yet", self.words(page))
        self.entered(page)
        self.assertIn("3 files entered", self.words(page))
        self.assertIn("broken.droplog", self.words(page))
        page.go(self.station.base + "/units")
        self.assertEqual(page.value("document.querySelectorAll('tbody tr').length"), 6)
        told = subprocess.run([DROPLEDGER, "book", "list", "--book", self.folder / "bench.book"], capture_output=True, text=True)
        self.assertIn("U-0204", told.stdout)

    def test_a_spoilt_book_is_made_anew_and_keeps_what_people_said(self):
        self.a_repair()
        page = self.page("/units")
        self.entered(page)
        page.go(self.station.base + "/units/U-0204")
        page.value("document.querySelector('#text').value = 'seal changed'")
        page.click("form[action='/units/U-0204'] button")
        page.until("document.readyState == 'complete' && document.querySelector('#text')?.value == ''")
        book = self.folder / "bench.book"
        book.write_text("this is no book")
        page.go(self.station.base + "/units")
        page.click("form[action='/book/anew'] button")
        page.until("document.querySelector('h1')?.innerText == '3 files entered'")
        page.go(self.station.base + "/units/U-0204")
        self.assertIn("seal changed", self.words(page))
        self.assertEqual((self.folder / "bench.book.spoilt").read_text(), "this is no book")

    def test_gates_are_calibrated_by_a_run_as_the_command_does_it(self):
        self.recorded("monday", "2026-03-02T08:00:00Z")
        page = self.page("/units")
        self.entered(page)
        page.go(self.station.base + "/calibrations")
        self.look(page, "calibrations")
        page.value("document.querySelector('#name').value = 'EFF-1'; document.querySelector('#seen-by').value = 'first'")
        page.click("button.go")
        self.loaded(page, "Calibrated")
        told = self.folder / "told"
        told.mkdir()
        subprocess.run([DROPLEDGER, "calibrate", "efficiency", self.folder / "monday.droplog", "--seen-by", "first", "--id", "EFF-1",
                        "--write", told], check=True, capture_output=True)
        records = sorted(one.name for one in told.iterdir())
        self.assertEqual(len(records), 6)
        for name in records:
            self.assertEqual((self.folder / name).read_text(), (told / name).read_text())
            (told / name).unlink()
        page.go(self.station.base + "/units")
        self.assertNotIn("not in the book", self.words(page))
        page.go(self.station.base + "/calibrations")
        self.assertIn("EFF-1-U-0204.toml", self.words(page))
        page.value("document.querySelector('#name').value = 'EFF-1'; document.querySelector('#dropped').value = '1000'")
        page.click("button.go")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('is not written over')")
        self.assertEqual(page.value("document.querySelector('#dropped').value"), "1000")

    def test_runs_before_and_after_a_repair_stand_side_by_side(self):
        self.a_repair()
        page = self.page("/units")
        self.entered(page)
        page.go(self.station.base + "/verdict/retest.droplog")
        self.loaded(page, "")
        self.assertEqual(page.value("document.querySelector('#before').value"), "monday.droplog")  # `quick` ran otherwise
        page.click("form[action^='/verdict/'] button")
        page.until("location.search.includes('before=') && document.querySelector('#before-and-after')")
        told = subprocess.run([DROPLEDGER, "compare", self.folder / "monday.droplog", self.folder / "retest.droplog"],
                              capture_output=True, text=True).stdout
        said = next(line.strip() for line in told.splitlines() if line.startswith("    misses per drop lower by"))
        self.assertIn(said, self.words(page))
        self.assertEqual(page.value("document.querySelectorAll('.changes').length"), 6)
        self.assertEqual(page.value("document.querySelectorAll('.changes b').length"), 1)  # called a difference
        self.look(page, "before-after", whole=False)
        page.go(self.station.base + "/verdict/retest.droplog?before=quick.droplog")
        self.loaded(page, "")
        self.assertIn("its speed is 0.5 m/s, and was 1 m/s", self.words(page))
        self.no_complaints()

    def test_a_unit_shows_history_tolerance_repair_and_two_of_its_runs(self):
        self.a_repair()
        page = self.page("/units")
        self.entered(page)
        page.go(self.station.base + "/units/U-0204")
        page.value("document.querySelector('#text').value = 'seal <b>changed</b>'")
        page.value("document.querySelector('#date').value = '2026-03-03'")
        page.click("form[action='/units/U-0204'] button")
        page.until("document.readyState == 'complete' && document.querySelector('#text')?.value == ''")
        self.recorded("later", "2026-03-05T08:00:00Z", "--seed", "8", repaired=True)
        self.entered(page)
        page.go(self.station.base + "/units/U-0204")
        self.assertIn("seal <b>changed</b>", page.value("document.body.textContent"))
        self.assertEqual(page.value("document.querySelectorAll('main b b, main svg b').length"), 0)
        self.assertGreater(page.value("document.querySelectorAll('main svg .limit').length"), 0)
        self.look(page, "unit-history")
        page.value("document.querySelector('#before').value = 'monday.droplog'")
        page.click("form[action$='/before-and-after'] button")
        page.until("document.querySelector('#before-and-after')")
        self.assertEqual(page.value("document.querySelectorAll('.changes').length"), 1)
        self.assertIn("misses per drop lower by", self.words(page))
        self.look(page, "unit-before-after")
        phone = self.page("/units/U-0204", width=390, height=844, touch=True)
        self.assertLessEqual(phone.value(WIDER), 0)
        self.look(phone, "phone-unit-history")
        phone.go(self.station.base + "/units/U-0204/before-and-after?before=monday.droplog&after=later.droplog")
        phone.until("document.querySelector('#before-and-after')")
        self.assertLessEqual(phone.value(WIDER), 0)
        self.look(phone, "phone-before-after", dark=True)

    def test_a_name_of_another_folder_is_no_run(self):
        self.recorded("monday", "2026-03-02T08:00:00Z")
        page = self.page("/verdict/monday.droplog?before=../elsewhere.droplog")
        page.until("document.querySelector('.said-wrong')")
        self.assertIn("is no name of a file here", self.words(page))


class WhatATryFinds(WithStation):
    def set_up(self, page, **more):
        page.go(self.station.base + "/setup")
        answers = {"name": "spring", "units": "U-0201..U-0202", "spacing-mm": "180", "speed-mps": "0.5", **more}
        for name, value in answers.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        page.click("button.go")
        self.loaded(page, "Run spring.toml")

    def tried(self, page, units=("U-0201", "U-0202")):
        page.go(self.station.base + "/machine/spring.toml")
        page.click("form[action^='/setup/try/'] button")
        self.loaded(page, "The run")
        for unit in units:
            page.until(f"document.querySelector('#live .caution')?.innerText.includes({unit!r})")
            page.click("#live button.go")

    def begun(self):
        page = self.page()
        page.click("form[action='/bench/virtual'] button")
        self.loaded(page, "Run ")
        return page

    def test_places_that_nobody_knew_are_written_once_it_is_confirmed(self):
        page = self.begun()
        self.set_up(page)
        before = (self.folder / "spring.toml").read_text()
        self.assertNotIn("gate0_place =", before)
        self.assertIn("gate0_place: UNSURE", page.value("document.querySelector('.word').innerText"))
        self.tried(page)
        self.loaded(page, "What the try found")
        self.assertEqual((self.folder / "spring.toml").read_text(), before)  # nothing unasked
        self.look(page, "tried-offer")
        self.assertIn('gate0_place = "above"', page.value("document.body.innerText"))
        page.click("form[action='/setup/found'] button")
        self.loaded(page, "Written to spring.toml")
        self.look(page, "tried-written")
        after = (self.folder / "spring.toml").read_text()
        self.assertEqual((after.count('gate0_place = "above"'), after.count('gate1_place = "below"')), (2, 2))
        self.assertIn("# Tried on the bench on", after)
        self.assertEqual([file.name for file in self.folder.glob(".*")], [])
        told = subprocess.run([DROPLEDGER, "setup", self.folder / "told.toml", "--units", "U-0201..U-0202", "--spacing-mm", "180",
                               "--speed-mps", "0.5", "--drops", "500", "--gate0-place", "above", "--gate1-place", "below",
                               "--no-check"], capture_output=True, text=True)
        self.assertEqual(told.returncode, 0, told.stderr)
        def settings(text):
            return [line for line in text.splitlines() if line and not line.startswith("#")]
        self.assertEqual(settings(after), settings((self.folder / "told.toml").read_text()))  # as the command writes it

    def test_a_file_that_a_person_has_changed_keeps_its_remarks(self):
        page = self.begun()
        self.set_up(page)
        file = self.folder / "spring.toml"
        file.write_text(file.read_text().replace("[[channel]]", "# mine: the left one\n[[channel]]", 1))
        self.tried(page)
        self.loaded(page, "What the try found")
        self.assertIn("all else in it stays", page.value("document.body.innerText"))
        kept = [line for line in file.read_text().splitlines() if "_place: UNSURE" not in line]
        page.click("form[action='/setup/found'] button")
        self.loaded(page, "Written to spring.toml")
        lines = file.read_text().splitlines()
        added = ['gate0_place = "above"', 'gate1_place = "below"']
        self.assertEqual([line for line in lines if line not in added], kept)
        self.assertEqual(sum(line in added for line in lines), 4)

    def test_nothing_is_offered_before_all_units_were_tried(self):
        page = self.begun()
        self.set_up(page)
        self.tried(page, units=("U-0201",))
        page.until("document.querySelector('#live .caution')?.innerText.includes('U-0202')")
        page.click("#live .caution form:last-of-type button")
        self.loaded(page, "What the try found")
        self.assertIn("1 of 2 units were tried", page.value("document.body.innerText"))
        self.assertIsNone(page.value("document.querySelector(\"form[action='/setup/found']\")"))

    def test_an_old_offer_writes_nothing(self):
        page = self.begun()
        self.set_up(page)
        self.tried(page)
        self.loaded(page, "What the try found")
        other = self.page("/machine/virtual-bench.toml")
        self.on_to_the_cautions(other, 60)
        self.start(other)  # other work begins
        before = (self.folder / "spring.toml").read_text()
        page.click("form[action='/setup/found'] button")
        self.loaded(page, "Not written")
        self.assertEqual((self.folder / "spring.toml").read_text(), before)
        other.until("location.pathname.startsWith('/verdict/')", 120)


if __name__ == "__main__":
    run_tests()

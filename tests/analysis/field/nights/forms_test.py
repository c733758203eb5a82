#!/usr/bin/env python3
"""The field audit reads the same night from every form of table, and asks where a table may mean two things."""
import csv
import datetime
import pathlib
import subprocess
import sys
import tempfile
import unittest
import zoneinfo

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import forms  # noqa: E402
import night as nights  # noqa: E402
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[3] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER = sys.argv[1]


def run(*words):
    return subprocess.run([DROPLEDGER, "field", *map(str, words)], capture_output=True, text=True, timeout=120)


class Forms(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        made = nights.make_night("forms 3", ["start_loss", "valve_closed", "bad_cell"], "none", ("run", 3, 0, 0))
        cls.rows = list(nights.records(made))
        cls.kept = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.kept.name)
        cls.plain = cls.found(forms.SAME["plain"](cls.rows))

    @classmethod
    def tearDownClass(cls):
        cls.kept.cleanup()

    @classmethod
    def write(cls, content):
        path = cls.folder / "table.csv"
        path.write_bytes(content)
        return path

    @classmethod
    def found(cls, content, *words):
        done = run(cls.write(content), "--json", *words)
        assert done.returncode in (0, 1, 2), done.stderr
        return held(done.stdout)

    def judged(self, found, without_row=None):
        return [(one["drop"], one["judgement"]) for one in found["alerts"] if one["row"] != without_row]

    def test_the_same_night_comes_out_of_every_form(self):
        self.assertGreater(len(self.plain["alerts"]), 5)
        for name, form in forms.SAME.items():
            with self.subTest(name):
                found = self.found(form(self.rows))
                self.assertEqual((found["drops"], found["rows_bad"]), (self.plain["drops"], 0))
                self.assertEqual(self.judged(found), self.judged(self.plain))
                self.assertEqual([one["kind"] for one in found["causes"]], [one["kind"] for one in self.plain["causes"]])

    def test_tramlines_are_no_silence_and_no_seeing(self):
        found = self.found(forms.as_utf8(forms.joined(forms.tramlined(self.rows))))
        closed = sum(one[forms.TARGET] == "0" for one in forms.tramlined(self.rows))
        self.assertGreater(closed, 300)
        self.assertEqual(found["drops"], self.plain["drops"] - closed)
        self.assertEqual(found["table"]["uncommanded"], closed)
        self.assertEqual(self.judged(found, without_row=2), self.judged(self.plain, without_row=2))

    def test_a_named_zone_gives_the_same_night_and_its_own_clock(self):
        walk = self.folder / "walk.csv"
        local = forms.changed(self.rows, forms.TIME, lambda text: datetime.datetime.fromtimestamp(
            float(text), zoneinfo.ZoneInfo("Europe/Berlin")).strftime("%d.%m.%Y %H:%M:%S"))
        found = self.found(forms.as_utf8(forms.joined(local)), "--time-zone", "Europe/Berlin", "--csv", walk)
        self.assertEqual(found["table"]["clock"], "Europe/Berlin")
        self.assertEqual(self.judged(found), self.judged(self.plain))
        times = {(one[forms.PASS], one[forms.ROW], one[forms.DROP]): float(one[forms.TIME]) for one in self.rows}
        stops = list(csv.DictReader(walk.read_text().splitlines()))
        self.assertGreater(len(stops), 0)
        for stop in stops:
            shown = datetime.datetime.fromisoformat(stop["sown_at"])
            self.assertEqual(shown.utcoffset(), datetime.timedelta(hours=2))
            self.assertAlmostEqual(shown.timestamp(), times[stop["pass"], stop["row"], stop["first_drop"]], delta=1.0)
        done = run(self.write(forms.SAME["plain"](self.rows)), "--time-zone", "Europe/Atlantis")
        self.assertEqual(done.returncode, 64)

    def test_names_stand_in_the_report(self):
        done = run(self.write(forms.SAME["names of rows"](self.rows)))
        self.assertIn("Row A", done.stdout)

    def test_places_that_cannot_be_cost_the_place_only(self):
        for name, change in forms.PLACES.items():
            with self.subTest(name):
                found = self.found(forms.as_utf8(forms.joined(change(self.rows))))
                self.assertGreater(found["table"]["places_kept_out"], len(self.rows) // 300)
                self.assertEqual(self.judged(found), self.judged(self.plain))
                for gap, plain in zip(found["gaps"], self.plain["gaps"]):
                    self.assertAlmostEqual(gap["length_m"], plain["length_m"], delta=0.3)

    def test_a_table_that_may_mean_two_things_is_asked_about(self):
        for name, (change, words, _) in forms.ASKED.items():
            with self.subTest(name):
                done = run(self.write(forms.as_utf8(forms.joined(change(self.rows)))))
                self.assertEqual(done.returncode, 65, name)
                self.assertIn("nothing was judged", done.stderr)
                self.assertIn(words, done.stderr)

    def test_an_answer_lets_it_be_judged(self):
        for name, (change, _, answer) in forms.ASKED.items():
            if answer:
                with self.subTest(name):
                    found = self.found(forms.as_utf8(forms.joined(change(self.rows))), *answer)
                    self.assertGreater(found["drops"], len(self.rows) // 3)

    def test_left_out_silent_rows_come_back_as_silent_drops(self):
        change, _, answer = forms.ASKED["silent rows left out"]
        found = self.found(forms.as_utf8(forms.joined(change(self.rows))), *answer)
        silent = sum(one["silent"] for one in self.plain["rows"])
        ends = sum(forms.silent(one) for one in self.rows)
        self.assertGreater(sum(one["silent"] for one in found["rows"]), 0.8 * min(silent, ends))

    def test_pass_numbers_that_begin_anew_are_told_apart_by_time_and_place(self):
        again = [[f"{float(one[0]) + 40000:.1f}", *one[1:4], f"{float(one[4]) + 0.02:.8f}", *one[5:]] for one in self.rows]
        found = self.found(forms.as_utf8(forms.joined(self.rows + again)))
        self.assertEqual((found["drops"], found["rows_bad"]), (2 * self.plain["drops"], 0))
        self.assertGreater(found["table"]["passes_split"], 3)

    def test_a_field_column_and_several_tables_keep_fields_apart(self):
        first, second = self.folder / "north.csv", self.folder / "south.csv"
        for path in (first, second):
            path.write_bytes(forms.as_utf8(forms.joined(self.rows)))
        found = held(run(first, second, "--json").stdout)
        self.assertEqual((found["drops"], found["rows_bad"]), (2 * self.plain["drops"], 0))
        header = [*nights.HEADER, "field"]
        both = [one + ["north"] for one in self.rows] + [one + ["south"] for one in self.rows]
        found = self.found(forms.as_utf8(forms.joined(both, header)))
        self.assertEqual({one["name"] for one in found["fields"]}, {"north", "south"})

    def test_the_message_lists_the_columns_found(self):
        done = run(self.write(b"a;b;c\n1;2;3\n"))
        self.assertEqual(done.returncode, 65)
        for name in "abc":
            self.assertIn(name, done.stderr.split("the file has:")[1])

    def test_stated_spacing_is_held_against_the_places(self):
        spacing = 1000 * self.plain["table"]["spacing_m"]
        path = self.write(forms.SAME["plain"](self.rows))
        self.assertIn(run(path, "--spacing-mm", f"{spacing:.1f}").returncode, (0, 1, 2))
        done = run(path, "--spacing-mm", f"{1.5 * spacing:.1f}")
        self.assertEqual(done.returncode, 65)
        self.assertIn("swapped", done.stderr)


unittest.main(argv=sys.argv[:1])

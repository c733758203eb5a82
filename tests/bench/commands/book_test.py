#!/usr/bin/env python3
"""The bench book as a workshop meets it: enter, look up, follow a unit over the seasons, make it anew; and a run that
takes its calibration from the book. usage: book_test.py DROPLEDGER SCENARIOS"""
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])
RECORD = """schema = "dropledger/calibration/1"
id = "{id}"
date = "{date}"
expires = "{expires}"
[holds_for]
unit = "{unit}"
gate = 1
[efficiency]
value = 0.75
low = 0.72
high = 0.78
confidence = 0.95
method = "constructed"
[flight]
flight_us = 20500.0
flight_u_us = 60.0
[lead]
lag_us = 0.0
lag_u_us = 10.0
offset_mm = 0.0
offset_u_mm = 0.1
covariance_us_mm = 0.0
lead_to_set_us = 300000
"""


def command(*words, status=0):
    done = subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=120)
    assert done.returncode == status, (words, done.returncode, done.stdout, done.stderr)
    return done


def result(*words, status=0):
    return held(command(*words, "--json", status=status).stdout)


class Book(unittest.TestCase):
    def setUp(self):
        self.temporary = tempfile.TemporaryDirectory()
        self.addCleanup(self.temporary.cleanup)
        self.folder = pathlib.Path(self.temporary.name)
        self.book = self.folder / "bench.book"

    def log(self, name, scenario="healthy", started="2026-01-05T08:00:00Z", drops=400, seed=1):
        path = self.folder / name
        command("simulate", "--scenario", SCENARIOS / f"{scenario}.toml", "--log", path, "--drops", drops, "--started", started,
                "--seed", seed)
        return path

    def record(self, name="CAL-1", unit="U-0101", date="2026-01-02", expires="2026-12-31"):
        path = self.folder / f"{name}.toml"
        path.write_text(RECORD.format(id=name, unit=unit, date=date, expires=expires))
        return path

    def test_lists_shows_and_makes_itself_anew(self):
        logs = [self.log("a.droplog"), self.log("b.droplog", "worn_cell", "2026-02-05T08:00:00Z")]
        self.assertEqual(result("book", "add", *logs, "--book", self.book)["runs"], 2)
        listed = result("book", "list", "--book", self.book)
        self.assertEqual([one["unit"] for one in listed["units"]], ["U-0101"])
        self.assertEqual([one["file"] for one in listed["runs"]], ["a.droplog", "b.droplog"])
        self.assertEqual(listed["seed_lots"][0]["lot"], "INV-CH-07")
        shown = result("book", "show", "U-0101", "--book", self.book)
        self.assertEqual([one["started"] for one in shown["runs"]], ["2026-01-05T08:00:00Z", "2026-02-05T08:00:00Z"])
        audited = held(subprocess.run([DROPLEDGER, "audit", logs[0], "--json"], capture_output=True, text=True).stdout)
        self.assertEqual(shown["runs"][0]["quantities"]["spacing"]["miss_index"]["value"],
                         audited["channels"][0]["spacing"]["miss_index"]["value"])
        self.assertEqual(shown["runs"][0]["outcome"], audited["channels"][0]["verdict"]["outcome"])
        again = self.folder / "again.book"
        self.assertEqual(result("book", "rebuild", self.folder, "--book", again)["runs"], 2)
        self.assertEqual(result("book", "list", "--book", again), listed)
        self.assertEqual(result("book", "show", "U-0101", "--book", again), shown)
        text = command("book", "show", "U-0101", "--book", self.book).stdout
        self.assertIn("miss index M", text)
        self.assertIn("Calibrations that hold for it", text)

    def test_follows_a_unit_and_calls_the_run_that_stands_out(self):
        logs = [self.log(f"{day:02}.droplog", started=f"2026-01-{day:02}T08:00:00Z", seed=day) for day in range(1, 13)]
        command("book", "add", *logs, "--book", self.book)
        quiet = result("book", "trend", "U-0101", "--quantity", "miss_index", "--book", self.book)
        self.assertEqual(len(quiet["trends"][0]["points"]), 12)
        self.assertEqual(quiet["trends"][0]["signals"], [])
        command("book", "add", self.log("13.droplog", "dirty_gate", "2026-02-01T08:00:00Z", 600), "--book", self.book)
        loud = result("book", "trend", "U-0101", "--book", self.book, status=1)
        miss = loud["trends"][0]
        self.assertEqual(miss["quantity"], "miss_index")
        self.assertIn(miss["points"][-1]["run"], [one["last_run"] for one in miss["signals"]])
        self.assertIn("signal:", command("book", "trend", "U-0101", "--book", self.book, status=1).stdout)

    def test_a_repair_begins_a_new_usual_range_and_asks_for_a_run(self):
        bad = [self.log(f"bad{day}.droplog", "worn_cell", f"2026-01-0{day}T08:00:00Z", 700, day) for day in (5, 6, 7)]
        command("book", "add", *bad, "--book", self.book)
        command("book", "note", "u-0101", "disc changed", "--date", "2026-01-08", "--book", self.book)
        self.assertIn("run it after the repair of 2026-01-08: disc changed",
                      result("book", "list", "--book", self.book)["units"][0]["due"])
        good = [self.log(f"good{day}.droplog", "healthy", f"2026-01-{day}T08:00:00Z", 700, day) for day in (10, 11)]
        command("book", "add", *good, "--book", self.book)
        self.assertEqual(result("book", "list", "--book", self.book)["units"][0]["due"], [])
        page = self.folder / "trend.html"
        found = result("book", "trend", "U-0101", "--quantity", "miss_index", "--book", self.book)["trends"][0]
        self.assertEqual(found["limit"], 0.05)
        self.assertEqual([one["text"] for one in found["repairs"]], ["disc changed"])
        self.assertEqual(found["repairs"][0]["before_run"], found["points"][3]["run"])
        self.assertIn('Fewer misses since run 4, after "disc changed"; within tolerance since run 4.', found["headline"])
        text = command("book", "trend", "u-0101", "--book", self.book, "--html", page).stdout
        for part in ("usual range", "tolerance at most 5 %", "disc changed"):
            self.assertIn(part, text)
        self.assertIn("tolerance", page.read_text())
        again = self.folder / "again.book"
        (self.folder / "again.book.notes").write_text((self.folder / "bench.book.notes").read_text())
        command("book", "rebuild", self.folder, "--book", again)
        self.assertEqual(result("book", "trend", "U-0101", "--book", again), result("book", "trend", "U-0101", "--book", self.book))

    def test_a_wrong_run_is_taken_out_and_stays_out_while_its_file_stays(self):
        logs = [self.log("a.droplog"), self.log("b.droplog", started="2026-01-06T08:00:00Z", seed=2)]
        command("book", "add", *logs, "--book", self.book)
        kept = logs[1].read_bytes()
        self.assertIn("the file stays", command("book", "remove", "b.droplog", "wrong seed", "--book", self.book).stdout)
        self.assertEqual([one["file"] for one in result("book", "list", "--book", self.book)["runs"]], ["a.droplog"])
        self.assertEqual(logs[1].read_bytes(), kept)
        self.assertIn("wrong seed", command("book", "add", logs[1], "--book", self.book, status=65).stderr)
        rebuilt = result("book", "rebuild", self.folder, "--book", self.book, status=2)
        self.assertEqual(rebuilt["runs"], 1)
        self.assertIn("wrong seed", rebuilt["left_out"][0])
        self.assertIn("no run 'c.droplog'", command("book", "remove", "c.droplog", "x", "--book", self.book, status=64).stderr)

    def test_an_audit_takes_the_calibration_that_speaks_for_the_run(self):
        log = self.log("d.droplog", "dirty_gate", drops=600)
        command("book", "add", self.record("OTHER", unit="U-0999"), "--book", self.book)
        none = result("audit", log, "--book", self.book, status=2)
        self.assertIsNone(none["calibration"])
        self.assertIn("no calibration for gate 1 of unit U-0101", " ".join(none["notes"]))
        command("book", "add", self.record("LATER", date="2026-01-06"), self.record(), "--book", self.book)
        one = held(subprocess.run([DROPLEDGER, "audit", log, "--book", self.book, "--json"], capture_output=True,
                                  text=True).stdout)
        self.assertEqual(one["calibration"], "CAL-1")  # LATER was made after the run
        self.assertLess(one["channels"][0]["sensor"]["corrected_miss"]["value"], 0.05)
        self.assertNotEqual(one["outcome"], "outside")

    def test_a_run_is_calibrated_and_entered(self):
        command("book", "add", self.record(), "--book", self.book)
        port = self.folder / "port"
        bench = subprocess.Popen([DROPLEDGER, "simulate", "--scenario", SCENARIOS / "healthy.toml", "--link", port, "--pace", "0"],
                                 stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.addCleanup(bench.stdout.close)
        self.addCleanup(bench.wait)
        self.addCleanup(bench.terminate)
        bench.stdout.readline()
        plan = ["--port", port, "--yes", "--unit", "U-0101", "--spacing-mm", "180", "--speed-mps", "0.25", "--drops", "120",
                "--lead-us", "310000", "--gate-place", "above", "--channel-set", "0:gate1_place=below"]
        log = self.folder / "run.droplog"
        done = command("run", *plan, "--book", self.book, "--log", log)
        self.assertIn("entered in the book", done.stderr)
        self.assertIn("wants the lead of channel 0 at 300000 us; 310000 us are in force", done.stderr)
        head = log.read_text()
        self.assertIn("@set,calibration,CAL-1*", head)
        self.assertIn("@channel,0,gate1_fall_us,20500*", head)  # the calibration's, because nobody stated one
        self.assertEqual(result("book", "list", "--book", self.book)["runs"][0]["calibration"], "CAL-1")
        foreign = self.record("FOREIGN", unit="U-0999")
        refused = command("run", *plan, "--calibration", foreign, "--log", self.folder / "no.droplog", status=64)
        self.assertIn("it is for another", refused.stderr)
        self.assertFalse((self.folder / "no.droplog").exists())
        taken = command("run", *plan, "--calibration", foreign, "--calibration-anyway", "--log", self.folder / "yes.droplog")
        self.assertIn("foreign", taken.stderr)
        expired = self.record("OLD", expires="2026-01-03")
        self.assertIn("expired", command("run", *plan, "--calibration", expired, "--log", self.folder / "old.droplog").stderr)
        missing = command("run", *plan, "--calibration", "NONE", "--book", self.book, "--log", self.folder / "x.droplog", status=64)
        self.assertIn("no calibration 'NONE'", missing.stderr)

    def test_the_next_batch_is_inspected_by_the_history_in_the_book(self):
        key = self.folder / "bench.key"
        command("batch", "key", key)

        def batch(name, *options, profile="single", status=0):
            return command("batch", "open", self.folder / f"{name}.batch.json", "--serials", f"{name}-001..{name}-100",
                           "--profile", profile, "--aql", "4.0", "--seed", "5", "--key", key, *options, status=status)
        batch("first")
        command("book", "add", self.folder / "first.batch.json", "--book", self.book)
        self.assertEqual([one["decision"] for one in result("book", "list", "--book", self.book)["batches"]], ["open"])
        self.assertIn("left out, not decided or not by the tables: first", batch("second", "--book", self.book).stdout)
        self.assertIn("no earlier batch of this profile", batch("fine", "--book", self.book, profile="single-fine").stdout)
        self.assertIn("--severity", batch("third", "--book", self.book, "--severity", "tightened", status=64).stderr)

    def test_ten_at_once_lose_nothing_and_make_one_book(self):
        # 2026-11-26: two programs that made the book at once got "table run already exists"
        logs = [self.log(f"{i:02}.droplog", seed=i, drops=60) for i in range(10)]
        for book in (self.book, self.folder / "second.book"):
            running = [subprocess.Popen([DROPLEDGER, "book", "add", log, "--book", book, "--json"], stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True) for log in logs]
            answers = [(*one.communicate(timeout=200), one.returncode) for one in running]
            self.assertEqual([(said, status) for _, said, status in answers], [("", 0)] * 10)
            self.assertEqual([held(out)["runs"] for out, _, _ in answers], [1] * 10)
            listed = result("book", "list", "--book", book)
            self.assertEqual(sorted(one["file"] for one in listed["runs"]), [log.name for log in logs])
            self.assertEqual([one["runs"] for one in listed["units"]], [10])

    def test_says_what_is_wrong(self):
        for words, status, part in (
                (["list", "--book", self.book], 65, "no such book"),
                (["show", "X", "--book", self.book], 65, "no such book"),
                (["rebuild", self.folder / "nowhere", "--book", self.book], 74, "nowhere"),
                (["add", SCENARIOS / "healthy.toml", "--book", self.book], 65, "no droplog"),
                (["add", self.folder / "none.droplog", "--book", self.book], 65, "none.droplog"),
                (["show", "X", "--book", self.book], 64, "enter logs first")):
            done = command("book", *words, status=status)
            self.assertIn(part, done.stderr)
            self.assertEqual(done.stdout, "")
        self.book.unlink()
        self.book.write_text("not a book at all, only words" * 100)
        self.assertIn("rebuild", command("book", "list", "--book", self.book, status=65).stderr)
        if os.geteuid() != 0:
            self.folder.chmod(0o500)
            command("book", "add", SCENARIOS / "healthy.toml", "--book", self.folder / "b.book", status=74)
            self.folder.chmod(0o700)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])

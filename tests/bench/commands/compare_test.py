#!/usr/bin/env python3
"""Two runs of a machine side by side, as `dropledger compare` tells it: before a repair, and after it.

usage: compare_test.py DROPLEDGER SCENARIOS. Machines and faults are invented."""
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])
FAULTY = (SCENARIOS / "six_units.toml").read_text()


class TwoRuns(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.kept = tempfile.TemporaryDirectory(prefix="compare")
        cls.folder = pathlib.Path(cls.kept.name)
        cls.recorded("before", FAULTY, "2026-03-01T08:00:00Z")
        cls.recorded("after", FAULTY.replace("fill = 0.91", "fill = 0.985"), "2026-03-02T08:00:00Z", "--seed", "7")
        cls.recorded("faster", FAULTY, "2026-03-03T08:00:00Z", "--speed-mps", "1")

    @classmethod
    def tearDownClass(cls):
        cls.kept.cleanup()

    @classmethod
    def recorded(cls, name, scenario, started, *words):
        file = cls.folder / f"{name}.toml"
        file.write_text(scenario)
        subprocess.run([DROPLEDGER, "simulate", "--scenario", file, "--log", cls.folder / f"{name}.droplog", "--started", started,
                        "--drops", "600", *words], check=True, capture_output=True)

    def compared(self, *words, status=0):
        done = subprocess.run([DROPLEDGER, "compare", *words], cwd=self.folder, capture_output=True, text=True)
        self.assertEqual(done.returncode, status, done.stdout + done.stderr)
        return done.stdout if status == 0 else done.stderr

    def test_only_the_repaired_unit_is_said_to_differ_and_only_by_its_misses(self):
        found = held(self.compared("before.droplog", "after.droplog", "--json"))
        differing = [(unit["unit"], one["name"]) for unit in found["units"] for one in unit["quantities"] if one["differs"]]
        self.assertEqual(differing, [("U-0204", "miss_share")])
        self.assertEqual(found["comparisons"], 30)
        text = self.compared("before.droplog", "after.droplog")
        self.assertIn("outside before, within after\n    misses per drop lower by ", text)

    def test_its_values_are_those_of_the_audits(self):
        found = held(self.compared("before.droplog", "after.droplog", "--json"))
        for side in ("before", "after"):
            audit = held(subprocess.run([DROPLEDGER, "audit", f"{side}.droplog", "--json"], cwd=self.folder, capture_output=True,
                                        text=True).stdout)
            for unit, channel in zip(found["units"], audit["channels"]):
                self.assertEqual(unit[side], channel["verdict"]["outcome"])
                values = {one["name"]: one[side] for one in unit["quantities"]}
                self.assertEqual(values["miss_share"], channel["shares"]["miss_share"])
                self.assertEqual(values["sd_mm"], channel["placement"]["sd_mm"])
                self.assertEqual(values["precision"], channel["spacing"]["precision"])

    def test_runs_of_another_speed_or_in_the_wrong_order_are_refused(self):
        self.assertIn("its speed is 1 m/s, and was 0.5 m/s", self.compared("before.droplog", "faster.droplog", status=65))
        self.assertIn("began before", self.compared("after.droplog", "before.droplog", status=65))

    def test_a_log_that_was_changed_is_refused(self):
        lines = (self.folder / "after.droplog").read_text().splitlines(keepends=True)
        del lines[500]
        (self.folder / "changed.droplog").write_text("".join(lines))
        self.assertIn("not whole", self.compared("before.droplog", "changed.droplog", status=65))

    def test_the_page_says_the_same(self):
        self.compared("before.droplog", "after.droplog", "--html", "change.html")
        self.assertIn("misses per drop lower by", (self.folder / "change.html").read_text().replace("\u00a0", " "))


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])

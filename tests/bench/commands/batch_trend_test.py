#!/usr/bin/env python3
"""Control charts over batches, from their files to text, JSON and page."""
import math
import pathlib
import random
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

SAMPLE, DROPLEDGER, PROFILE = (sys.argv.pop(1) for _ in range(3))


def run(*words):
    return subprocess.run([str(word) for word in words], capture_output=True, text=True, timeout=60)


class Trend(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.path = pathlib.Path(self.folder.name)
        self.random = random.Random(5)

    def batch(self, number, level):
        misses = ",".join(str(max(0, round(self.random.gauss(level, 2)))) for _ in range(8))
        made = run(SAMPLE, PROFILE, f"B-{number:02}", f"2026-{number:02}-03T08:00:00Z", misses)
        self.assertEqual(made.returncode, 0, made.stderr)
        file = self.path / f"{number}.batch.json"
        file.write_text(made.stdout)
        return file, sum(map(int, misses.split(",")))

    def test_a_rise_is_called_and_drawn(self):
        made = [self.batch(number, 7 if number < 7 else 18) for number in range(1, 13)]
        page = self.path / "trend.html"
        done = run(DROPLEDGER, "batch", "trend", *[file for file, _ in reversed(made)], "--json", "--html", page)
        self.assertEqual(done.returncode, 1, done.stderr)
        found = held(done.stdout)
        self.assertEqual([batch["id"] for batch in found["batches"]], [f"B-{n:02}" for n in range(1, 13)])
        misses = found["trends"][0]
        self.assertEqual(misses["quantity"], "miss_share")
        shares = [total / 4000 for _, total in made]
        ranges = [abs(b - a) for a, b in zip(shares, shares[1:])]
        self.assertAlmostEqual(misses["centre"], sum(shares) / 12)
        self.assertAlmostEqual(misses["sigma"], sum(ranges) / 11 * math.sqrt(math.pi) / 2)
        self.assertTrue(misses["signals"])
        self.assertTrue(misses["provisional"])
        tree = xml.fromstring(page.read_text().removeprefix("<!DOCTYPE html>\n"))
        self.assertTrue(any("B-12" in (title.text or "") for title in tree.iter("title")))

    def test_a_steady_process_is_left_in_peace(self):
        files = [self.batch(number, 9)[0] for number in (1, 2, 3)]
        done = run(DROPLEDGER, "batch", "trend", *files)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("No signal", done.stdout)
        self.assertIn("The usual range rests on 3 values", done.stdout)

    def test_one_batch_has_no_trend_and_other_files_are_refused(self):
        file, _ = self.batch(1, 9)
        self.assertEqual(run(DROPLEDGER, "batch", "trend", file).returncode, 2)
        self.assertEqual(run(DROPLEDGER, "batch", "trend", file, file).returncode, 65)
        other = self.path / "other.json"
        other.write_text("{}")
        self.assertEqual(run(DROPLEDGER, "batch", "trend", other).returncode, 65)
        self.assertEqual(run(DROPLEDGER, "batch", "trend").returncode, 64)


if __name__ == "__main__":
    unittest.main()

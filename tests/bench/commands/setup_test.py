#!/usr/bin/env python3
"""`dropledger setup` as a mechanic meets it: by options, by answers at a terminal, and tried on a virtual bench with
plugs swapped, a gate forgotten and a height measured wrong.

usage: setup_test.py DROPLEDGER SCENARIOS
"""

import os
import pathlib
import pty
import subprocess
import sys
import tempfile
import tomllib
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

PROGRAM, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])
PLAN = ["--spacing-mm", "180", "--speed-mps", "0.25", "--drops", "100"]
GATES = ["--gate0-place", "above", "--gate1-place", "below", "--gate1-height-mm", "50", "--valve-height-mm", "400",
         "--terminal-mps", "3.8", "--lead-us", "250000"]


def setup(*options, **rest):
    return subprocess.run([PROGRAM, "setup", *map(str, options)], capture_output=True, text=True, timeout=120,
                          stdin=rest.pop("stdin", subprocess.DEVNULL), **rest)


class Setup(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.file = self.folder / "machine.toml"

    def read(self):
        return tomllib.loads(self.file.read_text())


class WithoutABench(Setup):
    def test_writes_what_the_options_say_with_the_fall_of_a_gate_reckoned_from_heights(self):
        done = setup(self.file, "--units", "SU-0201..SU-0203,SU-0300", "--rows", "1..3,5", "--crop", "wheat", *PLAN, *GATES)
        self.assertEqual(done.returncode, 0, done.stderr)
        found = self.read()
        self.assertEqual([(one["unit"], one["row"]) for one in found["channel"]],
                         [("SU-0201", 1), ("SU-0202", 2), ("SU-0203", 3), ("SU-0300", 5)])
        self.assertEqual((found["run"]["spacing_mm"], found["run"]["speed_mps"], found["run"]["profile"]), (180, 0.25, "single"))
        # h = (w^2/g) ln cosh(g t/w), from 400 mm less from 350 mm, reckoned apart
        self.assertAlmostEqual(found["channel"][0]["gate1_fall_us"], 20837, delta=2)
        self.assertGreater(found["channel"][0]["gate1_fall_u_us"], 100)
        self.assertNotIn("gate0_fall_us", found["channel"][0])
        self.assertNotIn("UNSURE", self.file.read_text().split("[run]")[1])

    def test_understands_km_h_a_decimal_comma_and_cm(self):
        done = setup(self.file, "--units", "A,B", "--spacing-mm", "18cm", "--speed-mps", "0,9 km/h")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertAlmostEqual(self.read()["run"]["speed_mps"], 0.25)
        self.assertEqual(self.read()["run"]["spacing_mm"], 180)

    def test_marks_what_nobody_said(self):
        done = setup(self.file, "--units", "A", *PLAN, "--gate1-place", "below")
        self.assertEqual(done.returncode, 0, done.stderr)
        unsure = [line.split(":")[0] for line in self.file.read_text().splitlines() if "UNSURE:" in line]
        self.assertEqual(unsure, ["# crop", "# gate0_place", "# gate1_fall_us", "# lead_us"])

    def test_marks_the_fall_of_a_seed_that_nobody_knows(self):
        setup(self.file, "--units", "A", *PLAN, "--crop", "moon wheat", "--gate1-height-mm", "50", "--valve-height-mm", "400")
        line = next(line for line in self.file.read_text().splitlines() if line.startswith("gate1_fall_us"))
        self.assertIn("UNSURE", line)
        self.assertIn("3 to 12 m/s", line)

    def test_names_the_option_that_is_missing_where_nobody_can_be_asked(self):
        for part, options in (("--units", PLAN), ("--spacing-mm", ["--units", "A", "--speed-mps", "0.25"]),
                              ("--speed-mps", ["--units", "A", "--spacing-mm", "180"]),
                              ("--count", ["--units", "A", "--mode", "portion", *PLAN])):
            done = setup(self.file, *options)
            self.assertEqual(done.returncode, 64)
            self.assertIn(f"option {part}: missing", done.stderr)
            self.assertFalse(self.file.exists())

    def test_leaves_no_file_that_a_run_would_refuse(self):
        for part, options in (("is named twice", ["--units", "A,A", *PLAN]), ("rows for", ["--units", "A", "--rows", "1..2", *PLAN]),
                              ("no profile", ["--units", "A", *PLAN, "--profile", "singel"]),
                              ("drops a second", ["--units", "A", "--spacing-mm", "1", "--speed-mps", "5"]),
                              ("below a valve", ["--units", "A", *PLAN, "--gate1-height-mm", "50", "--valve-height-mm", "40"])):
            with self.subTest(part=part):
                done = setup(self.file, *options)
                self.assertEqual(done.returncode, 64, done.stderr)
                self.assertIn(part, done.stderr)
                self.assertFalse(self.file.exists())

    def test_never_writes_over_a_file(self):
        self.file.write_text("mine = 1\n")
        done = setup(self.file, "--units", "A", *PLAN)
        self.assertIn(done.returncode, (64, 65))
        self.assertEqual(self.file.read_text(), "mine = 1\n")

    def test_asks_for_the_rest_and_again_after_a_wrong_answer(self):
        ours, theirs = pty.openpty()
        answers = ["SU-0201..SU-0202", "", "wide", "18 cm", "0,9 km/h", "wheat", "", "singel", "single-fine", "", "above", "below",
                   "50", "400", "18 ms", ""]
        os.write(ours, "".join(answer + "\n" for answer in answers).encode())
        done = setup(self.file, stdin=theirs)
        self.assertEqual(done.returncode, 0, done.stderr)
        os.close(ours)
        os.close(theirs)
        self.assertIn("`wide` is not a number", done.stderr)
        self.assertIn("did you mean single?", done.stderr)
        found = self.read()
        self.assertEqual((found["run"]["profile"], found["run"]["crop"], found["run"]["drops"]), ("single-fine", "wheat", 500))
        self.assertEqual(found["channel"][1]["lead_us"], 18000)


class OnABench(Setup):
    def bench(self, scenario, change=lambda text: text):
        text = change((SCENARIOS / f"{scenario}.toml").read_text())
        file = self.folder / "scenario.toml"
        file.write_text(text)
        bench = subprocess.Popen([PROGRAM, "simulate", "--scenario", file, "--pace", "40"], stdout=subprocess.PIPE,
                                 stderr=subprocess.DEVNULL, text=True)
        self.addCleanup(bench.stdout.close)
        self.addCleanup(bench.wait)
        self.addCleanup(bench.terminate)
        return bench.stdout.readline().strip()

    def tried(self, scenario, *options, change=lambda text: text):
        return setup(self.file, *PLAN, *options, "--port", self.bench(scenario, change), "--yes")

    def test_finds_nothing_on_a_machine_whose_settings_fit(self):
        done = self.tried("six_units", "--units", "U-0201..U-0206", *GATES[:-4], "--terminal-mps", "5.6")
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        self.assertIn("Nothing to object to", done.stdout)
        self.assertIn("U-0204 (channel 3): 20 drops", done.stdout)
        self.assertEqual(len(list((self.folder / "machine-check").glob("*.droplog"))), 6)
        book = self.folder / "bench.book"
        rebuilt = subprocess.run([PROGRAM, "book", "rebuild", self.folder, "--book", book, "--json"], capture_output=True, text=True)
        self.assertEqual((held(rebuilt.stdout)["runs"], held(rebuilt.stdout)["tries"], rebuilt.returncode), (0, 6, 0))
        added = subprocess.run([PROGRAM, "book", "add", *(self.folder / "machine-check").glob("*.droplog"), "--book", book],
                               capture_output=True, text=True)
        self.assertEqual(added.returncode, 65)
        self.assertIn("tried a machine's settings", added.stderr)
        again = setup(self.file, "--port", self.bench("six_units"), "--yes")  # tried as it is
        self.assertEqual(again.returncode, 0, again.stdout + again.stderr)

    def test_names_the_rows_whose_plugs_are_swapped(self):
        done = self.tried("swapped_plugs", "--units", "U-0301..U-0303", *GATES)
        self.assertEqual(done.returncode, 2, done.stdout + done.stderr)
        self.assertIn("U-0302 (channel 1) drops, and its seed is seen by both gates of U-0303 (channel 2).", done.stdout)
        self.assertIn("U-0303 (channel 2) drops, and its seed is seen by both gates of U-0302 (channel 1).", done.stdout)
        self.assertNotIn("U-0301 (channel 0) drops, and", done.stdout)
        self.assertIn("UNSURE", self.file.read_text())

    def test_finds_where_gates_sit_that_nobody_has_told(self):
        done = self.tried("healthy", "--units", "U-0101")
        self.assertEqual(done.returncode, 2, done.stdout + done.stderr)
        self.assertIn("sits above the valve", done.stdout)
        written = self.file.read_text()
        self.assertIn('gate0_place = "above"', written)
        self.assertNotIn("set gate0_place", written)  # it is set
        self.assertEqual((self.read()["channel"][0]["gate0_place"], self.read()["channel"][0]["gate1_place"]), ("above", "below"))

    def test_finds_a_height_that_is_wrong_on_all_units(self):
        wrong = [*GATES]
        wrong[wrong.index("50")] = "250"
        done = self.tried("six_units", "--units", "U-0201..U-0206", *wrong)
        self.assertEqual(done.returncode, 2, done.stdout + done.stderr)
        self.assertIn("All 6 units land off alike", done.stdout)
        self.assertIn("late", done.stdout)

    def test_finds_a_gate_that_is_not_there(self):
        done = self.tried("healthy", "--units", "U-0101", *GATES, change=lambda text: text.replace("detection = 0.999", "detection = 0.0"))
        self.assertEqual(done.returncode, 2, done.stdout + done.stderr)
        self.assertIn("Gate 1 of U-0101 (channel 0) saw nothing in 20 drops", done.stdout)

    def test_starts_no_unit_that_nobody_confirms(self):
        done = setup(self.file, "--units", "U-0101", *PLAN, *GATES, "--port", self.bench("healthy"))
        self.assertEqual(done.returncode, 64, done.stderr)
        self.assertIn("mask and gloves", done.stderr)
        self.assertFalse(list((self.folder / "machine-check").glob("*.droplog")))

    def test_a_run_understands_all_of_the_file(self):
        port = self.bench("six_units")
        self.assertEqual(setup(self.file, "--units", "U-0201..U-0206", "--crop", "wheat", "--bench", "b", "--operator", "M. Example",
                               "--book", self.folder / "book", *PLAN, *GATES, "--no-check").returncode, 0)
        log = self.folder / "run.droplog"
        done = subprocess.run([PROGRAM, "run", "--settings", self.file, "--port", port, "--drops", "20", "--yes", "--log", log],
                              capture_output=True, text=True, timeout=120)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("gate1_fall_u_us", log.read_text())


unittest.main(argv=sys.argv[:1])

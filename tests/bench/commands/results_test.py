#!/usr/bin/env python3
"""Machine-readable results as other programs rely on them: the keys, and published values (external sources named
beside each)."""
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, PUBLISHED = sys.argv[1], pathlib.Path(sys.argv[2])


def result(*words, status=(0,)):
    done = subprocess.run([DROPLEDGER, *words, "--json"], capture_output=True, text=True, timeout=60)
    assert done.returncode in status, (words, done.returncode, done.stderr)
    return held(done.stdout)


class Results(unittest.TestCase):
    def test_two_observers_reproduce_a_published_recapture(self):
        # Seber 2002, tables 3.7 and 3.8, as quoted in a public copy: 9393, se 3022
        found = result("calibrate", "efficiency", "--both", "7", "--first", "500", "--second", "149")
        self.assertEqual(found["schema"], "dropledger/calibrate-efficiency/1")
        self.assertEqual(round(found["seeds"]["value"]), 9393)
        self.assertEqual(round(found["standard_error"]), 3022)
        self.assertAlmostEqual(found["first_efficiency"]["value"], 7 / 149)
        self.assertAlmostEqual(found["second_efficiency"]["value"], 7 / 500)

    def test_an_efficiency_has_one_shape_however_it_was_found(self):
        counted = result("calibrate", "efficiency", "--dropped", "1000", "--seen", "990")
        both = result("calibrate", "efficiency", "--both", "930", "--first", "950", "--second", "960", "--dropped", "1000",
                      "--seen", "955")
        self.assertEqual(list(counted), list(both))
        for name in ("seeds", "standard_error", "first_efficiency", "without_dead_time", "joint_odds", "assumption"):
            self.assertIsNone(counted[name], name)
        self.assertEqual((counted["dependence"], counted["weighing"], both["weighing"]), ([], None, None))
        self.assertEqual(len(both["comparison"]), 1)

    def test_no_independence_of_misses_is_stated_where_nothing_was_commanded(self):
        with tempfile.TemporaryDirectory() as folder:
            table = pathlib.Path(folder) / "tape.csv"
            table.write_text("spacing_mm\n" + "".join(f"{180 + n % 7}\n" for n in range(50)))
            found = result("audit", "--spacings", str(table), "--spacing-mm", "180", status=(0, 1, 2))
        self.assertIsNone(found["channels"][0]["independence"])

    def test_gauge_study_reproduces_the_reference_data(self):
        # AIAG MSA reference data; components seen in a public copy
        found = result("calibrate", "gauge", str(PUBLISHED / "gauge-study.csv"))
        self.assertTrue(found["interaction_pooled"])
        self.assertAlmostEqual(found["repeatability_sd"], 0.199933, delta=5e-7)
        self.assertAlmostEqual(found["reproducibility_sd"], 0.226838, delta=1e-6)
        self.assertAlmostEqual(found["gauge_sd"], 0.302373, delta=2e-6)
        self.assertAlmostEqual(found["unit_sd"], 1.042327, delta=1e-6)
        self.assertEqual(found["distinct_categories"], 4)

    def test_units_reproduce_control_litters(self):
        # Weil 1970, control group: data seen in a public copy, values recomputed
        x = [13, 12, 9, 9, 8, 8, 12, 11, 9, 9, 8, 11, 4, 5, 7, 7]
        n = [13, 12, 9, 9, 8, 8, 13, 12, 10, 10, 9, 13, 5, 7, 10, 10]
        with tempfile.NamedTemporaryFile("w", suffix=".csv") as table:
            table.write("misses,unit,n\n" + "".join(f"{a},u{i},{b}\n" for i, (a, b) in enumerate(zip(x, n))))
            table.flush()
            found = result("batch", "units", table.name)
        self.assertAlmostEqual(found["pooled"]["value"], 0.898734, delta=5e-7)
        self.assertAlmostEqual(found["tarone_z"], 0.451179, delta=5e-7)
        self.assertAlmostEqual(found["tarone_p"], 0.325930, delta=5e-7)
        self.assertAlmostEqual(found["alpha"], 43.564, delta=5e-4)
        self.assertAlmostEqual(found["beta"], 4.94956, delta=5e-6)
        self.assertAlmostEqual(found["log_likelihood"], -21.253528, delta=5e-7)
        self.assertIn("share_outside", found)

    def test_a_field_tells_gaps_and_keeps_bad_rows_out(self):
        # constructed: one pass, one row, 300 drops 180 mm apart to the north, drops 100 to 129 silent
        rows = ["time,pass,row,drop,east_m,north_m,target,seen,alert"]
        for drop in range(300):
            silent = 100 <= drop < 130
            rows.append(f"{1790000000 + drop},1,1,{drop},0,{drop * 0.18:.2f},1,{0 if silent else 1},{1 if silent else 0}")
        rows.append("nonsense")
        with tempfile.NamedTemporaryFile("w", suffix=".csv") as table:
            table.write("\n".join(rows) + "\n")
            table.flush()
            found = result("field", table.name, status=(0, 1, 2))
        self.assertEqual((found["drops"], found["rows_bad"]), (300, 1))
        self.assertEqual([found["rows"][0][key] for key in ("pass", "row", "drops", "silent", "gaps")], [1, 1, 300, 30, 1])
        gap = found["gaps"][0]
        self.assertEqual((gap["first_drop"], gap["last_drop"]), (100, 129))
        self.assertAlmostEqual(gap["length_m"], 31 * 0.18, places=6)  # from the seed before it to the seed after it
        self.assertEqual(gap["judgement"], "missing")
        self.assertEqual(found["reseed"]["gaps"], 1)

    def test_impossible_counts_are_refused(self):
        for words in (["calibrate", "efficiency", "--both", "9", "--first", "5", "--second", "7"],
                      ["batch", "units", "nothere.csv"], ["field", "nothere.csv"]):
            done = subprocess.run([DROPLEDGER, *words], capture_output=True, text=True, timeout=60)
            self.assertIn(done.returncode, (64, 65), words)
            self.assertTrue(done.stderr.startswith("dropledger: "), done.stderr)


unittest.main(argv=sys.argv[:1])

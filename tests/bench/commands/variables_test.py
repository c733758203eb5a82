#!/usr/bin/env python3
"""Measured values of a batch, and plans for them, as a person and other programs use them."""
import pathlib
import subprocess
import sys
import tempfile
import unittest
from statistics import NormalDist, stdev

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER = sys.argv.pop(1)


def run(*words):
    return subprocess.run([DROPLEDGER, *words], capture_output=True, text=True, timeout=60)


def result(*words, status=0):
    done = run(*words, "--json")
    assert done.returncode == status, (words, done.returncode, done.stderr)
    return held(done.stdout)


def normal_values(n, mean, sd):
    z = [NormalDist().inv_cdf((i + 0.5) / n) for i in range(n)]
    return [mean + sd * value / stdev(z) for value in z]


class Variables(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.csv = pathlib.Path(self.folder.name) / "values.csv"

    def write(self, values, column="value"):
        lines = [f"unit,{column}"] + [f"U-{i},{value!r}" for i, value in enumerate(values)]
        self.csv.write_text("\n".join(lines) + "\n")
        return str(self.csv)

    def test_factors_are_the_handbooks(self):
        # NIST e-Handbook 7.2.6.3: 2.217 and 1.8752 seen, exact ones recomputed
        factors = result("plan", "variables", "--n", "43", "--content", "0.9", "--confidence", "0.99")["factors"]
        self.assertAlmostEqual(factors["two_sided_howe"], 2.217, delta=5e-4)
        self.assertAlmostEqual(factors["one_sided_nist"], 1.8752, delta=5e-5)
        self.assertAlmostEqual(factors["two_sided"], 2.222825174, delta=5e-9)
        self.assertAlmostEqual(factors["one_sided"], 1.873953606, delta=5e-9)
        self.assertIsNone(factors["ranks"])

    def test_a_plan_keeps_both_risks(self):
        plan = result("plan", "variables", "--good", "0.01", "--bad", "0.06")["two_point"]
        self.assertGreaterEqual(plan["accept_at_good"], 0.95)
        self.assertLessEqual(plan["accept_at_bad"], 0.10)
        self.assertEqual(run("plan", "variables").returncode, 64)
        page = pathlib.Path(self.folder.name) / "plan.html"
        done = run("plan", "variables", "--good", "0.01", "--bad", "0.06", "--html", str(page))
        self.assertIn(done.stdout.splitlines()[-1], page.read_text())
        self.assertIn("chance of acceptance", page.read_text())

    def test_normal_values_are_judged_by_mean_and_spread(self):
        # NIST e-Handbook 6.1.6 (memory, recomputed): limits 8 and 20, mean 16, s 2, n 50
        found = result("batch", "variables", self.write(normal_values(50, 16, 2)), "--lower", "8", "--upper", "20",
                       status=2)
        self.assertAlmostEqual(found["cp"]["value"], 1.0, delta=1e-6)
        self.assertAlmostEqual(found["cpk"]["value"], 0.6667, delta=5e-5)
        self.assertAlmostEqual(found["cp"]["low"], 0.802482, delta=5e-6)
        self.assertEqual(found["normality"]["shape"], "nothing against normal values")

    def test_a_long_tail_is_judged_by_order(self):
        values = [(i / 20.0) ** 4 for i in range(100)]
        found = result("batch", "variables", self.write(values, "c"), "--column", "c", "--upper", "1000")
        self.assertEqual(found["normality"]["shape"], "not normal")
        self.assertIsNone(found["cp"])
        self.assertIsNone(found["interval"]["factor"])
        self.assertAlmostEqual(found["interval"]["upper"], values[98])

    def test_units_beyond_are_named(self):
        found = result("batch", "variables", self.write([1, 2, 3, 4, 5, 6, 7, 99]), "--upper", "50", status=2)
        self.assertEqual(found["beyond_units"], ["U-7"])

    def test_wrong_questions_are_refused(self):
        values = self.write([1.0, 2.0, 3.0])
        self.assertEqual(run("batch", "variables", values).returncode, 64)
        self.assertEqual(run("batch", "variables", values, "--lower", "3", "--upper", "2").returncode, 64)
        self.assertEqual(run("batch", "variables", values, "--upper", "3", "--column", "x").returncode, 65)
        self.assertEqual(run("batch", "variables", self.write(["x"]), "--upper", "3").returncode, 65)

    def test_a_double_plan_is_found(self):
        found = result("plan", "double", "--good", "0.01", "--bad", "0.06", "--ratio", "2")
        self.assertEqual(found["n2"], 2 * found["n1"])
        self.assertGreaterEqual(found["found"]["at_good"]["accept_probability"], 0.95)
        self.assertLessEqual(found["found"]["at_bad"]["accept_probability"], 0.10)
        self.assertLess(found["found"]["at_good"]["mean_sample"], found["found"]["single"]["n"])
        again = result("plan", "double", "--at", "0.06", *(word for key in ("n1", "accept1", "reject1", "n2", "accept2")
                                                           for word in (f"--{key}", str(found[key]))))
        self.assertAlmostEqual(again["curve"][0]["accept_probability"],
                               found["found"]["at_bad"]["accept_probability"], delta=1e-12)
        self.assertEqual(run("plan", "double").returncode, 64)


if __name__ == "__main__":
    unittest.main()

#!/usr/bin/python3
"""`dropledger plan` from outside: published numbers, keys, exit status, page. usage: plan_cli.py PROGRAM"""
import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[3] / "support"))
from schemas import held  # noqa: E402

PROGRAM = sys.argv.pop(1)


def plan(*words):
    return subprocess.run([PROGRAM, "plan", *words.split()] if isinstance(words, str)
                          else [PROGRAM, "plan", *words], capture_output=True, text=True)


def answer(line):
    done = plan(*line.split(), "--json")
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    out = held(done.stdout)
    assert out["schema"] == f"dropledger/plan-{line.split()[0]}/1"
    return out


class Plan(unittest.TestCase):
    # NIST e-Handbook 6.2.6: n = 24: acceptance number 0, rejection number 3 (seen); the rest recomputed.
    def test_sequential(self):
        out = answer("sequential --good 0.01 --bad 0.10 --alpha 0.05 --beta 0.10 --at 1")
        self.assertAlmostEqual(out["k"], 2.3978952728, 10)
        self.assertAlmostEqual(out["h_accept"], 0.9388616026, 10)
        self.assertAlmostEqual(out["h_reject"], 1.2053786463, 10)
        self.assertAlmostEqual(out["slope"], 0.0397474322, 10)
        rows = {row["n"]: (row["accept"], row["reject"]) for row in out["table"]}
        self.assertEqual([rows[n] for n in (1, 2, 23, 24, 49, 100)],
                         [(None, None), (None, 2), (None, 3), (0, 3), (1, 4), (3, 6)])
        curve = {point["p"]: point for point in out["curve"]}
        for p, accept, drops in ((0.0, 1, 24), (0.01, 0.977953, 30.2127), (0.05, 0.468859, 37.1231),
                                 (0.10, 0.099579, 22.3692), (1.0, 0, 2)):
            self.assertAlmostEqual(curve[p]["accept_probability"], accept, 6)
            self.assertAlmostEqual(curve[p]["mean_drops"], drops, 4)
        self.assertEqual(out["fixed"], {"n": 52, "accept": 2})
        self.assertIsNone(out["saving"]["at_good"]["minutes_saved"])

    def test_sequential_with_a_maximum_and_a_pace(self):
        out = answer("sequential --good 0.01 --bad 0.10 --maximum 30 --speed-mps 0.25 --spacing-mm 180")
        self.assertEqual(len(out["table"]), 100)
        for point in out["curve"]:
            total = sum(point[key] for key in
                        ("accept_probability", "reject_probability", "undecided_probability"))
            self.assertAlmostEqual(total, 1, 12)
            self.assertLessEqual(point["mean_drops"], 30)
        saved = out["saving"]["at_bad"]
        self.assertAlmostEqual(saved["minutes_saved"], saved["drops_saved"] * 0.18 / 0.25 / 60, 9)

    def test_fixed(self):
        for line, n, accept in (("--good 0.01 --bad 0.10", 52, 2), ("--good 0.01 --bad 0.06", 110, 3),
                                ("--good 0.01 --bad 0.10 --beta 0.20", 29, 1)):
            out = answer("fixed " + line)
            self.assertEqual((out["n"], out["accept"]), (n, accept))
        small = answer("fixed --good 0.01 --bad 0.10 --lot 280")
        self.assertLess(small["n"], 52)
        self.assertLessEqual(small["at_bad"]["accept_probability"], 0.10)

    # Newcombe 1998, 81 of 263 (seen).
    def test_interval(self):
        out = answer("interval --of 81 --n 263 --confidence 0.95")
        for key, ends in (("clopper_pearson", (0.2527, 0.3676)), ("wilson", (0.2553, 0.3662)),
                          ("jeffreys", (0.2545, 0.3656))):
            for got, printed in zip(out[key], ends):
                self.assertAlmostEqual(got, printed, 4)
        self.assertEqual(answer("interval --of 0 --n 40 --limit 0.05")["more_drops"], 350)  # with a chance of 90 %; 32 if none is missed
        never = answer("interval --of 5 --n 100 --limit 0.05")
        self.assertGreater(never["more_drops"], 10_000)  # the share seen is the limit: only chance decides

    def test_acceptance(self):
        for line, expected in (
                ("--lot 1000 --level II --aql 1.0 --severity normal", ("J", 80, 2, 3)),
                ("--lot 280 --aql 1", ("G", 50, 1, 2)),
                ("--lot 280 --level S-3 --aql 2.5", ("D", 5, 0, 1)),
                ("--lot 280 --aql 2.5 --severity tightened", ("G", 32, 1, 2)),
                ("--lot 280 --aql 2.5 --severity reduced", ("G", 13, 1, 3)),
                ("--lot 5 --aql 2.5", ("A", 5, 0, 1))):
            out = answer("acceptance " + line)
            self.assertEqual((out["letter"], out["n"], out["accept"], out["reject"]), expected, line)
        curve = answer("acceptance --n 52 --accept 3 --at 0.05,0.10")["curve"]
        self.assertAlmostEqual(curve[0]["accept_probability"], 0.738, 3)
        self.assertAlmostEqual(curve[1]["accept_probability"], 0.223, 3)
        lot = answer("acceptance --n 3 --accept 0 --lot 10 --nonconforming-counts 0,2,10")["curve"]
        self.assertEqual([point["p"] for point in lot], [0.0, 0.2, 1.0])
        self.assertAlmostEqual(lot[1]["accept_probability"], 336 / 720, 12)

    # Textbook plan; first sample 0.279 remembered, the rest recomputed with scipy.
    def test_double(self):
        line = "double --n1 50 --accept1 1 --reject1 4 --n2 100 --accept2 3 --at 0.05"
        point, = answer(line)["curve"]
        self.assertAlmostEqual(point["accept_by_first"], 0.279432, 6)
        self.assertAlmostEqual(point["accept_probability"], 0.290415, 6)
        self.assertAlmostEqual(point["mean_sample"], 98.0976, 4)
        lot = answer(line.replace(" --at 0.05", " --lot 1000"))
        self.assertEqual(lot["law"], "hypergeometric")
        self.assertEqual(lot["curve"][0]["accept_probability"], 1)

    def test_refuses_nonsense_with_a_remedy(self):
        for line in ("sequential --good 0.10 --bad 0.01", "sequential --good 1 --bad 10",
                     "sequential --good 0.01 --bad 0.1 --alpha 0.7 --beta 0.7",
                     "sequential --good 0.04 --bad 0.0401", "sequential --good 0.01 --bad 0.1 --maximum 0",
                     "sequential --good 0.01 --bad 0.1 --speed-mps 0.25", "sequential --bad 0.1",
                     "sequential --good nan --bad 0.1", "sequential --good 0.01 --bad 0.1 --at 0.1,x",
                     "fixed --good 0 --bad 0.1", "fixed --good 0.01 --bad 0.1 --lot 0",
                     "interval --of 5 --n 3", "interval --of 0 --n 0", "interval --of -1 --n 9",
                     "interval --of 1 --n 9 --confidence 95", "interval --of 1 --n 9 --limit 5",
                     "acceptance", "acceptance --aql 1.0", "acceptance --lot 100 --aql 15",
                     "acceptance --lot 1 --aql 1", "acceptance --lot 100 --aql 1 --level IV",
                     "acceptance --lot 100 --aql 1 --severity strict", "acceptance --n 5",
                     "acceptance --n 5 --accept 5", "acceptance --n 50 --accept 1 --lot 20",
                     "acceptance --n 5 --accept 1 --nonconforming-counts 1",
                     "acceptance --n 5 --accept 1 --lot 9 --nonconforming-counts 10",
                     "acceptance --n 5 --accept 1 --at 5", "double --n1 50 --accept1 3 --reject1 4 --n2 100 --accept2 3",
                     "double --n1 50 --accept1 1 --reject1 4 --n2 100 --accept2 3 --lot 100", "nothing", ""):
            done = plan(*line.split())
            self.assertEqual(done.returncode, 64, line)
            self.assertEqual(done.stdout, "", line)
            self.assertNotEqual(done.stderr, "", line)
            self.assertNotIn("bug", done.stderr, line)

    def test_writes_a_page_that_needs_nothing_else(self):
        lines = ("sequential --good 0.01 --bad 0.10", "fixed --good 0.01 --bad 0.10",
                 "interval --of 3 --n 100 --limit 0.05", "acceptance --lot 280 --aql 1.0",
                 "acceptance --n 52 --accept 3",
                 "double --n1 50 --accept1 1 --reject1 4 --n2 100 --accept2 3")
        with tempfile.TemporaryDirectory() as folder:
            for line in lines:
                file = pathlib.Path(folder) / "plan.html"
                done = plan(*line.split(), "--html", str(file))
                self.assertEqual(done.returncode, 0, done.stderr)
                page = file.read_text()
                root = xml.fromstring(page.replace("<!DOCTYPE html>\n", ""))
                self.assertGreaterEqual(len(root.findall(".//svg[@aria-label]")), 1, line)
                self.assertNotIn("http", page)
                self.assertNotIn("nan", page.split("In numbers")[0])
                self.assertIn(done.stdout.splitlines()[-1], page.replace("&quot;", '"'))
                self.assertEqual([each.name for each in pathlib.Path(folder).iterdir()], ["plan.html"])
        done = plan("fixed", "--good", "0.01", "--bad", "0.10", "--html", "/nowhere/plan.html")
        self.assertIn(done.returncode, (65, 74))
        self.assertEqual(done.stdout, "")


unittest.main()

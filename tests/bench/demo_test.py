#!/usr/bin/env python3
"""The demo as a new user runs it: every mode from bench to verdict, and the audit against what really fell."""
import csv
import pathlib
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, DROPLEDGER_SCENARIO = sys.argv[1:3]
WITHIN_OUTSIDE_OR_UNDECIDED = (0, 1, 2)


def demo(scenario, drops, folder):
    done = subprocess.run([DROPLEDGER, "demo", "--scenario", scenario, "--drops", str(drops), "--pace", "100", "--out",
                           folder], capture_output=True, text=True, timeout=120)
    assert done.returncode in WITHIN_OUTSIDE_OR_UNDECIDED, (scenario, done.returncode, done.stderr)
    assert done.stdout.rstrip().endswith(str(pathlib.Path(folder) / "demo.html")), done.stdout[-300:]
    assert done.stdout.count("demo.html") == 1, "the page is named once"
    result = held((pathlib.Path(folder) / "demo.json").read_text())
    outcomes = ["within", "outside", "undecided"]
    assert result["outcome"] == outcomes[done.returncode], (result["outcome"], done.returncode)
    assert "<html" in (pathlib.Path(folder) / "demo.html").read_text()
    return result


def seen_by_reference_gate(folder):
    with open(pathlib.Path(folder) / "truth.csv") as truth:
        return sum(int(row["seen_gate1"] or 0) for row in csv.DictReader(truth))


def main():
    with tempfile.TemporaryDirectory() as top:
        for scenario, drops in (("healthy", 120), ("double_feeding", 120), ("portion_healthy", 60)):
            folder = str(pathlib.Path(top) / scenario)
            result = demo(scenario, drops, folder)
            ledger = result["channels"][0]["ledger"]
            assert result["source"]["complete"] and ledger["balanced"], result["source"]
            assert ledger["drops"] == drops, ledger
            assert ledger["seeds"] == seen_by_reference_gate(folder), (ledger, scenario)
        again = demo("healthy", 30, str(pathlib.Path(top) / "healthy"))  # over an earlier one
        assert again["channels"][0]["ledger"]["drops"] == 30
        line = demo("line_regular", 300, str(pathlib.Path(top) / "line"))
        assert line["channels"][0]["line"]["segments"] > 10 and line["channels"][0]["spacing"] is None
        wrong = subprocess.run([DROPLEDGER, "demo", "--scenario", "nothing"], capture_output=True, text=True)
        assert wrong.returncode == 64 and "one of:" in wrong.stderr, wrong
        for scenario in ("worn_cell", DROPLEDGER_SCENARIO):  # by name, and as a file
            log = str(pathlib.Path(top) / pathlib.Path(scenario).stem) + ".droplog"
            subprocess.run([DROPLEDGER, "simulate", "--scenario", scenario, "--log", log, "--drops", "20"], check=True, timeout=60)
        unknown = subprocess.run([DROPLEDGER, "simulate", "--scenario", "worn", "--log", log + "2"], capture_output=True, text=True)
        assert unknown.returncode == 64 and "worn_cell" in unknown.stderr, unknown
    print("demo: four scenarios from bench to verdict agree with the truth")


main()

#!/usr/bin/env python3
"""How often a field audit is right, over simulated nights with known truth: prints the tables of analysis/field/README.md.

    tests/bench/commands/night_accuracy.py build/release/dropledger [NIGHTS]

Each night is `dropledger simulate --field` with another seed. The dirty sensor's efficiency is given as a hand count of
2,000 seeds found it (drawn anew each night), and once not at all."""
import collections
import csv
import json
import pathlib
import random
import subprocess
import sys
import tempfile

FAULTS = ["healthy", "bridging", "bad_cell", "empty_container", "start_loss", "sensor"]
TRUE_EFFICIENCY = 0.85


def run(program, *words):
    done = subprocess.run([program, *map(str, words)], capture_output=True, text=True)
    if done.returncode not in (0, 1, 2):
        sys.exit(done.stderr)
    return done.stdout


def truth_of(path):
    why, by_row = {}, collections.defaultdict(collections.Counter)
    with open(path) as lines:
        for line in csv.DictReader(lines):
            why[int(line["pass"]), int(line["row"]), int(line["drop"])] = line["why"]
            by_row[int(line["row"])][line["why"]] += 1
    rows = {}
    for row in range(1, 9):
        most = [why for why, count in by_row[row].most_common() if why != "random" and count > 250]
        rows[row] = most[0] if most else "healthy"
    return why, rows


def main():
    program, nights = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 200
    judged = {True: collections.Counter(), False: collections.Counter()}
    causes, rows_of, alerts = collections.Counter(), collections.Counter(), 0
    with tempfile.TemporaryDirectory() as folder:
        night, truth, record = (pathlib.Path(folder) / name for name in ("night.csv", "truth.csv", "record.toml"))
        for seed in range(1, nights + 1):
            run(program, "simulate", "--field", night, "--truth", truth, "--seed", seed)
            why, rows = truth_of(truth)
            dirty = next(row for row, fault in rows.items() if fault == "sensor")
            draw = random.Random(seed)
            seen = sum(draw.random() < TRUE_EFFICIENCY for _ in range(2000))
            record.unlink(missing_ok=True)
            run(program, "calibrate", "efficiency", "--dropped", 2000, "--seen", seen, "--write", record, "--id", "HAND",
                "--date", "2026-04-15", "--expires", "2027-04-15")
            for known in (True, False):
                words = ["--calibration", f"{dirty}={record}"] if known else []
                found = json.loads(run(program, "field", night, "--json", *words))
                for one in found["alerts"]:
                    missing = why[one["pass"], one["row"], one["drop"]] != "sensor"
                    judged[known][missing, one["judgement"]] += 1
                if known:
                    alerts += len(found["alerts"])
                    for row, fault in rows.items():
                        rows_of[fault] += 1
                        for kind in {one["kind"] for one in found["causes"] if one["row"] == row}:
                            causes[fault, kind] += 1
    print(f"{nights} nights, {alerts / nights:.0f} alerts a night\n")
    print("| efficiency of the dirty gate | truth | judged missing | judged sensor | can't tell |\n| --- | --- | --- | --- | --- |")
    for known in (True, False):
        for missing in (True, False):
            cells = [str(judged[known][missing, one]) for one in ("missing", "sensor", "unknown")]
            print(f"| {'hand count' if known else 'not known'} | {'seed missing' if missing else 'sensor missed it'} | "
                  + " | ".join(cells) + " |")
    kinds = FAULTS[1:] + sorted({kind for _, kind in causes} - set(FAULTS))
    print("\n| true fault of the row | rows | " + " | ".join(kinds) + " |\n| --- | --- |" + " --- |" * len(kinds))
    for fault in FAULTS:
        print(f"| {fault} | {rows_of[fault]} | " + " | ".join(str(causes[fault, kind]) for kind in kinds) + " |")


main()

#!/usr/bin/env python3
"""How often the field audit is right on nights it was not made for: prints the tables of analysis/field/README.md.

    tests/analysis/field/nights/measure.py build/release/dropledger [NIGHTS [FIRST]] [--maker NAME] [--mix NAME] [--rows]

NIGHTS of each mix (40 unless said), seeds from FIRST (1) on, by one of two makers that share no code. `--rows` prints
every row that was named otherwise."""
import argparse
import collections
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "machines")]
import machine  # noqa: E402
import night as nights  # noqa: E402
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[3] / "support"))
from schemas import held  # noqa: E402

MAKERS = {"nights": nights.make_night, "machines": machine.make_night}

SEED_FAULTS = ["empty_container", "blocked_tube", "valve_closed", "bad_cell", "start_loss"]
ALL = SEED_FAULTS + ["bridging", "cable", "plug", "gate_fading", "double_feeding", "dirty_gate", "meter"]
MIXES = {  # what may be wrong with a row, and what is known of its sensor
    "constant, exact": (SEED_FAULTS + ["dirty_gate", "double_feeding"], "exact"),
    "constant, exact, bridging too": (SEED_FAULTS + ["dirty_gate", "bridging"], "exact"),
    "all kinds, none known": (ALL, "none"),
    "all kinds, some known": (ALL, "some"),
    "all kinds, stale": (ALL, "stale"),
    "all kinds, wrong": (ALL, "wrong"),
    "fading, stale": (SEED_FAULTS + ["gate_fading"], "stale"),
    "cables, exact": (SEED_FAULTS + ["cable", "plug"], "exact"),
    "dirty, stale": (SEED_FAULTS + ["dirty_gate"], "stale"),
    "struck, stale": (SEED_FAULTS + ["gate_struck"], "stale"),
}
# The causes that name a fault, itself or in the set that it cannot be told from.
NAMES = {"gate_fading": {"gate_going_blind"}, "gate_struck": {"meter_or_sensor", "gate_going_blind", "cable"}, "plug": {"cable"}, "dirty_gate": {"sensor", "meter_or_sensor"},
         "meter": {"meter", "meter_or_sensor", "speed_dependence"}}


class Score:
    def __init__(self):
        self.rows, self.named, self.first = collections.Counter(), collections.Counter(), collections.Counter()
        self.healthy_blamed = self.alerts = self.missing_stated = self.missing_right = self.open = 0
        self.true_missing = self.sensor_stated = self.sensor_right = 0
        self.reseed_m = self.false_m = self.true_m = 0.0
        self.nights = self.covered = 0
        self.width = 0.0
        self.odd = []


def named_by_row(found):
    named = collections.defaultdict(list)
    for one in found["causes"]:
        named[one["row"]].append([one["kind"], *one.get("could_be", [])])
    return named


def score_rows(night, found, score, seed):
    named = named_by_row(found)
    for row, fault in enumerate(night.rows, 1):
        score.rows[fault.kind] += 1
        kinds = {kind for one in named[row] for kind in one}
        if fault.kind == "healthy":
            score.healthy_blamed += 1 if kinds else 0
            right = not kinds
        else:
            wanted = NAMES.get(fault.kind, {fault.kind})
            right = bool(kinds & wanted)
            score.named[fault.kind] += 1 if right else 0
            score.first[fault.kind] += 1 if named[row] and named[row][0][0] in wanted else 0
        if not right:
            score.odd.append(f"seed {seed} row {row} {fault.kind}: {named[row]}")


def score_alerts(night, found, score, seed):
    for one in found["alerts"]:
        truth = night.alerts[one["pass"], one["row"], one["drop"]]
        p = one["probability_missing"]
        score.alerts += 1
        score.true_missing += truth
        score.open += one["judgement"] == "unknown"
        if p is not None and p >= 0.9:
            score.missing_stated += 1
            score.missing_right += truth
            if not truth:
                score.odd.append(f"seed {seed} alert {one['pass']}/{one['row']}/{one['drop']} stated {p:.3f}, "
                                 f"row is {night.rows[one['row'] - 1].kind}")
        if one["judgement"] == "sensor" and truth:
            score.odd.append(f"seed {seed} alert {one['pass']}/{one['row']}/{one['drop']} called the sensor's, "
                             f"row is {night.rows[one['row'] - 1].kind}, gap {one['gap']}")
        if one["judgement"] == "sensor":
            score.sensor_stated += 1
            score.sensor_right += not truth


def score_reseeding(night, found, score):
    least = found["reseed"]["min_length_m"]
    for gap in found["gaps"]:
        share = night.missing_share(gap["pass"], gap["row"], gap["first_drop"], gap["last_drop"])
        if gap["length_m"] >= least:
            score.true_m += share * gap["length_m"]
        if gap["reseed"]:
            score.reseed_m += gap["length_m"]
            score.false_m += (1.0 - share) * gap["length_m"]


def audit(program, night, folder, *more):
    table = pathlib.Path(folder) / "night.csv"
    night.write(table)
    words = []
    if night.stated:
        words = ["--gate-efficiency", *[f"{row}={share:.5f}" for row, share in sorted(night.stated.items())]]
    done = subprocess.run([program, "field", str(table), "--json", *words, *map(str, more)], capture_output=True, text=True)
    if done.returncode not in (0, 1, 2):
        sys.exit(f"{done.returncode}: {done.stderr}")
    return held(done.stdout)


def score_night(program, maker, seed, mix, folder, score):
    night = MAKERS[maker](f"{mix} {seed}", *MIXES[mix])
    found = audit(program, night, folder)
    score_rows(night, found, score, seed)
    score_alerts(night, found, score, seed)
    score_reseeding(night, found, score)
    low, high, lost = found["plants_lost"]["low"], found["plants_lost"]["high"], night.lost()
    score.nights += 1
    score.covered += low - 1e-9 <= lost <= high + 1e-9
    score.width += (high - low) / max(1, lost)
    if not low <= lost <= high:
        score.odd.append(f"seed {seed}: lost {lost}, stated {low:.0f} to {high:.0f}; "
                         f"{[fault.kind for fault in night.rows]}")


def measure(program, maker, mix, count, first=1):
    score = Score()
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            score_night(program, maker, seed, mix, folder, score)
    return score


def percent(part, whole):
    return f"{100.0 * part / whole:.1f} %" if whole else "-"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("dropledger")
    parser.add_argument("nights", nargs="?", type=int, default=40)
    parser.add_argument("first", nargs="?", type=int, default=1)
    parser.add_argument("--maker", choices=MAKERS, default="nights")
    parser.add_argument("--mix", action="append")
    parser.add_argument("--rows", action="store_true")
    options = parser.parse_args()
    named, first, rows = collections.Counter(), collections.Counter(), collections.Counter()
    print("| mix | alerts | stated missing (>= 0.9) | missing indeed | can't tell | judged sensor, indeed | healthy rows blamed "
          "| false metres of true | interval holds | its width of the loss |\n|" + " --- |" * 10)
    for mix in options.mix or MIXES:
        score = measure(options.dropledger, options.maker, mix, options.nights, options.first)
        print(f"| {mix} | {score.alerts} | {score.missing_stated} | {percent(score.missing_right, score.missing_stated)} | "
              f"{percent(score.open, score.alerts)} | {percent(score.sensor_right, score.sensor_stated)} | "
              f"{score.healthy_blamed} of {score.rows['healthy']} | {percent(score.false_m, score.true_m)} "
              f"({score.reseed_m:.0f} of {score.true_m:.0f} m) | {score.covered} of {score.nights} | "
              f"{score.width / score.nights:.2f} |", flush=True)
        named, first, rows = named + score.named, first + score.first, rows + score.rows
        if options.rows:
            print("\n".join(f"{mix}: {one}" for one in score.odd), file=sys.stderr)
    print("\n| fault | rows | named, or the set that holds it | named first |\n| --- | --- | --- | --- |")
    for kind in sorted(set(rows) - {"healthy"}):
        print(f"| {kind} | {rows[kind]} | {percent(named[kind], rows[kind])} | {percent(first[kind], rows[kind])} |")


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Which causes an audit names on the virtual bench's scenarios: prints the second table of analysis/causes/README.md.

    tests/bench/commands/scenario_causes.py build/release/dropledger [RUNS [DROPS]]

Each run is `dropledger simulate --log` with another seed, audited as it is; single seeds and portions, both gates declared."""
import collections
import json
import pathlib
import subprocess
import sys
import tempfile

SCENARIOS = pathlib.Path(__file__).resolve().parents[3] / "fixtures/scenarios"
NAMES = ["healthy", "portion_healthy", "worn_cell", "double_feeding", "bridging_hopper", "empty_hopper", "startup_loss",
         "drifting_valve", "slow_valve", "dirty_gate", "dirty_sensor"]
KINDS = ["bad_cell", "double_feeding", "bridging", "empty_container", "start_loss", "valve_drift", "valve_lag",
         "gate_going_blind"]


def run(*words):
    done = subprocess.run([*map(str, words)], capture_output=True, text=True)
    if done.returncode not in (0, 1, 2):
        sys.exit(done.stderr)
    return done.stdout


def main():
    program, runs = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 200
    drops = int(sys.argv[3]) if len(sys.argv) > 3 else 1000
    print("| scenario | none | " + " | ".join(KINDS) + " |\n| --- | --- |" + " --- |" * len(KINDS))
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder) / "run.droplog"
        for name in NAMES:
            counts = collections.Counter()
            for seed in range(1, runs + 1):
                log.unlink(missing_ok=True)  # a log is never written over
                run(program, "simulate", "--scenario", SCENARIOS / f"{name}.toml", "--log", log, "--drops", drops, "--seed", seed)
                channel = json.loads(run(program, "audit", log, "--json"))["channels"][0]
                kinds = {cause["kind"] for cause in channel["causes"]}
                counts.update(kinds or {"none"})
            print(f"| {name} | {counts['none']} | " + " | ".join(str(counts[kind]) for kind in KINDS) + " |", flush=True)


main()

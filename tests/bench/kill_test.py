"""Kills the bench driver (SIGKILL) at random instants of a run and lets it go on with --resume, again and again.

At every kill: each line that was acknowledged stands in the log. At the end of every run: no line is lost, none stands
twice, the seals hold, all ordered drops were made, and the log agrees drop by drop and pulse by pulse with what the virtual bench did.

usage: kill_test.py DROPLEDGER SCENARIO [KILLS [SEED]]
"""

import pathlib
import random
import sys
import tempfile
import time

from wire import Bench, Log, settle

DROPS = 300


def go_on(bench, log):
    if not log.exists():
        return bench.driver("--log", log, "--unit", "U-1", "--spacing-mm", 180, "--speed-mps", 0.25, "--drops", DROPS)
    return bench.driver("--resume", log)


def nothing_yet(log):
    """Killed before the controller had said anything: there is no run to go on with."""
    return log.exists() and not Log(log).controller


def one_run(program, scenario, chance, kills_left):
    """Runs to the end of one log; returns how often the driver was killed meanwhile."""
    kills = 0
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder) / "run.droplog"
        bench = Bench(program, scenario, folder, pace=20, seed=chance.randrange(1 << 30))
        try:
            while True:
                driver = go_on(bench, log)
                if kills < kills_left:
                    time.sleep(chance.uniform(0.0, 0.3))
                    driver.kill()
                driver.wait(120)
                if driver.returncode == -9:
                    kills += 1
                    time.sleep(chance.choice([0.0] * 3 + [2.6]))  # now and then until the controller has halted by itself
                    acknowledged = settle(bench.wire)
                    kept = Log(log).controller[-1][1] if log.exists() and Log(log).controller else -1
                    assert kept >= acknowledged, f"SEQ {acknowledged} was acknowledged, the log ends at {kept}"
                if log.exists() and Log(log).close_reason:
                    break
                assert driver.returncode == -9, driver.stderr.read().decode()
                if nothing_yet(log):
                    log.unlink()
        finally:
            bench.close()
        read = Log(log)
        # On a slow machine the driver comes back only after the controller's 2 s of patience: it goes on by another start.
        assert read.close_reason == "count", read.close_reason
        read.check_order()
        read.check_seals()
        drops, pulses = read.check_truth(bench.folder / "drops.csv", bench.folder / "pulses.csv")
        assert drops == DROPS, f"{drops} of {DROPS} drops"
        starts = sum(line[2] == "started" for line in read.controller)
        assert starts <= len(read.host("@confirmed")), "a start that nobody confirmed"
        print(f"{kills} kills, {starts} starts, {len(read.host('@resumed'))} resumed, closed: {read.close_reason}, {drops} drops, "
              f"{pulses} pulses, {len(read.controller)} controller lines, {len(read.host('@damaged'))} damaged")
    return kills


def main():
    program, scenario = sys.argv[1:3]
    wanted = int(sys.argv[3]) if len(sys.argv) > 3 else 100
    seed = int(sys.argv[4]) if len(sys.argv) > 4 else 20261125
    chance = random.Random(seed)
    print(f"seed {seed}")
    began = time.monotonic()
    kills = 0
    while kills < wanted:
        kills += one_run(program, scenario, chance, wanted - kills)
    print(f"{kills} kills in {time.monotonic() - began:.0f} s: no acknowledged line lost, none twice")


main()

#!/usr/bin/env python3
"""Fault campaigns against `dropledger run`: seeded rounds of trouble, each judged by rules of its own (judge.py).

usage: campaign.py WHICH DROPLEDGER PRELOAD [--rounds N] [--seed S] [--first N] [--keep FOLDER]
WHICH is kill, line, disk, controller or power; PRELOAD is the library of tests/support/bad_disk.c.
Exit status: 0 no rule was broken; 1 at least one was, and the round is kept in FOLDER.
"""

import argparse
import collections
import pathlib
import sys
import tempfile
import time

from judge import judge
from rig import Rig, chance_of, keep

MOST_PROCESSES = 12


def finish(rig, chance, kills, disk=lambda: ""):
    """Drivers one after the other, killed or not, until the log is closed."""
    for number in range(MOST_PROCESSES):
        resumes = rig.log.exists()
        if resumes and not rig.has_lines():
            rig.log.unlink()  # killed before the controller had said anything: there is no run to go on with
            resumes = False
        if resumes and chance.random() < 0.3:
            time.sleep(2.6)  # until the controller has halted by itself
        rig.start(disk() if number < MOST_PROCESSES // 2 else "", resumes)
        if number < kills:
            rig.kill_somewhere(chance)
        else:
            rig.end()
        if rig.is_closed() or (number >= kills and rig.drivers[-1].status in (0, 64, 65)):
            return


def kill(rig, chance):
    finish(rig, chance, kills=chance.randrange(1, 5))


def line(rig, chance):
    finish(rig, chance, kills=chance.choice([0, 0, 1]))


def line_plans(chance):
    plans = [f"noise:{chance.choice([0.001, 0.003, 0.01])}", f"swallow:{chance.uniform(0.005, 0.1):.3f}",
             f"repeat:{chance.uniform(0.01, 0.3):.3f}", f"silent@{chance.randrange(1, 40)}:{chance.uniform(0.1, 1.5):.2f}", "crlf",
             f"tick:{2**32 - chance.randrange(1, 4_000_000)}"]
    return chance.sample(plans, chance.choice([1, 2, 3]))


def disk(rig, chance):
    finish(rig, chance, kills=chance.choice([0, 0, 1]), disk=lambda: disk_plan(chance))


def disk_plan(chance):
    one = [f"sync@{chance.randrange(1, 30)}=EIO", f"sync@{chance.randrange(1, 30)}+=EIO", f"write@{chance.randrange(1, 30)}=ENOSPC",
           f"write@{chance.randrange(1, 30)}+=ENOSPC", f"write@{chance.randrange(1, 30)}=short", "write@1+=short",
           f"sync@{chance.randrange(1, 20)}={chance.randrange(100, 3000)}", f"sync@1+={chance.randrange(1, 60)}", ""]
    return ",".join(part for part in chance.sample(one, chance.choice([1, 1, 2])) if part)


def controller(rig, chance):
    finish(rig, chance, kills=chance.choice([0, 0, 0, 1, 2]))


def controller_plans(chance):
    at = chance.randrange(1, 40)
    plans = [f"reset@{at}", f"reset@{at}", f"estop@{at}", f"guard@{at}", f"few@{at}", f"lose@{at}:{chance.randrange(1, 6)}",
             f"conflict@{at}", f"skip@{at}", f"starts@{at}", f"repeat:{chance.uniform(0.01, 0.3):.3f}", f"novel@{at}", "extra",
             f"silent@{at}:{chance.uniform(1.0, 4.0):.2f}", "refuse:state", "spurious:state", "spurious:syntax",
             f"lost:{chance.randrange(1, 9)}", f"backlog:{chance.randrange(1, 300)}"]
    return chance.sample(plans, chance.choice([1, 1, 2]))


def power(rig, chance):
    """The power goes with the kill: what was never synced is gone, half there, or zeros."""
    for number in range(chance.randrange(1, 4)):
        if rig.log.exists() and not rig.has_lines():
            rig.log.unlink()
        rig.start("", rig.log.exists())
        rig.kill_somewhere(chance)
        if rig.log.exists() and not rig.is_closed():
            rig.note(cut_power(rig, chance))
    if not rig.is_closed():
        finish(rig, chance, kills=0)


def cut_power(rig, chance):
    rows = [row.split() for row in rig.trace.read_text().split("\n")[:-1]]
    synced = 0
    for event, first, second in rows:
        synced = max(synced, int(second)) if event == "sync" and first == "0" else synced
        synced = min(synced, int(first)) if event == "cut" else synced
    data = rig.log.read_bytes()
    rest = data[synced:]
    half = chance.randrange(len(rest) + 1)
    left = chance.choice([b"", rest[:half], bytes(half) + rest[half:], bytes(len(rest)), rest])
    rig.log.write_bytes(data[:synced] + left)
    return f"power cut: {len(rest)} unsynced bytes, {len(left)} left"


CAMPAIGNS = {"kill": (kill, lambda chance: []), "line": (line, line_plans), "disk": (disk, lambda chance: []),
             "controller": (controller, controller_plans), "power": (power, lambda chance: [])}


def one_round(which, options, number):
    """The faults of one round, and what came of it in a word."""
    chance = chance_of(options.seed, number)
    play, plans_of = CAMPAIGNS[which]
    plans = plans_of(chance)
    with tempfile.TemporaryDirectory() as folder:
        rig = Rig(options, folder, plans, seed=chance.randrange(1 << 30))
        try:
            play(rig, chance)
        finally:
            rig.close()
        faults = judge(rig)
        ended = f"ended {rig.drivers[-1].status}, {'closed' if rig.is_closed() else 'open'}"
        if faults:
            place = keep(rig, options.keep, f"{which}-{options.seed}-{number}")
            print(f"round {number}: {' '.join(plans)}; {'; '.join(rig.did)}\n  kept in {place}")
            print("".join(f"  BROKEN {fault}\n" for fault in faults), end="", flush=True)
        return faults, ended, len(rig.acks), sum(one.status == -9 for one in rig.drivers)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("which", choices=CAMPAIGNS)
    parser.add_argument("program")
    parser.add_argument("preload", type=pathlib.Path)
    parser.add_argument("--rounds", type=int, default=10)
    parser.add_argument("--first", type=int, default=0, help="number of the first round, to play one again")
    parser.add_argument("--seed", type=int, default=20261126)
    parser.add_argument("--keep", type=pathlib.Path, default=pathlib.Path(tempfile.gettempdir()) / "campaign")
    options = parser.parse_args()
    options.preload = options.preload.resolve(strict=True)
    broken, acks, kills, ends = 0, 0, 0, collections.Counter()
    for number in range(options.first, options.first + options.rounds):
        faults, ended, acked, killed = one_round(options.which, options, number)
        broken, acks, kills = broken + bool(faults), acks + acked, kills + killed
        ends[ended] += 1
    print(f"{options.which}, seed {options.seed}: {options.rounds} rounds, {kills} kills, {acks} acknowledgements, {broken} rounds "
          f"broke a rule; " + ", ".join(f"{count} {ended}" for ended, count in ends.most_common()))
    return 1 if broken or not acks else 0


if __name__ == "__main__":
    sys.exit(main())

"""Kills the bench driver (SIGKILL) where a start is in the balance: as `arm` or `go` is on the wire, as `started`
comes back, after a reset of the controller, and between `halted` and the closed log. Then goes on with --resume,
at once or after the controller has halted by itself, and may be killed again.

At the end of every log: each start is behind a @confirmed of its own, and behind the halt of the one before; all starts
together make no drop beyond the order; nothing was ordered after a reset; every line stands in the log once, and the seals
hold. A log without a word of
an order must not have set anything in motion either.

usage: start_kill_test.py DROPLEDGER SCENARIO [ROUNDS [SEED]]
"""

import pathlib
import random
import subprocess
import sys
import tempfile
import threading
import time

from wire import Bench, Log, unquote

DROPS = 60
PLAN = ["--unit", "U-1", "--spacing-mm", 180, "--speed-mps", 0.25, "--drops", DROPS]
LONGEST_S = 0.08  # from the line to the kill
INSTANTS = {  # which line draws the kill: from the host, its beginning
    "arm": (True, b"arm,"),
    "go": (True, b"go"),
    "started": (False, b"started,"),
    "reset": (False, b"hello,0,"),
    "halted": (False, b"halted,"),
}


class Killer:
    """Kills the driver some time after a line has passed; for a reset, after the second hello with SEQ 0."""

    def __init__(self, wire, instant, delay_s):
        self.from_host, self.beginning = INSTANTS[instant]
        self.left = 2 if instant == "reset" else 1
        self.delay_s = delay_s
        self.driver = None
        self.starts = 0  # `started` lines that the controller made, each counted once
        self.seen = set()
        wire.watch = self.watch

    def watch(self, from_host, body):
        if body.startswith(b"started,") and not from_host and body not in self.seen:
            self.seen.add(body)
            self.starts += 1
        if from_host != self.from_host or not body.startswith(self.beginning) or self.left == 0:
            return
        self.left -= 1
        if self.left == 0:
            threading.Timer(self.delay_s, self.driver.kill).start()


def check(log, starts, drops_csv, instant):
    if not log.exists():
        assert starts == 0, "motors were started and there is no log"
        return "no log"
    read = Log(log)
    read.check_order()
    read.check_seals()
    names = [fields[0] for fields in read.fields]
    assert read.close_reason is not None
    states = [name for name in names if name in ("started", "halted")]
    assert ("started", "started") not in set(zip(states, states[1:])), "a start before the one before had halted"
    assert names.count("started") <= names.count("@confirmed"), "a start that nobody confirmed"
    assert names.count("started") == starts, f"{starts} starts, {names.count('started')} in the log"
    indices = []  # of each start
    for fields in read.fields:
        if fields[0] == "started":
            indices.append([])
        if fields[0] == "drop":
            indices[-1].append(int(fields[4]))
    assert all(some == list(range(len(some))) for some in indices)
    made = sum(map(len, indices))
    assert made <= DROPS, f"{made} of {DROPS} drops"
    boots = [n for n, fields in enumerate(read.fields) if fields[:2] == ["hello", "0"]]
    orders = [n for n, fields in enumerate(read.fields)
              if fields[0] == "@sent" and unquote(fields[1]).split(b"*")[0].split(b",")[0] in (b"arm", b"go")]
    if len(boots) > 1:
        assert read.close_reason == "reset" and not [n for n in orders if n > boots[1]], "ordered after a reset"
    if read.close_reason == "count":
        assert made == DROPS
    runs = {row.split(",")[-1] for row in drops_csv.read_text().split()[1:]}
    assert len(runs) <= starts, f"the bench made {len(runs)} runs"
    return f"closed: {read.close_reason}, {starts} starts, {made} drops, {names.count('@resumed')} resumed"


def one_log(program, scenario, instant, chance):
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder) / "run.droplog"
        options = ["--reset-at-s", "8"] if instant == "reset" else []
        bench = Bench(program, scenario, folder, pace=20, seed=chance.randrange(1 << 30), options=options)
        killer = Killer(bench.wire, instant, chance.uniform(0, LONGEST_S))
        try:
            killer.driver = bench.driver("--log", log, *PLAN)
            killer.driver.wait(60)
            killed_again = False
            while log.exists() and Log(log).close_reason is None:
                time.sleep(chance.choice([0, 0.05, 2.6]))
                if not Log(log).controller:
                    assert killer.starts == 0
                    log.unlink()
                    break
                driver = bench.driver("--resume", log)
                if not killed_again and chance.random() < 0.4:
                    killed_again = True
                    time.sleep(chance.uniform(0, 0.4))
                    driver.kill()
                driver.wait(60)
                assert driver.returncode in (0, 2, -9), driver.stderr.read().decode()
        finally:
            bench.process.terminate()  # its truths come out
            bench.process.wait()
            bench.close()
        told = check(log, killer.starts, bench.folder / "drops.csv", instant)
        print(f"killed {killer.delay_s * 1000:.0f} ms after {instant}: {told}")


def main():
    program, scenario = sys.argv[1:3]
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 4
    seed = int(sys.argv[4]) if len(sys.argv) > 4 else 20261125
    chance = random.Random(seed)
    print(f"seed {seed}")
    for _ in range(rounds):
        for instant in INSTANTS:
            one_log(program, scenario, instant, chance)
    print(f"{rounds * len(INSTANTS)} logs: nothing was set in motion twice or unasked")


main()

#!/usr/bin/env python3
"""The real firmware in an emulated chip, recorded by `dropledger run`, audited, and held against the truth.

usage: recorded_test.py CASE DROPLEDGER EMULATED_BENCH ELF SCENARIO [--pace X]
CASE: healthy, noise, pulled, reset or estop.
"""

import collections
import os
import pathlib
import signal
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "conformance"), str(HERE.parents[2] / "support")]
import second_reader  # noqa: E402
from schemas import held  # noqa: E402
from truth_comparison import Comparison, boots_of, rows  # noqa: E402

DROPS = 40
SPACING_MM = 50
NEAR_US = 8.0  # a stamp to the truth
CASES = {
    "healthy": [],
    "noise": ["--noise", "0.0003"],  # of bytes: about 1 % of lines, both ways
    "pulled": ["--pull-at", "5", "--pull-ms", "1000"],
    "reset": ["--reset-at", "5"],
    "estop": ["--estop-at", "5"],
}


def must(holds, what):
    if not holds:
        raise SystemExit(f"FAILED: {what}")


class Recorded:
    """One case: the bench, the driver, and what both left behind."""

    def __init__(self, case, program, bench, elf, scenario, folder, pace):
        self.folder = pathlib.Path(folder)
        self.program, self.log = program, self.folder / "a.droplog"
        self.bench = subprocess.Popen(
            [bench, elf, "atmega2560", scenario, "--link", self.folder / "port", "--pace", pace, "--truth", self.folder / "drops.csv",
             "--pulses", self.folder / "pulses.csv", *CASES[case]], stdout=subprocess.PIPE, text=True)
        self.settings = []
        for line in self.bench.stdout:
            if line.startswith("port "):
                break
            self.settings.append(line.strip().split(",", 3)[1:])

    def run(self):
        channel_sets = [word for channel, key, value in self.settings if int(channel) >= 0
                        for word in ("--channel-set", f"{channel}:{key}={value}")]
        return self.driver("--spacing-mm", SPACING_MM, "--speed-mps", 0.25, "--drops", DROPS, "--channels", "0,1,2,3,4,5,6,7",
                           "--log", self.log, *channel_sets)

    def driver(self, *options):
        done = subprocess.run([self.program, "run", "--port", self.folder / "port", "--yes", *map(str, options)], stdin=subprocess.DEVNULL,
                              capture_output=True, text=True, timeout=200)
        self.told = done.stdout + done.stderr
        return done.returncode

    def end(self):
        self.bench.send_signal(signal.SIGINT)
        print(self.bench.communicate()[0].strip())
        return [Comparison(lines, rows(self.folder / "drops.csv"), rows(self.folder / "pulses.csv"), number)
                for number, lines in enumerate(boots_of(self.log))]

    def audit(self):
        done = subprocess.run([self.program, "audit", self.log, "--json"], capture_output=True, text=True, timeout=60)
        must(done.returncode in (0, 1, 2), f"audit ended with {done.returncode}: {done.stderr}")
        return held(done.stdout)

    def reader(self):
        return second_reader.read(self.log.read_bytes())


def must_be_near(comparison):
    must(not comparison.unmatched, comparison.unmatched[:3])
    must(max(map(abs, comparison.edge_us)) <= NEAR_US, comparison.text())
    must(max(map(abs, comparison.width_us)) <= NEAR_US, comparison.text())
    must(max(map(abs, comparison.opening_us)) <= NEAR_US, comparison.text())


def as_the_gate_saw(comparison, channel):
    """How many drops had no, one, more pulses at gate 1, by the truth."""
    seen = collections.Counter(row["index"] for row in comparison.pulses if row["channel"] == channel and row["gate"] == "1")
    openings = [row["index"] for row in comparison.drops if row["channel"] == channel]
    counts = collections.Counter(min(seen[index], 2) for index in openings)
    return {"drops": len(openings), "miss": counts[0], "single": counts[1], "multiple": counts[2], "pulses": sum(seen.values())}


def must_agree(audit, comparison):
    for report in audit["channels"]:
        true = as_the_gate_saw(comparison, str(report["channel"]))
        found = {name: report["ledger"][name] for name in true}
        must(found == true, f"channel {report['channel']}: the ledger has {found}, the truth is {true}")


def whole(recorded, resumes=False):
    status = recorded.run()
    if resumes and status != 0:
        status = recorded.driver("--resume", recorded.log)
    must(status == 0, f"run ended with {status}: {recorded.told}")
    comparison, = recorded.end()
    print(comparison.text())
    must(len(comparison.drops) == 8 * DROPS, f"{len(comparison.drops)} openings")
    must_be_near(comparison)
    found = recorded.reader()
    must(found["complete"] and found["sound"], found["faults"])
    must_agree(recorded.audit(), comparison)
    return found


def noise(recorded):
    found = whole(recorded)
    must(found["lines"]["damaged"] > 0, "no line was damaged: the case shows nothing")


def reset(recorded):
    status = recorded.run()
    must(status != 0, "a run that was reset passed")
    comparisons = recorded.end()
    must(len(comparisons) == 2, f"{len(comparisons)} boots in the log")
    must(comparisons[1].lines[0].seq == 0, "the second boot does not begin with 0")
    must(not comparisons[1].drops, "a valve opened after the reset")
    must(not (recorded.reader()["complete"] and recorded.reader()["close_reason"] == "count"), "the log passes for a whole run")
    before = comparisons[0]
    must(max(map(abs, before.edge_us)) <= NEAR_US, before.text())
    print(f"reset: {len(before.opening_us)} of {len(before.drops)} openings before it are in the log")


def estop(recorded):
    status = recorded.run()
    must(status != 0, "a run that was stopped passed")
    comparison, = recorded.end()
    print(comparison.text())
    must_be_near(comparison)
    must(recorded.reader()["close_reason"] == "estop", recorded.reader()["close_reason"])


PLAYS = {"healthy": whole, "noise": noise, "pulled": lambda recorded: whole(recorded, resumes=True), "reset": reset, "estop": estop}


def main():
    case, program, bench, elf, scenario, *rest = sys.argv[1:]
    pace = rest[1] if rest else "1.5"
    with tempfile.TemporaryDirectory() as folder:
        recorded = Recorded(case, program, bench, elf, scenario, folder, pace)
        try:
            PLAYS[case](recorded)
        finally:
            if recorded.bench.poll() is None:
                recorded.bench.kill()
                recorded.bench.wait()


if __name__ == "__main__":
    os.environ.setdefault("LC_ALL", "C")
    main()

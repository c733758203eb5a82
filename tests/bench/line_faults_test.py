"""Records runs over a wire that flips or drops up to 1 % of all bytes, both ways, and over one with resets, stalls and
pulled cables.

Every damaged line that reached the driver stands in the log as @damaged, in order; every lost line was asked for
again; the log is complete, without a gap, and agrees drop by drop and pulse by pulse with what the bench did.

usage: line_faults_test.py DROPLEDGER SCENARIO [DROPS [SEED]]
"""

import pathlib
import subprocess
import sys
import tempfile

from wire import Bench, Log, body_of, unquote


def damaged_in(stream):
    """What a reader of this stream must call damaged, and how many of those come before the n-th good byte."""
    *lines, _ = bytes(stream).split(b"\n")
    return lines, [line for line in lines if body_of(line) is None]


def check_damaged(read, stream):
    """The @damaged lines are the damaged ones of the stream, in order, up to where the driver stopped reading."""
    lines, damaged = damaged_in(stream)
    logged = [unquote(fields[1]) for fields in read.host("@damaged")]
    for got, sent in zip(logged, damaged):
        assert sent.startswith(got) and (got == sent or len(got) >= 60), f"{got!r} in the log, {sent!r} came"
    last = next(line for line in reversed(read.lines) if not line.startswith(b"@"))
    until = lines.index(last)
    due = sum(body_of(line) is None for line in lines[:until])
    assert due <= len(logged) <= len(damaged), f"{len(logged)} in the log, {due} to {len(damaged)} came"
    return len(logged)


def noisy_run(program, scenario, rate, drops, seed):
    with tempfile.TemporaryDirectory() as folder:
        log = pathlib.Path(folder) / "run.droplog"
        bench = Bench(program, scenario, folder, pace=20, seed=seed, rate=rate)
        driver = bench.driver("--log", log, "--spacing-mm", 180, "--speed-mps", 0.25, "--drops", drops)
        _, told = driver.communicate(timeout=240)
        bench.close()
        assert driver.returncode == 0, told.decode()
        read = Log(log)
        assert read.close_reason == "count", read.close_reason
        read.check_order()
        read.check_seals()
        happened = read.check_truth(bench.folder / "drops.csv", bench.folder / "pulses.csv")
        damaged = check_damaged(read, bench.wire.to_host)
        asked = sum(fields[1].startswith("resend") for fields in read.host("@sent"))
        assert damaged == 0 or asked > 0
        print(f"{rate:.1%} of bytes: {bench.wire.spoilt} spoilt, {damaged} damaged lines, {asked} times asked again, "
              f"{len(read.controller)} controller lines, {happened[0]} drops, {happened[1]} pulses, complete")


def faulty_run(program, scenario, faults, expected, drops):
    """Faults that the virtual bench makes by itself; the driver is on its port directly."""
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        bench = subprocess.Popen(
            [program, "simulate", "--scenario", scenario, "--pace", "20", "--once", "--link", folder / "port",
             "--truth", folder / "drops.csv", "--truth-pulses", folder / "pulses.csv", *faults],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        bench.stdout.readline()
        driver = subprocess.run(
            [program, "run", "--port", folder / "port", "--yes", "--log", folder / "run.droplog", "--spacing-mm", "180",
             "--speed-mps", "0.25", "--drops", str(drops)], capture_output=True, timeout=240)
        bench.wait(60)
        read = Log(folder / "run.droplog")
        assert read.close_reason == expected, (read.close_reason, driver.stderr.decode())
        assert driver.returncode == (0 if expected == "count" else 2), driver.returncode
        read.check_order()
        read.check_seals()
        if expected == "count":
            read.check_truth(folder / "drops.csv", folder / "pulses.csv")
        print(f"{' '.join(faults)}: closed: {expected}, {len(read.host('@resumed'))} resumed, "
              f"{len(read.controller)} controller lines")


def main():
    program, scenario = sys.argv[1:3]
    drops = int(sys.argv[3]) if len(sys.argv) > 3 else 150
    seed = int(sys.argv[4]) if len(sys.argv) > 4 else 20261125
    print(f"seed {seed}")
    for step, rate in enumerate((0.0, 0.001, 0.003, 0.01)):
        noisy_run(program, scenario, rate, drops, seed + step)
    faulty_run(program, scenario, ["--pull-at-s", "20", "--pull-ms", "900"], "count", drops)
    faulty_run(program, scenario, ["--stall-at-s", "20", "--stall-ms", "1200"], "count", drops)
    faulty_run(program, scenario, ["--reset-at-s", "20"], "reset", drops)
    faulty_run(program, scenario, ["--estop-at-s", "20"], "estop", drops)
    faulty_run(program, scenario, ["--guard-at-s", "20"], "guard", drops)


main()

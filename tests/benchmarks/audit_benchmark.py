#!/usr/bin/env python3
"""Times whole audits of generated logs against `wc -l` and pandas on the same cached file.

    tests/benchmarks/audit_benchmark.py build/release/dropledger [--drops 10000000] [--without-pandas]

Prints one row per size: seconds (median of the runs), the ratio to `wc -l`, peak memory, drops per second. Makes its
logs in a temporary folder and removes them. Nothing here fails on a time: read it, write it down."""
import argparse
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
SCENARIO = HERE.parent.parent / "fixtures/scenarios/fast.toml"


def timed(command, runs):
    """Median seconds and greatest peak memory (MiB) of the command."""
    seconds, peak = [], 0
    for _ in range(runs):
        begin = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(process.pid, 0)
        seconds.append(time.perf_counter() - begin)
        if os.waitstatus_to_exitcode(status) not in (0, 1, 2):
            sys.exit(f"{command} failed")
        peak = max(peak, usage.ru_maxrss / 1024)
    return statistics.median(seconds), peak


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("dropledger")
    parser.add_argument("--drops", type=int, default=10_000_000)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--without-pandas", action="store_true")
    options = parser.parse_args()
    print(f"{'drops':>10} {'GB':>6} {'wc -l s':>8} {'audit s':>8} {'ratio':>6} {'peak MiB':>9} {'drops/s':>10} "
          f"{'pandas s':>9} {'ratio':>6}", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        for drops in (options.drops // 100, options.drops // 10, options.drops):
            log = pathlib.Path(folder) / f"{drops}.droplog"
            subprocess.run([options.dropledger, "simulate", "--scenario", SCENARIO, "--log", log, "--drops", str(drops)],
                           check=True, stderr=subprocess.DEVNULL)
            subprocess.run(["cat", log], stdout=subprocess.DEVNULL, check=True)  # into the cache
            lines_s, _ = timed(["wc", "-l", log], options.runs)
            audit_s, peak = timed([options.dropledger, "audit", log], options.runs)
            row = (f"{drops:>10} {log.stat().st_size / 1e9:6.3f} {lines_s:8.3f} {audit_s:8.3f} "
                   f"{audit_s / lines_s:6.1f} {peak:9.1f} {drops / audit_s:10.0f}")
            if not options.without_pandas:
                pandas_s, _ = timed(["/usr/bin/python3", HERE / "indices_with_pandas.py", log], 1)
                row += f" {pandas_s:9.2f} {pandas_s / audit_s:6.1f}"
            print(row, flush=True)
            log.unlink()


main()

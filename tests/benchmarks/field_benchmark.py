#!/usr/bin/env python3
"""Times the field audit of a season's table against pandas reading the same file and counting gaps.

    tests/benchmarks/field_benchmark.py build/release/dropledger [--nights 7]

The table is simulated nights of 288,000 drops one behind the other, seven of them 2 million drops. Prints seconds (median of
the runs), the least processor time of a run (what a busy machine changes least) and peak memory. Nothing here fails on a time: read it, write it down."""
import argparse
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
PASSES = 48  # of a night


def timed(command, runs):
    seconds, busy, peak = [], [], 0
    for _ in range(runs):
        begin = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(process.pid, 0)
        seconds.append(time.perf_counter() - begin)
        if os.waitstatus_to_exitcode(status) not in (0, 1, 2):
            sys.exit(f"{command} failed")
        busy.append(usage.ru_utime + usage.ru_stime)
        peak = max(peak, usage.ru_maxrss / 1024)
    return statistics.median(seconds), min(busy), peak


def season(program, path, nights):
    with open(path, "w") as table:
        for night in range(nights):
            one = path.with_suffix(".one")
            subprocess.run([program, "simulate", "--field", one, "--seed", str(night + 1)], check=True, stderr=subprocess.DEVNULL)
            with open(one) as lines:
                header = next(lines)
                table.write(header if night == 0 else "")
                for line in lines:
                    seconds, number, rest = line.split(",", 2)
                    table.write(f"{float(seconds) + 86400 * night:.1f},{int(number) + PASSES * night},{rest}")
            one.unlink()


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("dropledger")
    parser.add_argument("--nights", type=int, default=7)
    parser.add_argument("--runs", type=int, default=3)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        table = pathlib.Path(folder) / "season.csv"
        season(options.dropledger, table, options.nights)
        subprocess.run(["cat", table], stdout=subprocess.DEVNULL, check=True)  # into the cache
        with open(table, "rb") as lines:
            drops = sum(piece.count(b"\n") for piece in iter(lambda: lines.read(1 << 20), b"")) - 1
        print(f"{drops} drops, {table.stat().st_size / 1e6:.0f} MB")
        commands = {"dropledger field": [options.dropledger, "field", table],
                    "with --html, --geojson, --csv": [options.dropledger, "field", table, "--html", table.with_suffix(".html"),
                                                      "--geojson", table.with_suffix(".geojson"), "--csv",
                                                      table.with_suffix(".walk.csv")],
                    "pandas, gaps only": ["/usr/bin/python3", HERE / "field_with_pandas.py", table]}
        for name, command in commands.items():
            seconds, busy, peak = timed(command, options.runs)
            print(f"{name:34} {seconds:7.2f} s {busy:7.2f} s of CPU {peak:6.0f} MiB {drops / seconds:10.0f} drops/s", flush=True)


main()

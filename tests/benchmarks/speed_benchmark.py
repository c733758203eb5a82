#!/usr/bin/env python3
"""Times whole commands side by side with other programs on the same cached logs, for the table in README.md.

    tests/benchmarks/speed_benchmark.py build/release/dropledger [--drops 10000000] [--runs 5] [--folder DIR] [--without-duckdb]

Makes three logs of as many drops (one channel; eight; eight with both gates) from fixtures/scenarios/fast.toml. On each, in
turn and so many times: `wc -l`, SHA-256, mawk counting pulse lines, `audit`, `check`; then DuckDB, spacing indices only.
Installs what is missing: mawk by apt-get, DuckDB by npm into a temporary folder. Then a log of 500 drops, from start to
exit, and `simulate`. Prints medians and the least processor time. Nothing here fails on a time: read it, write it down."""
import argparse
import os
import pathlib
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
SCENARIO = HERE.parent.parent / "fixtures/scenarios/fast.toml"
OWN_SENSOR = """
[unit.gate0]
place = "above"
height_mm = 60
beam_mm = 3.0
detection = 0.995
dead_us = 100
"""
KINDS = {"1 channel": (1, ""), "8 channels": (8, ""), "8 channels, both gates": (8, OWN_SENSOR)}


def timed(command):
    """Seconds, seconds of processor time, peak memory (MiB) of one run."""
    begin = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - begin
    if os.waitstatus_to_exitcode(status) not in (0, 1, 2):
        sys.exit(f"{command} ended with {os.waitstatus_to_exitcode(status)}")
    return seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


class Times:
    def __init__(self):
        self.runs = []

    def add(self, run):
        self.runs.append(run)

    wall = property(lambda self: statistics.median(run[0] for run in self.runs))
    busy = property(lambda self: min(run[1] for run in self.runs))
    peak = property(lambda self: max(run[2] for run in self.runs))


def side_by_side(commands, runs):
    """Each command once in turn, so that all meet the same machine; one turn beforehand does not count."""
    times = {name: Times() for name in commands}
    for turn in range(runs + 1):
        for name, command in commands.items():
            run = timed(command)
            if turn > 0:
                times[name].add(run)
    return times


def scenario(folder, channels, more):
    text = SCENARIO.read_text(encoding="utf-8")
    head = text[:text.index("[unit.gate1]")] + more + "\n" + text[text.index("[unit.gate1]"):text.index("[[channel]]")]
    path = folder / f"{channels}-{len(more)}.toml"
    path.write_text(head + "".join(f'[[channel]]\nunit = "U-{n:04}"\nrow = {n}\n\n' for n in range(1, channels + 1)),
                    encoding="utf-8")
    return path


def simulated(program, scenario_file, log, drops):
    run = timed([program, "simulate", "--scenario", scenario_file, "--log", log, "--drops", str(drops)])
    with open(log, "rb") as file:  # into the cache
        while file.read(1 << 24):
            pass
    return run


def mawk():
    if not shutil.which("mawk"):
        subprocess.run(["apt-get", "install", "-y", "mawk"], stdout=subprocess.DEVNULL, check=False)
    return shutil.which("mawk")


def duckdb(folder):
    """A folder in which node finds DuckDB, or why there is none."""
    place = folder / "duckdb"
    place.mkdir()
    try:
        subprocess.run(["npm", "install", "--no-audit", "--no-fund", "--prefix", place, "@duckdb/node-api"], check=True,
                       capture_output=True, timeout=300)
    except (OSError, subprocess.SubprocessError) as why:
        print(f"DuckDB cannot be had here ({why}): its column is left out\n")
        return None
    shutil.copy(HERE / "indices_with_duckdb.mjs", place)
    return place / "indices_with_duckdb.mjs"


def print_row(name, size, times, duckdb_s):
    wc, audit, check = times["wc -l"].wall, times["audit"], times["check"]
    others = [f"{times[one].wall:.3f}" if one in times else "-" for one in ("SHA-256", "mawk")]
    print(f"| {name}, {size / 1e6:.0f} MB | {wc:.3f} | {' | '.join(others)} | {audit.wall:.3f} ({audit.busy:.2f}) | "
          f"{audit.wall / wc:.1f} | {audit.peak:.0f} | {check.wall:.3f} ({check.busy:.2f}) | {check.wall / wc:.1f} | "
          f"{f'{duckdb_s:.2f}' if duckdb_s else '-'} | {f'{duckdb_s / audit.wall:.1f}' if duckdb_s else '-'} |", flush=True)


def big_logs(options, folder, query):
    print("| log | `wc -l`, s | SHA-256, s | mawk, s | audit, s (of CPU) | / wc | peak MiB | check, s (of CPU) | / wc | DuckDB, s | "
          "/ audit |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |", flush=True)
    made = {}
    for name, (channels, more) in KINDS.items():
        log = folder / "big.droplog"
        made[name] = simulated(options.dropledger, scenario(folder, channels, more), log, options.drops // channels)
        commands = {"wc -l": ["wc", "-l", log], "SHA-256": ["openssl", "dgst", "-sha256", log],
                    "audit": [options.dropledger, "audit", log], "check": [options.dropledger, "check", log]}
        if mawk():
            commands["mawk"] = ["mawk", "/^pulse,/ { n++ } END { print n }", log]
        times = side_by_side(commands, options.runs)
        duckdb_s = statistics.median(timed(["node", query, log])[0] for _ in range(min(options.runs, 3))) if query else None
        print_row(name, log.stat().st_size, times, duckdb_s)
        log.unlink()
    print()
    for name, (seconds, busy, _) in made.items():
        print(f"simulate --log, {name}: {options.drops / seconds / 1e6:.2f} million drops/s ({options.drops / busy / 1e6:.2f} "
              "by processor time)")


def small_log(options, folder):
    log = folder / "small.droplog"
    simulated(options.dropledger, HERE.parent.parent / "fixtures/scenarios/healthy.toml", log, 500)
    commands = {"audit --json": [options.dropledger, "audit", "--json", log], "check --json": [options.dropledger, "check", "--json", log],
                "--version": [options.dropledger, "--version"]}
    for name, times in side_by_side(commands, 41).items():
        print(f"500 drops, {name}: {1000 * times.wall:.1f} ms from start to exit (median of 41; {1000 * times.busy:.1f} ms of CPU at least)")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("dropledger")
    parser.add_argument("--drops", type=int, default=10_000_000, help="in each log, all channels together")
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--folder", help="where the logs are made (1.4 GB each); else a temporary folder")
    parser.add_argument("--without-duckdb", action="store_true")
    options = parser.parse_args()
    print(f"{os.cpu_count()} processors, load before {os.getloadavg()[0]:.2f}, {options.drops} drops, medians of {options.runs}\n")
    with tempfile.TemporaryDirectory(dir=options.folder) as temporary:
        folder = pathlib.Path(temporary)
        big_logs(options, folder, None if options.without_duckdb else duckdb(folder))
        small_log(options, folder)
    print(f"load behind {os.getloadavg()[0]:.2f}")


main()

#!/usr/bin/python3
"""The coverage and false-alarm tables of the rooms' READMEs against the commands that they state: each command runs again, with
other runs and fewer of them, and every per cent must agree within what so many runs leave to chance. Not a part of ctest: it
takes minutes.

usage: readme_tables.py BUILD_FOLDER [SHARE_OF_THE_STATED_RUNS]     exit 0 all agree, 1 some differ
"""
import math
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
# README, program under BUILD_FOLDER/tests, columns that name a row. The README states `program RUNS SEED …`.
TABLES = (
    ("analysis/measures/README.md", "analysis/measures/share_coverage_table", 2),
    ("analysis/measures/README.md", "analysis/measures/coverage_table", 2),
    ("analysis/measures/README.md", "analysis/measures/wandering_table", 2),
    ("analysis/verdict/README.md", "analysis/verdict/stop_coverage_table", 2),
    ("analysis/audit/README.md", "analysis/audit/siblings_table", 1),
    ("analysis/audit/README.md", "analysis/audit/stopped_index_table", 1),
)
NO_PER_CENT = {"drops", "mean drops"}
SIGMAS = 4.5          # thousands of cells: one in a hundred thousand is chance
ROUNDING = 0.1
OF_SEVERAL = 4.0      # further points where a cell is the least of many: its noise is that of the worst
OTHER_SEED = 4321


def rows_of(text):
    """(header, cells) of every row of every table."""
    header = None
    for line in text.splitlines():
        if not line.startswith("|"):
            header = None
            continue
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if header is None:
            header = tuple(cells)
        elif not all(re.fullmatch(r":?-+:?", cell) for cell in cells):
            yield header, cells


def table(text, keys):
    """{(header, names of the row): cells}"""
    return {(header, tuple(cells[:keys])): cells[keys:] for header, cells in rows_of(text)}


def per_cent(cell):
    number = re.match(r"(\d+(?:\.\d+)?)\b", cell)
    return float(number.group(1)) if number else None


def noise(p, runs, other_runs):
    p = min(max(p / 100, 0.01), 0.99)
    return 100 * SIGMAS * math.sqrt(p * (1 - p) * (1 / runs + 1 / other_runs)) + ROUNDING


def defined(cell, runs):
    """In brackets stands the per cent of runs that had an interval."""
    share = re.search(r"\((\d+)\)", cell)
    return max(1, runs * int(share.group(1)) // 100) if share else runs


def differences(header, name, stated, seen, runs, other_runs):
    columns = header[len(name):]
    for column, a, b in zip(columns, stated, seen):
        first, second = per_cent(a), per_cent(b)
        if column in NO_PER_CENT or first is None or second is None:
            continue
        allowed = noise((first + second) / 2, defined(a, runs), defined(b, other_runs))
        if ";" in a:
            allowed += OF_SEVERAL
        if abs(first - second) > allowed:
            yield f"{' '.join(name)}, {column}: stated {a}, now {b} (allowed {allowed:.1f})"


def checked(build, readme, program, keys, share):
    text = (ROOT / readme).read_text()
    stated = re.search(rf"tests/{program} (\d+)([^\n`]*)", text)
    if not stated:
        return [f"{readme} states no command for {program}"], 0
    runs, more = int(stated.group(1)), stated.group(2).split()
    other_runs = max(20, round(runs * share))
    more[:1] = [str(OTHER_SEED)] if more else []
    done = subprocess.run([Path(build) / "tests" / program, str(other_runs), *more], capture_output=True, text=True, check=True)
    kept, made = table(text, keys), table(done.stdout, keys)
    both = sorted(kept.keys() & made.keys())
    problems = [f"{readme}, {program}: {one}" for header, name in both
                for one in differences(header, name, kept[header, name], made[header, name], runs, other_runs)]
    missing = {header for header, _ in made} - {header for header, _ in kept}
    problems += [f"{readme}: no table headed {' | '.join(header)}" for header in missing if header[0] != "scenario"]
    if not both:
        problems.append(f"{readme}: nothing of what {program} prints stands there")
    return problems, len(both)


def main(build, share="0.2"):
    problems, rows = [], 0
    for readme, program, keys in TABLES:
        found, count = checked(build, readme, program, keys, float(share))
        problems += found
        rows += count
        print(f"{program}: {count} rows compared, {len(found)} differ", flush=True)
    for problem in problems:
        print(problem)
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))

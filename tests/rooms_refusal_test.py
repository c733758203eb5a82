#!/usr/bin/env python3
"""Puts a forbidden include into a copy of the tree, one at a time, and sees rooms_test.py refuse each.

Usage: rooms_refusal_test.py TOP
"""
import pathlib
import shutil
import subprocess
import sys
import tempfile

TOP = pathlib.Path(sys.argv[1])
FOLDERS = ["analysis", "calibration", "fixtures", "bench", "tests"]


def include(path, name):
    """One more include in a file."""
    return {path: lambda text: f"#include {name}\n{text}"}


def link(room, target):
    """One more link of a room."""
    return {f"{room}/CMakeLists.txt": lambda text: text.replace("LINKS", f"LINKS {target}", 1)}


ONE_LEVEL = {"calibration/loose.hpp": lambda _: "#pragma once\n"} | include("bench/io/file_source.cpp",
                                                                         '"calibration/loose.hpp"')

FORBIDDEN = {
    "upward, and in a room of one level": (
        include("analysis/base/text.cpp", '"calibration/record/record.hpp"'),
        "analysis_base does not link calibration_record"),
    "upward by an embedded text": (
        include("analysis/base/text.cpp", '"calibration_crops.hpp"'),
        "analysis_base does not link calibration_crops"),
    "sideways": (
        include("analysis/causes/speed_dependence.cpp", '"analysis/verdict/profile.hpp"'),
        "analysis_causes does not link analysis_verdict"),
    "linked only by what it links": (
        include("analysis/causes/speed_dependence.cpp", '"analysis/droplog/line.hpp"'),
        "analysis_causes does not link analysis_droplog"),
    "a folder of one level": (
        ONE_LEVEL,
        "calibration is no room that bench_io could link"),
    "in an executable": (
        include("bench/commands/main.cpp", '"analysis/audit/audit.hpp"'),
        "dropledger does not link analysis_audit"),
    "in a test": (
        include("tests/analysis/causes/speed_dependence_test.cpp", '"analysis/audit/audit.hpp"'),
        "causes_test does not link analysis_audit"),
    "in what tests share": (
        include("tests/support/fake_bench.hpp", '"bench/virtual/unit/scenario.hpp"'),
        "fake_bench does not link bench_virtual_unit"),
    "of a test in the product": (
        include("bench/io/file_source.cpp", '"tests/support/fake_bench.hpp"'),
        "tests/support is no room that bench_io could link"),
    "in a header": (
        include("analysis/base/text.hpp", '"analysis/droplog/line.hpp"'),
        "analysis_base does not link analysis_droplog"),
    "in angle brackets": (
        include("analysis/base/text.cpp", "<calibration/record/record.hpp>"),
        "from the top of the tree"),
    "by a way round": (
        include("analysis/base/text.cpp", '"../droplog/line.hpp"'),
        "from the top of the tree"),
    "by a macro": (
        include("analysis/base/text.cpp", "ANYTHING"),
        "no plain file name"),
    "of what works out, in a report": (
        include("analysis/report/text/audit_text.cpp", '"analysis/audit/judge.hpp"'),
        "a report includes models only"),
    "a report linked below the bench": (link("calibration/gauge", "analysis_report_words"), "only reports and the bench do that"),
    "a library that others keep behind them": (
        include("analysis/audit/judge.cpp", "<boost/math/distributions.hpp>"),
        "is seen by analysis/statistics only"),
    "a link that nothing needs": (link("analysis/causes", "analysis_droplog"), "includes nothing of it"),
    "a link that points up": (link("analysis/base", "bench_io"), "reaches up to bench_io"),
    "a circle of links": (link("analysis/base", "analysis_base_readers"),
                          "a circle of links: analysis_base → analysis_base_readers → analysis_base"),
}


def answer(top):
    done = subprocess.run([sys.executable, TOP / "tests/rooms_test.py", top], capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


def refused(changes, words, top):
    before = {path: (top / path).read_text() if (top / path).exists() else None for path in changes}
    for path, change in changes.items():
        (top / path).write_text(change(before[path]))
    status, said = answer(top)
    for path, text in before.items():
        (top / path).unlink() if text is None else (top / path).write_text(text)
    return status == 1 and words in said, said


def copy_of_the_tree(top):
    only_code = shutil.ignore_patterns("*.droplog", "corpus", "published", "__pycache__")
    for name in FOLDERS:
        shutil.copytree(TOP / name, top / name, ignore=only_code)


def main():
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        top = pathlib.Path(folder) / "tree"
        copy_of_the_tree(top)
        status, said = answer(top)
        if status != 0:
            print(f"the copy itself is refused:\n{said}")
            return 1
        for title, (changes, words) in FORBIDDEN.items():
            was_refused, said = refused(changes, words, top)
            wrong += not was_refused
            print(f"{'refused' if was_refused else 'LET BY'}: {title}" + ("" if was_refused else f"\n{said}"))
    print(f"{len(FORBIDDEN)} forbidden things, {wrong} let by")
    return 1 if wrong else 0


sys.exit(main())

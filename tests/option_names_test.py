#!/usr/bin/env python3
"""No command-line option is named below bench/commands: an error carries a field there, and the command translates.

usage: option_names_test.py ROOT
"""
import pathlib
import re
import sys
import tempfile
import unittest

ROOT = pathlib.Path(sys.argv.pop(1))
ROOMS = ["analysis", "calibration"] + [f"bench/{room}" for room in
                                       ("io", "link", "recorder", "virtual", "book", "evidence")]
OPTION = re.compile(r"(?<![\w-])--[a-z]")
STRING_OR_COMMENT = re.compile(r'"(?:[^"\\\n]|\\.)*"|//.*')
# Whole commands that a person types, whatever runs (or shows a page): no options of the one that runs.
WHOLE_COMMANDS = ("dropledger batch verify ", "dropledger run --list-ports")
STYLE = re.compile(r"var\(--|style=")


def options_named_in(path):
    found = []
    for number, line in enumerate(path.read_text().splitlines(), 1):
        for text in STRING_OR_COMMENT.findall(line):
            if text.startswith("//"):
                continue
            if OPTION.search(text) and not any(whole in text for whole in WHOLE_COMMANDS) and not STYLE.search(text):
                found.append(f"{path}:{number}: {text}")
    return found


class OptionNames(unittest.TestCase):
    def test_none_below_the_commands(self):
        found = []
        for room in ROOMS:
            for path in sorted((ROOT / room).rglob("*.[ch]pp")):
                if path.name != "style.cpp":
                    found += options_named_in(path)
        self.assertEqual(found, [])

    def test_one_put_in_is_seen(self):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "a.cpp"
            path.write_text('Error e{"give --spacing-mm"};\n--count;  // "--count"\n')
            self.assertEqual(len(options_named_in(path)), 1)


if __name__ == "__main__":
    unittest.main()

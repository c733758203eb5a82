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
                                       ("io", "link", "recorder", "virtual", "capture", "book", "evidence")]
OPTION = re.compile(r"(?<![\w-])--[a-z]")
STRING_OR_COMMENT = re.compile(r'"(?:[^"\\\n]|\\.)*"|//.*')
# A whole command to type is no option of the one that runs: `dropledger …` in a message, and what a stranger types to check
# a printed certificate.
WHOLE_COMMAND = re.compile(r"`dropledger [^`]*`|dropledger batch verify .*")
STYLE = re.compile(r"var\(--|style=")


def options_named_in(path):
    found = []
    for number, line in enumerate(path.read_text().splitlines(), 1):
        for text in STRING_OR_COMMENT.findall(line):
            if text.startswith("//"):
                continue
            if OPTION.search(WHOLE_COMMAND.sub("", text)) and not STYLE.search(text):
                found.append(f"{path}:{number}: {text}")
    return found


class OptionNames(unittest.TestCase):
    def test_none_below_the_commands(self):
        found = []
        for room in ROOMS:
            for path in sorted((ROOT / room).rglob("*.[ch]pp")):
                found += options_named_in(path)
        self.assertEqual(found, [])

    def test_one_put_in_is_seen(self):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "a.cpp"
            path.write_text('Error e{"give --spacing-mm"};\n--count;  // "--count"\n'
                            'Error e{"see `dropledger run --list-ports`"};\n'
                            'Error e{"see `dropledger run --list-ports`, or give --port"};\n')
            self.assertEqual(len(options_named_in(path)), 2)


if __name__ == "__main__":
    unittest.main()

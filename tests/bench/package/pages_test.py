#!/usr/bin/env python3
"""Manual pages and completion tell what each --help tells. usage: pages_test.py PROGRAM MADE"""
import gzip
import pathlib
import re
import shutil
import subprocess
import sys
import unittest

PROGRAM, MADE = sys.argv[1], pathlib.Path(sys.argv[2])
COMPLETE = """source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _dropledger; printf '%s\\n' "${COMPREPLY[@]}" """


def run(*words, **more):
    done = subprocess.run(list(map(str, words)), capture_output=True, text=True, timeout=60, **more)
    assert done.returncode == 0, (words, done.returncode, done.stderr)
    return done


class Help:
    def __init__(self, words):
        self.words, text = words, run(PROGRAM, *words, "--help").stdout
        self.summary = text.splitlines()[0]
        head, *parts = re.split(r"\n\n(Positionals|Options|Subcommands):\n", text)
        parts[-1], _, self.told = parts[-1].partition("\n\n")
        lists = dict(zip(parts[::2], parts[1::2]))
        self.options = re.findall(r"^  (?:-\w,)?(--[a-z0-9-]+)( [A-Z]+)?", lists["Options"], re.MULTILINE)
        self.below = re.findall(r"^  ([a-z]+) ", lists.get("Subcommands", ""), re.MULTILINE)


def all_help(words=()):
    found = Help(words)
    yield found
    for name in found.below:
        yield from all_help((*words, name))


ALL = list(all_help())


def completed(*words):
    return run("bash", "-c", COMPLETE, "bash", MADE / "dropledger.bash", *words).stdout.split()


def letters(text):
    """What a reader reads of it, however its lines are broken, with hyphens or without."""
    return re.sub(r"\s+", " ", re.sub(r"‐\n *", "", re.sub(r".\x08", "", text)).replace("−", "-")).strip()


class Pages(unittest.TestCase):
    def page(self, words):
        return MADE / "man" / ("-".join(("dropledger", *words)) + ".1.gz")

    def shown(self, words):
        """As man(1) shows it; with every warning that groff knows."""
        done = run("groff", "-k", "-Tutf8", "-man", "-ww", "-rLL=200n", "-P-c", "-P-b", "-P-o", "-P-u",
                   input=gzip.decompress(self.page(words).read_bytes()).decode())
        self.assertEqual(done.stderr, "", words)
        return done.stdout

    def test_there_is_a_page_for_every_command_and_no_other(self):
        self.assertGreater(len(ALL), 35)
        self.assertEqual(sorted(self.page(one.words).name for one in ALL), sorted(path.name for path in (MADE / "man").iterdir()))

    def test_each_page_is_shown_without_a_warning_and_tells_what_help_tells(self):
        for one in ALL:
            shown = letters(self.shown(one.words))
            self.assertIn(f"{'-'.join(('dropledger', *one.words))} - {letters(one.summary)}", shown)
            for name, value in one.options:
                self.assertRegex(shown, re.escape(name + value) + r"\b", one.words)
            for line in one.told.splitlines():
                for label in ("Exit status: ", "Examples:", "Example: "):
                    line = line.removeprefix(label)
                if not re.fullmatch("[A-Z ]*", line):
                    self.assertIn(letters(line), shown, one.words)

    @unittest.skipUnless(shutil.which("man"), "man-db is not there")
    def test_man_itself_has_nothing_to_warn_of(self):
        for one in ALL:
            done = run("man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", self.page(one.words))
            self.assertEqual(done.stderr, "", one.words)

    def test_a_page_of_commands_says_where_the_files_lie(self):
        self.assertIn("/usr/share/dropledger/profiles", letters(self.shown(())))


class Completion(unittest.TestCase):
    def test_offers_each_commands_own_options_and_commands(self):
        for one in ALL:
            self.assertEqual(sorted(completed("dropledger", *one.words, "--")), sorted(name for name, _ in one.options), one.words)
            if one.below:
                self.assertEqual(sorted(completed("dropledger", *one.words, "")), sorted(one.below), one.words)

    def test_goes_on_from_what_is_typed(self):
        self.assertEqual(completed("dropledger", "cali"), ["calibrate"])
        self.assertEqual(completed("dropledger", "run", "--list"), ["--list-ports"])

    def test_leaves_an_options_value_to_the_files(self):
        self.assertEqual(completed("dropledger", "run", "--port", "--"), [])
        self.assertEqual(completed("dropledger", "batch", "open", "--book", "decide", "--al"), ["--alpha"])

    def test_has_nothing_for_a_command_that_is_none(self):
        self.assertEqual(completed("dropledger", "nothing", "x"), completed("dropledger", "x"))


unittest.main(argv=sys.argv[:1])

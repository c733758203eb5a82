#!/usr/bin/env python3
"""The manual of a command is its --help: the options as the program takes them, then NAME.manual.txt. What the text
names must be there, what is there must be told, and every command line in a manual or the README must be taken.

usage: manuals_test.py PROGRAM TOP"""
import pathlib
import re
import subprocess
import sys
import unittest

PROGRAM, TOP = sys.argv[1], pathlib.Path(sys.argv[2])
SCHEMAS = TOP / "tests/schemas"
OPTION = re.compile(r"(?<![\w-])--[a-z][a-z0-9-]*")
LINE = re.compile(r"^\s*(?:Examples?: *)?(?:[a-z]+=\S+ )?(dropledger .*)$")


def help_of(words):
    done = subprocess.run([PROGRAM, *words, "--help"], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0 and not done.stderr, (words, done.returncode, done.stderr)
    return done.stdout


class Page:
    """A command's help, cut into what it takes and what is told after that."""

    def __init__(self, words):
        self.words, text = tuple(words), help_of(words)
        parts = re.split(r"\n\n(?=(?:Positionals|Options|Subcommands):\n)", text)
        last, _, self.told = parts[-1].partition("\n\n")
        self.lists = {part.split(":\n", 1)[0]: part.split(":\n", 1)[1] for part in [*parts[1:-1], last]}
        # Each with what stands behind its name, its kind and its default.
        self.rows = re.findall(r"^  (?:-\w,)?(--[a-z0-9-]+)(?: [A-Z]+\S*| \.\.\.)*(.*(?:\n {4,}.*)*)$",
                               self.lists.get("Options", ""), re.MULTILINE)
        self.options = {name for name, _ in self.rows}
        self.under = re.findall(r"^  ([a-z]+)", self.lists.get("Subcommands", ""), re.MULTILINE)


def pages(words=()):
    page = Page(words)
    yield page
    for name in page.under:
        yield from pages([*words, name])


ALL = {page.words: page for page in pages()}
MANUALS = {path.name.removesuffix(".manual.txt"): path.read_text().strip()
           for path in TOP.glob("bench/commands/*/*.manual.txt")}


def command_in(words):
    """The longest run of words that is a command."""
    found = ()
    while tuple(words[:len(found) + 1]) in ALL and len(found) < len(words):
        found = tuple(words[:len(found) + 1])
    return found


def options_below(command):
    return set().union(*(page.options for words, page in ALL.items() if words[:len(command)] == command))


def command_lines(text):
    """Each with its continuation lines, up to what the shell takes for itself."""
    lines = text.replace("\\\n", " ").splitlines()
    for at, line in enumerate(lines):
        found = LINE.match(line)
        if found:
            more = lines[at + 1] if at + 1 < len(lines) and lines[at + 1].lstrip().startswith("--") else ""
            yield re.split(r" [#>|]|;", found[1] + " " + more.strip())[0]


class Manuals(unittest.TestCase):
    def test_every_command_is_walked(self):
        self.assertGreater(len(ALL), 35)
        self.assertIn("--spacing-mm", ALL[("run",)].options)
        self.assertIn("--seed", ALL[("calibrate", "gauge", "plan")].options)

    def test_every_command_tells_its_own_manual_and_every_manual_is_told_once(self):
        told = [page.told.strip() for page in ALL.values()]
        for words, page in ALL.items():
            if page.under and words != ("calibrate", "gauge"):
                continue
            self.assertEqual(page.told.strip(), MANUALS.get("_".join(words)), words)
        for name, text in MANUALS.items():
            self.assertEqual(told.count(text), 1, name)

    def test_every_option_says_what_it_is(self):
        for words, page in ALL.items():
            for name, rest in page.rows:
                self.assertRegex(rest, r"[a-z]{2,}", (words, name))

    def test_an_option_that_a_manual_names_is_its_commands_own_or_one_of_a_command_named_beside_it(self):
        for words, page in ALL.items():
            for paragraph in re.split(r"\n\s*\n", page.told):
                beside = set(page.options)
                for whole in re.findall(r"(?:`(?:dropledger )?|dropledger )((?:[a-z]+ ?)+)", paragraph):
                    for prefix in ((), words[:-1]):
                        named = command_in([*prefix, *whole.split()])
                        if len(named) > len(prefix):
                            beside |= options_below(named)
                self.assertEqual(set(OPTION.findall(paragraph)) - beside, set(), (words, paragraph))

    def test_a_command_with_json_names_its_schema(self):
        for words, page in ALL.items():
            named = re.findall(r"dropledger/([a-z-]+)/[12]", page.told)
            self.assertEqual(bool(named), "--json" in page.options, words)
            for name in named:
                self.assertTrue((SCHEMAS / f"{name}.schema.json").is_file(), (words, name))

    def test_every_schema_is_named_by_a_manual(self):
        named = {name for page in ALL.values() for name in re.findall(r"dropledger/([a-z-]+)/[12]", page.told)}
        self.assertEqual(named, {path.name.removesuffix(".schema.json") for path in SCHEMAS.glob("*.schema.json")})

    def test_every_command_line_in_a_manual_or_the_readme_is_one(self):
        texts = {"README.md": (TOP / "README.md").read_text()} | MANUALS
        count = 0
        for name, text in texts.items():
            for line in command_lines(text):
                words = line.split()[1:]
                command = command_in(words)
                self.assertTrue(command, (name, line))
                self.assertEqual(set(OPTION.findall(line)) - ALL[command].options, set(), (name, line))
                count += 1
        self.assertGreater(count, 60)


unittest.main(argv=sys.argv[:1])

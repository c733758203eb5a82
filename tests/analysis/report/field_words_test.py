#!/usr/bin/env python3
"""Counts in the field report: from a thousand on in groups, in text and page; numbers that name something (drops, lines, passes),
times and places as they are.

usage: field_words_test.py DROPLEDGER"""
import html
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

DROPLEDGER = pathlib.Path(sys.argv[1]).absolute()
# What stands before a number that is a name.
NAMES = r"(?:\bdrops? |\bto drop |\bto |\bline |\bpass |\bpasses |\brow )"


def bare(text):
    """Counts of four digits and more without groups."""
    text = re.sub(NAMES + r"\d+", "", text)
    return re.findall(r"(?<![\d.,:-])\d{4,}(?![\d-])(?:\.\d+)?(?! [NSEW]\b)", text)


def shown(page):
    """The words of a page, a line a cell; what a drawing shows beside its titles is none of it."""
    page = re.sub(r"<style.*?</style>|<script.*?</script>", "", page, flags=re.S)
    return html.unescape(re.sub(r"<[^>]+>", "\n", page))


class Counts(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.kept = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.kept.name)
        cls.run_(("simulate", "--field", "night.csv", "--seed", "4"))
        cls.words = ("field", "night.csv", "--html", "night.html", "--cost-lost-plant", "1.5", "--cost-reseed-metre", "0.3", "--cost-gap", "2",
                     "--cost-seed", "0.01", "--gate-efficiency", "8=0.85")

    @classmethod
    def tearDownClass(cls):
        cls.kept.cleanup()

    @classmethod
    def run_(cls, words):
        done = subprocess.run([DROPLEDGER, *words], capture_output=True, text=True, cwd=cls.folder)
        if done.returncode > 2:
            raise RuntimeError(done.stderr)
        return done.stdout

    def test_are_grouped_in_text_and_page_and_plain_in_json(self):
        text = self.run_(self.words)
        self.assertGreater(len(re.findall(r"\d,\d{3}\b", text)), 20)
        tables = re.sub(r"\nWhere to go.*?\n\n", "\n\n", text, flags=re.S)  # names of drops and places only
        self.assertEqual(bare(tables), [])
        page = (self.folder / "night.html").read_text()
        self.assertGreater(len(re.findall(r"\d,\d{3}\b", page)), 20)
        lines = [line for line in shown(page).split("\n") if not re.fullmatch(r"-?[\d.]+, -?[\d.]+", line)]
        self.assertEqual([found for line in lines for found in bare(line)], [])
        answer = json.loads(self.run_((*self.words, "--json")))
        self.assertEqual(answer["units"][0]["drops"], 36000)

    def test_the_sieve_finds_what_it_is_for(self):
        self.assertEqual(bare("of 36000 drops, 1614 plants, 10000.5 m"), ["36000", "1614", "10000.5"])
        self.assertEqual(bare("drops 1416 to 1461, line 28801, 36,000 drops, 2026-04-14, 52.0016 N"), [])


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])

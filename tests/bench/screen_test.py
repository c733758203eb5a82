"""The live screen of `dropledger run` in a terminal emulator (tmux) at 80 by 24 and 120 by 40: whole, in its place, in colour
and without, and in plain lines where there is no terminal.

usage: screen_test.py DROPLEDGER SCENARIO
"""

import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time
import unittest

PROGRAM, SCENARIO = sys.argv[1:3]
SIX = pathlib.Path(SCENARIO).with_name("six_units.toml")
EMPTY = pathlib.Path(SCENARIO).with_name("empty_hopper.toml")
LINE = pathlib.Path(SCENARIO).with_name("line_regular.toml")


class Terminal:
    """A tmux server of its own with one window."""

    def __init__(self, folder, columns, lines, command, environment=()):
        self.tmux = ["tmux", "-S", str(folder / "tmux"), "-f", "/dev/null"]
        clean = {name: value for name, value in os.environ.items() if name not in ("TMUX", "NO_COLOR")}
        shell = " ".join(f"{name}='{value}'" for name, value in environment) + " " + command + "; echo ended with $?; sleep 60"
        subprocess.run([*self.tmux, "new-session", "-d", "-x", str(columns), "-y", str(lines), shell], check=True, env=clean)
        subprocess.run([*self.tmux, "set-option", "-g", "history-limit", "5000"], check=True)

    def screen(self, *options):
        return subprocess.run([*self.tmux, "capture-pane", "-p", *options], capture_output=True, text=True, check=True).stdout

    def history(self):
        return self.screen("-S", "-", "-J")  # lines that the terminal has broken are joined again

    def wait_for(self, pattern, limit_s=60):
        until = time.monotonic() + limit_s
        while time.monotonic() < until:
            seen = self.screen()
            if re.search(pattern, seen):
                return seen
            time.sleep(0.1)
        raise AssertionError(f"no {pattern!r} in:\n{self.screen()}")

    def size(self, columns, lines):
        subprocess.run([*self.tmux, "resize-window", "-x", str(columns), "-y", str(lines)], check=True)

    def close(self):
        subprocess.run([*self.tmux, "kill-server"], check=False)


class Screen(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def bench(self, scenario, pace=10):
        bench = subprocess.Popen([PROGRAM, "simulate", "--scenario", scenario, "--pace", str(pace)], stdout=subprocess.PIPE,
                                 stderr=subprocess.DEVNULL, text=True)
        self.addCleanup(bench.stdout.close)
        self.addCleanup(bench.wait)
        self.addCleanup(bench.terminate)
        return bench.stdout.readline().strip()

    def settings(self, scenario):
        """A settings file that fits, as the demo writes it."""
        subprocess.run([PROGRAM, "demo", "--scenario", scenario.stem, "--drops", "10", "--pace", "1000", "--out", self.folder / "demo"],
                       capture_output=True, check=False, timeout=120)
        return shutil.copy(self.folder / "demo" / "settings.toml", self.folder / "machine.toml")

    def run_in(self, columns, lines, scenario, *options, environment=(), pace=20):
        settings, port = self.settings(scenario), self.bench(scenario, pace)
        command = " ".join(map(str, [PROGRAM, "run", "--port", port, "--settings", settings, "--log", self.folder / "run.droplog",
                                     "--yes", *options]))
        terminal = Terminal(self.folder, columns, lines, command, environment)
        self.addCleanup(terminal.close)
        return terminal

    def check_picture(self, seen, columns):
        rows = [line for line in seen.splitlines() if re.match(r"[1-6] +U-020[1-6] ", line)]
        self.assertEqual([row.split()[1] for row in rows], [f"U-020{n}" for n in range(1, 7)], seen)
        self.assertEqual(seen.count("so far"), 1, seen)
        self.assertEqual(seen.count("drops a unit"), 1, seen)
        self.assertTrue(all(len(line) < columns for line in seen.splitlines()), seen)

    def test_stands_in_its_place_at_both_sizes(self):
        for columns, lines in ((80, 24), (120, 40)):
            with self.subTest(columns=columns):
                terminal = self.run_in(columns, lines, SIX, "--drops", "600")
                self.check_picture(terminal.wait_for(r"\d of 600 drops a unit, .* left"),
                                   columns)
                seen = terminal.wait_for("ended with 0")
                self.check_picture(seen[:seen.index("log:")], columns)
                self.assertEqual(terminal.history().count("row unit"), 1, "the picture was left standing somewhere")
                self.assertRegex(seen, r"4 +U-0204 +600 .*(outside|open, high)")
                self.assertRegex(seen, r"limits: misses \d")
                terminal.close()
                (self.folder / "run.droplog").unlink()

    def test_leaves_nothing_behind_when_the_terminal_is_made_narrower(self):
        terminal = self.run_in(120, 40, SIX, "--drops", "900")
        terminal.wait_for(r"[1-9]\d\d of 900 drops a unit")
        terminal.size(62, 30)
        seen = terminal.wait_for("ended with 0")
        self.assertEqual(terminal.history().count("row unit"), 1, terminal.history())
        self.assertIn("U-0206", seen)

    def test_warns_of_a_unit_without_seed_in_words(self):
        terminal = self.run_in(80, 24, EMPTY, "--drops", "600")
        terminal.wait_for("ended with 0", 90)
        self.assertRegex(terminal.history(), r"row 1, \S+: no seed for 3\d drops; look at its hopper")
        self.assertEqual(terminal.history().count("look at its hopper"), 1)

    def test_shows_seeds_per_metre_of_a_line(self):
        terminal = self.run_in(80, 24, LINE, "--drops", "1500")
        seen = terminal.wait_for(r"\d+ of 1500 seeds a unit")
        self.assertRegex(seen, r"seeds/m")
        terminal.wait_for("ended with 0", 90)

    def test_has_colours_unless_told_not_to(self):
        for environment, coloured in (((), True), ((("NO_COLOR", "1"),), False)):
            terminal = self.run_in(80, 24, SIX, "--drops", "600", environment=(("TERM", "tmux-256color"), *environment))
            terminal.wait_for("ended with 0", 90)
            self.assertEqual("\x1b[" in terminal.screen("-e"), coloured)
            terminal.close()
            (self.folder / "run.droplog").unlink()

    def test_writes_plain_lines_where_there_is_no_terminal(self):
        settings, port = self.settings(SIX), self.bench(SIX)
        done = subprocess.run([PROGRAM, "run", "--port", port, "--settings", settings, "--log", self.folder / "run.droplog", "--yes",
                               "--drops", "600"], capture_output=True, text=True, timeout=120)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertNotIn("\x1b", done.stderr)
        self.assertRegex(done.stderr, r"\d+ of 600 drops a unit.* \(provisional\)")
        self.assertIn("row 4, U-0204: no seed in", done.stderr)


unittest.main(argv=sys.argv[:1])

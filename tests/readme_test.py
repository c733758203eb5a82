#!/usr/bin/env python3
"""The README's commands, run as they are printed, in order, in a folder of their own: a workshop, its own bench, a logic
analyser, a batch, a night. Questions are answered as the person does for whom the README is: yes to a start, nothing to the rest.

usage: readme_test.py DROPLEDGER TOP [EMULATED_BENCH ELF]
The own bench is the firmware in an emulated chip: nothing is flashed, and its port stands for the one that is printed.
"""

import itertools
import json
import os
import pathlib
import pty
import re
import select
import signal
import subprocess
import sys
import tempfile
import time
import unittest

PROGRAM, TOP = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
README = (TOP / "README.md").read_text()


def commands_of(part):
    """Each with its continuation lines; what stands behind # is left to the shell."""
    text = re.search(rf"^## {part}\n(.*?)(?=^## )", README, re.MULTILINE | re.DOTALL)[1]
    blocks = re.findall(r"(?:^    .*\n)+", text, re.MULTILINE)
    joined = "".join(blocks).replace("\\\n", " ")
    return [line.strip() for line in joined.splitlines() if line.strip()]


def at_a_terminal(command, folder, environment, limit_s=240):
    """Exit status and what was said; whoever asks is answered."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(["bash", "-c", command], cwd=folder, env=environment, stdin=theirs, stdout=theirs, stderr=theirs,
                               start_new_session=True)
    os.close(theirs)
    said, answered, until = "", 0, time.monotonic() + limit_s
    while time.monotonic() < until:
        if select.select([ours], [], [], 0.2)[0]:
            try:
                said += os.read(ours, 65536).decode("utf-8", "replace")
            except OSError:
                break
        if said.endswith(": ") and len(said) > answered:
            question = said[answered:].splitlines()[-1]
            os.write(ours, b"yes\n" if "Type yes" in question else b"\n")
            answered = len(said)
    status = process.wait(10)
    os.close(ours)
    return status, said


class Readme(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        (self.folder / "fixtures").symlink_to(TOP / "fixtures")
        self.environment = {**os.environ, "PATH": f"{PROGRAM.parent}:{os.environ['PATH']}", "TERM": "xterm"}

    def behind(self, command):
        """A bench that serves until the test is over."""
        words = ["bash", "-c", "exec " + command.removesuffix("&")]
        bench = subprocess.Popen(words, cwd=self.folder, env=self.environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                                 start_new_session=True)
        self.addCleanup(bench.stdout.close)
        self.addCleanup(bench.wait)
        self.addCleanup(os.killpg, bench.pid, signal.SIGTERM)  # of a pipeline all of it
        bench.stdout.readline()

    def play(self, part, change=lambda command: command):
        """What each command ended with and said."""
        found = {}
        for command in map(change, commands_of(part)):
            if command.endswith("&"):
                self.behind(command)
                continue
            status, said = at_a_terminal(command, self.folder, self.environment)
            self.assertIn(status, (0, 1, 2), f"{command}\n{said}")
            found[command] = status, said
        return found

    def there(self, name):
        self.assertGreater((self.folder / name).stat().st_size, 100, name)

    def test_in_a_workshop(self):
        found = list(self.play("In a workshop").values())
        self.assertEqual(len(found), 6)
        setup, whole, audit, retest, compared, efficiency = found
        self.assertEqual(setup[0], 0, setup[1])
        self.assertIn("Nothing to object to", setup[1])
        self.assertEqual(setup[1].count("Type yes"), 6)
        self.assertEqual((whole[0], audit[0], retest[0]), (0, 1, 0), whole[1] + audit[1] + retest[1])
        self.assertIn("U-0204", audit[1])
        self.assertEqual(compared[0], 0, compared[1])
        self.assertIn("no difference that these runs can show", compared[1])  # nothing was done to the unit
        self.assertEqual(efficiency[0], 0, efficiency[1])
        for name in ("machine.toml", "monday.droplog", "monday.html", "retest.droplog", "gate0.toml"):
            self.there(name)
        self.assertNotIn("U-0203", (self.folder / "retest.droplog").read_text())

    @unittest.skipIf(len(sys.argv) < 5, "no emulated chip was built")
    def test_build_your_own_bench(self):
        bench, elf = sys.argv[3:5]
        text = (TOP / "tests/bench/controller/emulated/eight_units.toml").read_text()
        gates = text[text.index("[unit.gate0]"):text.index("[unit.gate1]")]
        (self.folder / "units.toml").write_text(text.replace("doubles = 0.01", "doubles = 0.001").replace("fill = 0.985", "fill = 0.997").replace(
            gates, '[unit.gate0]\nplace = "above"\nheight_mm = 60\nbeam_mm = 5\n\n'))
        self.behind(f"{bench} {elf} atmega2560 units.toml --link ./own | grep --line-buffered -v ^setting &")
        found = self.play("Build your own bench", lambda command: "true" if command.split()[0] in ("cmake", "avr-objcopy", "avrdude")
                          else command.replace("/dev/ttyACM0", "./own"))
        recorded, audited = list(found.values())[-2:]
        self.assertIn("halted: the wanted number of drops is done", recorded[1][-1500:])
        self.assertIn("unit SU-0001", audited[1])
        self.assertEqual((recorded[0], audited[0]), (0, 0), "a very good unit is within after 250 drops\n" + audited[1])

    def test_or_with_a_logic_analyser(self):
        made, captured, audited = self.play("Or with a logic analyser").values()
        self.assertEqual((made[0], captured[0]), (0, 0), made[1] + captured[1])
        self.assertIn("500 drops", captured[1])
        self.assertIn("capture", audited[1])
        self.assertEqual(audited[0], 0, "a healthy unit is within\n" + audited[1])

    def test_certifying_a_batch(self):
        """A rehearsal, whose times are stated: the runs are simulated, one after the other, as the choice named their units."""
        hours = itertools.count(8)
        healthy = (TOP / "fixtures/scenarios/healthy.toml").read_text()
        scenario = re.sub(r"(?m)^doubles = .*$", "doubles = 0.001", healthy) + "fill = 0.998\n"
        key = "--key bench.key"

        def begun():
            return f"2026-01-{5 + (hour := next(hours)) // 24:02}T{hour % 24:02}:00:00Z"

        def simulated(unit):
            (self.folder / f"{unit}.toml").write_text(scenario.replace("U-0101", unit))
            name = "count" if unit == "CAL" else unit
            return f"dropledger simulate --scenario {unit}.toml --drops 500 --seed {next(hours)} --log logs/{name}.droplog " + (
                f"{key} --started {begun()}")

        def rehearsed(command):
            words = command.split("#")[0].split()
            if words[1] == "run":
                shown = subprocess.run([PROGRAM, "batch", "show", "may.batch.json", "--json"], cwd=self.folder, check=True,
                                       capture_output=True, text=True)
                units = json.loads(shown.stdout)["chosen"]
                return " && ".join(["mkdir logs", *map(simulated, ["CAL", *units])])
            if words[1:3] == ["batch", "verify"]:
                key_line = next(line for line in self.key_said.splitlines() if re.fullmatch("[0-9a-f]{64}", line.strip()))
                return " ".join(words).replace("HEX", key_line.strip()) + " --rehearsal --today 2026-06-01"
            if words[1:3] == ["calibrate", "efficiency"]:
                return " ".join(words) + " --date 2026-01-05"
            command = " ".join(words)
            if key in command and words[:3] != ["dropledger", "batch", "key"]:
                command = command.replace(key, f"{key} --at {begun()}")
            return command.replace("--for-buyer", "--for-buyer --rehearsal")

        for command in commands_of("Certifying a batch"):
            status, said = at_a_terminal(rehearsed(command), self.folder, self.environment)
            self.assertEqual(status, 0, f"{command}\n{said}")
            if "batch key" in command:
                self.key_said = said
        self.assertIn("It holds", said)
        for name in ("may.certificate.json", "may.pdf", "may/may.pdf", "may/README.txt"):
            self.there(name)

    def test_after_a_night_in_the_field(self):
        self.assertEqual(len(self.play("After a night in the field")), 4)
        for name in ("night.csv", "truth.csv", "night.html", "walk.csv", "walk.gpx"):
            self.there(name)


unittest.main(argv=sys.argv[:1])

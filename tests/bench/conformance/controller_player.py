#!/usr/bin/env python3
"""Plays the controller to a host and says whether it does what analysis/droplog/README.md says: what it sends, when, and what
stands in its log. No motor is needed.

usage: controller_player.py --run 'HOST … {port} … {log} …' [--resume 'HOST … {port} … {log} …'] [options]
In the commands {port} is the pseudo-terminal to open and {log} the log to write or to go on with. `--run` must order
--drops drops of one channel in single mode and ask no question.
Exit status: 0 every case passed, was skipped or is a known deviation; 1 at least one failed; 64 wrong usage.
"""

import argparse
import contextlib
import pathlib
import shlex
import signal
import subprocess
import sys
import tempfile
import time
import types

import report
import second_reader
from line import body_of, decode
from report import Failed, Skipped
from served import InBackground, Server

MOST_TOLD = 600  # bytes of what the host said, in a report


class Player:
    """One controller, one log, and the hosts started on them one after the other."""

    def __init__(self, plan, folder):
        self.plan, self.log = plan, pathlib.Path(folder) / "case.droplog"
        self.bench = self.host = None
        self.unkept = []  # acknowledgements of lines that the log did not hold
        self.told = b""

    def controller(self, *misbehave, channels=1, seed=1, pace=None):
        options = types.SimpleNamespace(link=None, stdio=False, pace=pace or self.plan.pace, channels=channels, trace=None,
                                        misbehave=misbehave, seed=seed, announce=False)
        self.bench = InBackground(Server(options, self._hear))
        return self.bench.server

    def _hear(self, line):
        """4.6: what is acknowledged must stand in the log by then."""
        body = body_of(line)
        if not body or not body.startswith("ack,"):
            return
        controller = self.bench.server.controller
        wanted = next((one for boot, seq, one in reversed(controller.history)
                       if boot == controller.boot and seq == int(body[4:])), None)
        if wanted is not None and wanted + b"\n" not in (self.log.read_bytes() if self.log.exists() else b""):
            self.unkept.append(body)

    def start(self, command=None):
        command = command or self.plan.run
        if command is None:
            raise Skipped("no --resume command was given")
        words = [word.format(port=self.bench.server.port, log=self.log) for word in shlex.split(command)]
        self.host = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        return self.host

    def end(self, limit_s=None):
        """Waits for the host; its exit status."""
        try:
            self.told += self.host.communicate(timeout=limit_s or self.plan.run_limit_s)[0]
        except subprocess.TimeoutExpired as late:
            self.kill()
            raise Failed("a host that ends", f"one still there after {limit_s or self.plan.run_limit_s:.0f} s") from late
        return self.host.returncode

    def kill(self):
        self.host.kill()
        self.told += self.host.communicate()[0]

    def interrupt(self):
        self.host.send_signal(signal.SIGINT)

    def until(self, what, found, limit_s=30.0):
        limit = time.monotonic() + limit_s
        while not found():
            if time.monotonic() > limit:
                raise Failed(what, "nothing of it within the limit")
            time.sleep(0.005)

    def until_drops(self, count):
        self.until(f"{count} drops of a run", lambda: self.bench.server.controller.drops_said >= count)

    # what was seen

    def sent(self, name=None):
        """(wall seconds, state, fields) of each whole command that came, of this name where one is given."""
        found = []
        for at, state, line in list(self.bench.server.commands):
            body = body_of(line)
            if body is not None and (name is None or body.split(",")[0] == name):
                found.append((at, state, body.split(",")))
        return found

    def carried_out(self):
        """How often motors were started."""
        return sum(decode(line).name == "started" for _, _, line in self.bench.server.controller.history)

    def logged(self):
        if not self.log.exists():
            return []
        return [decode(line) for line in self.log.read_bytes().split(b"\n")[:-1]]

    def read(self):
        if not self.log.exists():
            raise Failed("a log", "none")
        try:
            return second_reader.read(self.log.read_bytes())
        except second_reader.Refused as refusal:
            raise Failed("a log that can be read", str(refusal)) from refusal

    def conversation(self):
        server = self.bench.server
        sent = [(at, "> " + line.decode("latin-1")) for at, _, line in server.commands if not line.startswith((b"alive", b"ack"))]
        told = self.told.decode("utf-8", "replace").strip()[-MOST_TOLD:]
        return [text for _, text in sent[-6:]] + (["the host said: " + told.replace("\n", " | ")] if told else [])


def a_new_player(plan):
    """The stage of each case: nothing is left of the one before."""
    @contextlib.contextmanager
    def stage(outcome):
        with tempfile.TemporaryDirectory() as folder:
            player = Player(plan, folder)
            try:
                yield player
            finally:
                if player.host and player.host.poll() is None:
                    player.kill()
                if player.bench:
                    player.bench.close()
                    outcome.conversation = player.conversation()
    return stage


def options():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--run", help="the host's command for a new run")
    parser.add_argument("--resume", help="the host's command to go on with a log")
    parser.add_argument("--drops", type=int, default=20, help="that --run orders")
    parser.add_argument("--pace", type=float, default=10.0, help="how many times faster than life the bench runs")
    parser.add_argument("--run-limit-s", type=float, default=90.0, help="for a whole run")
    parser.add_argument("--slow", action="store_true", help="also the cases that wait for a host's patience")
    parser.add_argument("--deviations", help="file of known deviations, SECTION: TITLE a line")
    parser.add_argument("--only", help="file of the cases to play, SECTION: TITLE a line")
    parser.add_argument("--json", help="write the report here too")
    parser.add_argument("--list", action="store_true", help="list the cases and play none")
    plan = parser.parse_args()
    if not plan.run and not plan.list:
        parser.error("--run is needed")
    return plan


def main():
    from controller_cases import CASES

    plan = options()
    only = report.names_in(plan.only)
    cases = [one for one in CASES if not only or f"{one.section}: {one.title}" in only]
    cases = [one for one in cases if plan.slow or plan.list or not one.slow]
    if plan.list:
        print("\n".join(f"{one.section:5} {one.title}{' (slow)' if one.slow else ''}" for one in cases))
        return 0
    outcomes = report.play(cases, a_new_player(plan), report.names_in(plan.deviations))
    return report.finish(outcomes, plan.run, plan.json)


if __name__ == "__main__":
    sys.exit(main())

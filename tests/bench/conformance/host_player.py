#!/usr/bin/env python3
"""Plays the host against a controller and says whether it does what analysis/droplog/README.md says.

MOTORS WILL TURN. Take the seed out, close the guard, keep hands and sleeves away.

usage: host_player.py (--port TTY | --command 'CMD ARG…') [options]
Exit status: 0 every case passed, was skipped or is a known deviation; 1 at least one failed; 64 wrong usage.
"""

import argparse
import collections
import contextlib
import os
import select
import shlex
import subprocess
import sys
import termios
import time
import tty

import report
from line import decode, encode
from report import Failed

ALIVE_S = 0.25
ACK_S = 0.2
BAUDS = {9600: termios.B9600, 57600: termios.B57600, 115200: termios.B115200, 230400: termios.B230400}


class Wire:
    """Bytes to and from the controller."""

    def __init__(self, port=None, command=None, baud=115200):
        self.process = None
        if port:
            self.source = self.sink = os.open(port, os.O_RDWR | os.O_NOCTTY)
            tty.setraw(self.source)
            settings = termios.tcgetattr(self.source)
            settings[4] = settings[5] = BAUDS[baud]
            termios.tcsetattr(self.source, termios.TCSANOW, settings)
        else:
            self.process = subprocess.Popen(shlex.split(command), stdin=subprocess.PIPE, stdout=subprocess.PIPE)
            self.source, self.sink = self.process.stdout.fileno(), self.process.stdin.fileno()

    def read(self, timeout_s):
        if not select.select([self.source], [], [], timeout_s)[0]:
            return b""
        data = os.read(self.source, 4096)
        if not data:
            raise Failed("a controller on the line", "the end of the line")
        return data

    def write(self, data):
        os.write(self.sink, data)

    def close(self):
        if self.process:
            self.process.stdin.close()
            self.process.terminate()
            self.process.wait()
            self.process.stdout.close()
        else:
            os.close(self.source)


class Player:
    """Sends commands, keeps what came, and waits for what a case expects."""

    def __init__(self, wire, plan):
        self.wire, self.plan = wire, plan
        self.lines = []  # every Line that came, in order of arrival
        self.raw = []  # its bytes
        self.rest = b""
        self.keeps_alive = self.keeps_acknowledging = True
        self.alive_at = self.acked_at = 0.0
        self.acked = -1
        self.sent_at = {}
        self.conversation = []

    def send(self, body):
        self.sent_at[body.split(",")[0]] = time.monotonic()
        self.send_bytes(encode(body) + b"\n", body)

    def send_bytes(self, data, shown=None):
        self.conversation.append(f"> {shown if shown is not None else data!r}")
        self.wire.write(data)

    def breathe(self, timeout_s=0.02):
        """One turn: what is due is sent, what has come is taken."""
        now = time.monotonic()
        if self.keeps_alive and now - self.alive_at >= ALIVE_S:
            self.alive_at = now
            self.wire.write(encode("alive") + b"\n")
        if self.keeps_acknowledging and now - self.acked_at >= ACK_S:
            self.acknowledge(now)
        *lines, self.rest = (self.rest + self.wire.read(timeout_s)).split(b"\n")
        for raw in lines:
            self.take(raw)

    def acknowledge(self, now=0.0):
        self.acked_at = now
        last = next((line.seq for line in reversed(self.lines) if line.kind == "controller"), None)
        if last is not None and last != self.acked:
            self.acked = last
            self.wire.write(encode(f"ack,{last}") + b"\n")

    def take(self, raw):
        line = decode(raw)
        self.lines.append(line)
        self.raw.append(raw)
        if line.name not in ("travel", "pulse", "beat"):
            self.conversation.append(f"< {raw.decode('latin-1')}")

    def mark(self):
        return len(self.lines)

    def since(self, mark, name=None):
        return [line for line in self.lines[mark:] if name is None or line.name == name]

    def wait(self, what, found, limit_s=None):
        """Until `found()` gives something; fails after the limit, saying what was awaited."""
        until = time.monotonic() + (limit_s or self.plan.patience_s)
        while time.monotonic() < until:
            result = found()
            if result:
                return result
            self.breathe()
        raise Failed(what, self.lately())

    def listen(self, seconds):
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            self.breathe()

    def lately(self):
        names = [",".join(line.fields) for line in self.lines[-40:] if line.name not in ("travel", "pulse", "beat")]
        return "; ".join(names[-4:]) or "nothing but " + (self.lines[-1].name if self.lines else "silence")

    def answer(self, body, name, *fields):
        """Sends a command and waits for the line that must answer; `fields` are what stands after SEQ and TICK."""
        mark = self.mark()
        self.send(body)
        return self.awaited(mark, name, *fields)

    def awaited(self, mark, name, *fields):
        wanted = ",".join((name, "SEQ", "TICK", *fields))
        return self.wait(wanted, lambda: next((line for line in self.since(mark, name)
                                               if line.fields[3:3 + len(fields)] == list(fields)), None))

    def never(self, mark, name, seconds, *fields):
        """Fails where such a line comes within the time."""
        self.listen(seconds)
        for line in self.since(mark, name):
            if line.fields[3:3 + len(fields)] == list(fields):
                raise Failed(f"no `{name}`", line.body)

    def settled(self):
        """Whatever the last case left: idle, and all that came acknowledged."""
        self.keeps_alive = self.keeps_acknowledging = True
        mark = self.mark()
        self.send("halt")
        self.wait("`halted` or `refused,…,state` after `halt`", lambda: [
            line for line in self.since(mark) if line.name == "halted" or line.fields[3:] == ["state"]])
        self.answer("hello", "hello")
        self.acknowledge()
        self.conversation.clear()

    def arm(self, drops=None, mode="single", count=1):
        plan = self.plan
        return self.answer(self.order(drops, mode, count), "armed") if plan else None

    def order(self, drops=None, mode="single", count=1, **other):
        plan = {"spacing": self.plan.spacing_um, "speed": self.plan.speed_um_s, "mask": self.plan.channel_mask,
                "drops": self.plan.drops if drops is None else drops} | other
        return f"arm,{mode},{plan['spacing']},{count},{plan['speed']},{plan['mask']},{plan['drops']}"

    def run(self, **order):
        """A whole start; the lines from `started` to `halted`."""
        self.arm(**order)
        mark = self.mark()
        self.send("go")
        self.awaited(mark, "started")
        self.wait("`halted`", lambda: self.since(mark, "halted"), self.plan.run_limit_s)
        lines = [line for line in self.since(mark) if line.kind == "controller"]
        names = [line.name for line in lines]
        return lines[names.index("started"):names.index("halted") + 1]


def the_only_player(player):
    """The stage of each case: the one controller, brought to rest before."""
    @contextlib.contextmanager
    def stage(outcome):
        outcome.conversation = player.conversation = collections.deque(maxlen=report.KEPT)
        try:
            player.settled()
            yield player
        finally:
            outcome.conversation = list(player.conversation)
    return stage


def options():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    where = parser.add_mutually_exclusive_group(required=True)
    where.add_argument("--port", help="the controller's serial line or pseudo-terminal")
    where.add_argument("--command", help="a controller that speaks on standard input and output")
    parser.add_argument("--baud", type=int, default=115200, choices=BAUDS)
    parser.add_argument("--spacing-um", type=int, default=100_000)
    parser.add_argument("--speed-um-s", type=int, default=250_000)
    parser.add_argument("--channel-mask", type=int, default=1)
    parser.add_argument("--drops", type=int, default=6, help="of a whole run")
    parser.add_argument("--modes", default="single,portion,line", help="those that the controller has")
    parser.add_argument("--patience-s", type=float, default=10.0, help="for an answer")
    parser.add_argument("--run-limit-s", type=float, default=60.0, help="for a whole run")
    parser.add_argument("--deviations", help="file of known deviations, SECTION: TITLE a line")
    parser.add_argument("--only", help="file of the cases to play, SECTION: TITLE a line")
    parser.add_argument("--json", help="write the report here too")
    parser.add_argument("--list", action="store_true", help="list the cases and play none")
    return parser.parse_args()


def main():
    import host_cases_keeping  # noqa: F401, its cases are entered with the others
    from host_cases import CASES

    plan = options()
    if plan.list:
        print("\n".join(f"{one.section:5} {one.title}" for one in CASES))
        return 0
    only = report.names_in(plan.only)
    cases = [one for one in CASES if not only or f"{one.section}: {one.title}" in only]
    wire = Wire(plan.port, plan.command, plan.baud)
    try:
        player = Player(wire, plan)
        outcomes = report.play(cases, the_only_player(player), report.names_in(plan.deviations))
    finally:
        wire.close()
    return report.finish(outcomes, plan.port or plan.command, plan.json)


if __name__ == "__main__":
    sys.exit(main())

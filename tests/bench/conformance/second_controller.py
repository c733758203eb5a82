#!/usr/bin/env python3
"""A second bench controller, written from analysis/droplog/README.md alone (sections 3 and 4). It shares no code with the
product. Its drops are invented and plain: each commanded drop opens on time and shows one pulse a gate.

usage: second_controller.py [--link PATH] [--pace P] [--channels N] [--trace FILE] [--misbehave PLAN]…
serves on a pseudo-terminal whose name it prints, until it is ended. `--stdio` serves on standard input and output.
"""

import argparse
import heapq
import secrets
import sys

from line import decode, body_of, encode, number, quote

BEAT_US = 900_000
TRAVEL_US = 200_000
PATIENCE_US = 2_000_000
SEEN_US = 60_000  # after an opening, until the last gate has seen what fell
GATES_US = (20_000, 40_000)  # after the opening
SET_ASIDE = 32  # places for what must get through
ROOM = 50_000
U32 = 2**32
COMMANDS = {"hello": 1, "arm": 7, "go": 1, "halt": 1, "alive": 1, "ack": 2, "resend": 2}


class Buffer:
    """3.3 and 4.6: lines kept until acknowledged."""

    def __init__(self, room=ROOM):
        self.room, self.next, self.acknowledged, self.lost = room, 0, 0, 0
        self.lose_next = 0  # ordinary lines that find no room though there is some
        self.kept, self.sent = [], 0  # (SEQ, line); how many of them were sent

    def keep(self, line_of, must=False):
        """Numbers the line that `line_of(SEQ)` makes, and keeps it where there is room; the line, and whether it is kept."""
        line, lost_before = line_of(self.next), self.lost
        full = len(self.kept) >= self.room + (SET_ASIDE if must else 0)
        if full or (self.lose_next and not must):
            self.lost, self.lose_next = self.lost + 1, self.lose_next - (0 if full else 1)
        else:
            self.kept.append((self.next, line))
        self.next += 1
        return line, self.lost == lost_before

    def acknowledge(self, seq):
        if seq >= self.next:
            return False
        self.acknowledged = max(self.acknowledged, seq + 1)
        gone = sum(kept <= seq for kept, _ in self.kept)
        self.kept, self.sent = self.kept[gone:], max(0, self.sent - gone)
        return True

    def resend(self, seq):
        if seq > self.next:
            return "seq"
        if seq < self.acknowledged:
            return "gone"
        self.sent = min(self.sent, sum(kept < seq for kept, _ in self.kept))
        return None

    def take_unsent(self):
        lines = [line for _, line in self.kept[self.sent:]]
        self.sent = len(self.kept)
        return lines


class Controller:
    """Lines in, lines out. `now_us` is the bench's time, `wall_us` the host's, for the dead man's rule."""

    def __init__(self, channels=1, now_us=0, room=ROOM, firmware="second controller"):
        self.channels, self.tick_start, self.room, self.firmware = channels, 0, room, firmware
        self.boots, self.serial_name = 0, f"{secrets.randbits(32):08X}"
        self.estop = self.guard = False
        self.protocol, self.more, self.patience_us = 1, (), PATIENCE_US  # `more`: fields of a later version
        self.history = []  # (boot, SEQ, line): every line ever numbered
        self.before = 0  # so many of them are of an earlier run
        self.holes = set()  # (boot, SEQ) of those that found no room
        self.start_up(now_us)

    def start_up(self, now_us):
        """A boot: nothing of the last one is left."""
        self.boots += 1
        self.boot, self.booted_us = f"{self.serial_name}-{self.boots}", now_us
        self.buffer, self.state, self.events = Buffer(self.room), "idle", []
        self.beat_at, self.alive_at, self.ends_at, self.reason = now_us + BEAT_US, 0, None, None
        self.order, self.serial, self.drops_said, self.last_us = None, 0, 0, now_us
        self.say_hello(now_us)

    # lines

    def say(self, name, at_us, *fields, must=False):
        tick = (self.tick_start + at_us - self.booted_us) % U32
        line, kept = self.buffer.keep(lambda seq: encode(",".join(map(str, (name, seq, tick, *fields)))), must)
        if not kept:
            self.holes.add((self.boot, self.buffer.next - 1))
        self.history.append((self.boot, self.buffer.next - 1, line))

    def say_hello(self, at_us):
        self.say("hello", at_us, self.protocol, quote(self.boot), self.channels, quote(self.firmware), must=True)

    def refuse(self, code, at_us):
        self.say("refused", at_us, code, must=True)

    # commands

    def receive(self, line, now_us, wall_us):
        """A line of the host without its LF."""
        self.advance(now_us, wall_us)
        line = line[:-1] if line.endswith(b"\r") else line
        if not line:
            return None
        if len(line) >= 240:
            return self.refuse("length", now_us)
        body = body_of(line)
        if body is None:
            return self.refuse("crc", now_us)
        return self.carry_out(body.split(","), now_us, wall_us)

    def carry_out(self, fields, now_us, wall_us):
        name = fields[0]
        if name not in COMMANDS:
            return self.refuse("unknown", now_us)
        if name == "arm" and self.state != "idle":
            return self.refuse("state", now_us)
        if len(fields) != COMMANDS[name]:
            return self.refuse("syntax", now_us)
        return getattr(self, "do_" + name)(fields, now_us, wall_us)

    def do_hello(self, _, now_us, __):
        self.say_hello(now_us)

    def do_alive(self, _, __, wall_us):
        self.alive_at = wall_us

    def do_ack(self, fields, now_us, _):
        seq = number(fields[1], 0, U32 - 1)
        if seq is None:
            return self.refuse("syntax", now_us)
        return None if self.buffer.acknowledge(seq) else self.refuse("seq", now_us)

    def do_resend(self, fields, now_us, _):
        seq = number(fields[1], 0, U32 - 1)
        code = "syntax" if seq is None else self.buffer.resend(seq)
        return self.refuse(code, now_us) if code else None

    def do_arm(self, fields, now_us, wall_us):
        code = self.against(fields)
        if code:
            return self.refuse(code, now_us)
        self.order = (fields[1], *map(int, fields[2:]))
        self.state, self.alive_at = "armed", wall_us
        return self.say("armed", now_us, must=True)

    def against(self, fields):
        """What speaks against an order, in the order of 4.3."""
        numbers = [number(fields[2], -U32, U32), number(fields[3], -U32, U32), number(fields[4], -U32, U32),
                   number(fields[5], 0, U32 - 1), number(fields[6], -U32, U32)]
        if None in numbers:
            return "syntax"
        spacing, count, speed, mask, drops = numbers
        most = 1 if fields[1] == "single" else 50
        tests = [("mode", fields[1] in ("single", "portion", "line")), ("estop", not self.estop), ("guard", not self.guard),
                 ("spacing", 1000 <= spacing <= 10_000_000), ("count", 1 <= count <= most),
                 ("speed", 10_000 <= speed <= 5_000_000), ("channels", 0 < mask < 1 << self.channels), ("drops", 0 <= drops)]
        return next((code for code, holds in tests if not holds), None)

    def do_go(self, _, now_us, __):
        if self.state != "armed":
            return self.refuse("state", now_us)
        self.state, self.reason, self.ends_at = "running", None, None
        self.say("started", now_us, must=True)
        mode, spacing, _, speed, mask, drops = self.order
        self.events, step_us = [], spacing * 1_000_000 // speed
        self.plan(now_us, "travel", now_us, 0)
        for channel in range(self.channels):
            if mask >> channel & 1:
                self.plan(now_us + step_us, "drop" if mode != "line" else "seed", channel, 0)
        if mode == "line" and drops:
            self.plan(now_us + step_us * drops, "end", 0, 0)
        return None

    def do_halt(self, _, now_us, __):
        if self.state == "idle":
            return self.refuse("state", now_us)
        return self.stop("host", now_us)

    # time

    def plan(self, at_us, what, *rest):
        self.serial += 1
        heapq.heappush(self.events, (at_us, self.serial, what, *rest))

    def stop(self, reason, at_us):
        if self.state == "armed":
            self.state = "idle"
            self.say("halted", at_us, reason, must=True)
        elif self.state == "running":
            self.state, self.reason = "stopping", reason
            self.events = [event for event in self.events if event[2] in ("pulse", "travel")]
            heapq.heapify(self.events)
            self.ends_at = at_us + SEEN_US
        return None

    def fault(self, code, at_us, channel=-1):
        self.say("fault", at_us, channel, code, must=True)
        self.stop(code if code in ("estop", "guard", "host_silent") else "fault", at_us)

    def advance(self, now_us, wall_us):
        self.last_us = now_us
        while self.due_us() <= now_us:
            self.go_on(self.due_us())
        if self.state in ("armed", "running") and wall_us - self.alive_at > self.patience_us:
            self.fault("host_silent", now_us)

    def due_us(self):
        due = [self.beat_at] + [event[0] for event in self.events[:1]] + ([self.ends_at] if self.ends_at else [])
        return min(due)

    def go_on(self, at_us):
        if self.beat_at <= at_us:
            self.say("beat", at_us, len(self.buffer.kept), self.buffer.lost)
            self.beat_at += BEAT_US
        elif self.events and self.events[0][0] <= at_us:
            self.happen(*heapq.heappop(self.events))
        else:
            self.state, self.ends_at, self.events = "idle", None, []
            self.say("halted", at_us, self.reason, must=True)

    def happen(self, at_us, _, what, *rest):
        mode, spacing, count, speed, _, drops = self.order
        if what == "travel":
            self.say("travel", at_us, (at_us - rest[0]) * speed // 1_000_000)
            self.plan(at_us + TRAVEL_US, "travel", *rest)
        elif what == "pulse":
            self.say("pulse", at_us, rest[0], rest[1], 1500, 400)
        elif what == "seed":
            self.seen(at_us, rest[0])
            self.plan(at_us + spacing * 1_000_000 // (count * speed), "seed", *rest)
        elif what == "drop":
            self.drop(at_us, *rest)
        else:
            self.stop("count", at_us)

    def drop(self, at_us, channel, index):
        mode, spacing, count, speed, mask, drops = self.order
        self.say("drop", at_us, channel, index, (index + 1) * spacing, count, *self.more)
        self.drops_said += 1
        for _ in range(count):
            self.seen(at_us, channel)
        if drops == 0 or index + 1 < drops:
            self.plan(at_us + spacing * 1_000_000 // speed, "drop", channel, index + 1)
        elif not any(event[2] == "drop" for event in self.events):
            self.stop("count", at_us)

    def seen(self, at_us, channel):
        for gate, after_us in enumerate(GATES_US):
            self.plan(at_us + after_us, "pulse", channel, gate)


def main():
    from served import Server  # the wire, and what goes wrong on it

    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--link", help="a symbolic link to make to the pseudo-terminal")
    parser.add_argument("--stdio", action="store_true")
    parser.add_argument("--pace", type=float, default=1.0, help="how many times faster than life")
    parser.add_argument("--channels", type=int, default=1)
    parser.add_argument("--trace", help="a file for what came, went and was numbered, a JSON object a line")
    parser.add_argument("--misbehave", action="append", default=[], metavar="PLAN", help="see misbehaviour.py")
    Server(parser.parse_args()).serve()


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""A second reader of droplogs, written from analysis/droplog/README.md alone (sections 6 and 7). It shares no code with the
product and is compared with it; the fault campaigns judge by it.

usage: second_reader.py LOG…          one JSON object a log
Exit status: 0 all sound, 2 at least one is not, 65 at least one refused.
"""

import hashlib
import json
import pathlib
import sys

import ed25519
from line import LONGEST, body_of, decode, unquote

LATE_US = 50_000
OUT_OF_ORDER_US = 1_000_000
REMEMBERED = 65_536  # lines behind which a repeat is still compared
PLACES = 20
CLASSES = ("used", "unknown", "damaged", "repeated", "conflicting", "out_of_order")


class Refused(Exception):
    """7.6"""


def signed(number):
    """A difference of two 32-bit numbers, modulo 2^32, as a signed number."""
    return ((number + 2**31) % 2**32) - 2**31


class Sequence:
    """7.2: which line with SEQ is next, behind, seen before."""

    def __init__(self):
        self.next, self.boot, self.named, self.seen = None, "", False, {}

    def place(self, line):
        """The class of the line, or None where it is in its place; the lines skipped; whether a boot began."""
        boot = line.fields[4] if line.name == "hello" else ""
        if self.next is None:
            return self._begin(line, boot, line.seq)
        ahead = signed(line.seq - self.next)
        if boot and boot != self.boot:
            if self.named or ahead < 0:
                return self._begin(line, boot, 0)
            self.boot = boot
        self.named = self.named or bool(boot)
        if ahead < 0:
            return self._behind(line), 0, False
        return None, self._take(line, self.next), False

    def _begin(self, line, boot, expected):
        self.boot, self.named, self.seen = boot, bool(boot), {}
        return None, self._take(line, expected), True

    def _take(self, line, expected):
        self.seen[line.seq] = line.body
        self.next = (line.seq + 1) % 2**32
        if len(self.seen) > 2 * REMEMBERED:
            self.seen = {seq: body for seq, body in self.seen.items() if (self.next - seq) % 2**32 <= REMEMBERED}
        return (line.seq - expected) % 2**32

    def _behind(self, line):
        seen = self.seen.get(line.seq) if (self.next - line.seq) % 2**32 <= REMEMBERED else None
        if seen is None:
            return "out_of_order"
        return "repeated" if seen == line.body else "conflicting"


class Seals:
    """6.4"""

    def __init__(self):
        self.count, self.first_bad, self.first_bad_from, self.start = 0, None, None, 1
        self.last = bytes(32)
        self._link(self.last)

    def _link(self, last):
        self.hash, self.lines, self.damage = hashlib.sha256(last), 0, False

    def add(self, raw, damaged):
        self.hash.update(raw)
        self.lines += 1
        self.damage = self.damage or damaged

    def check(self, line, place):
        computed = self.hash.digest()
        self.count += 1
        if line.fields[1:3] != [str(self.lines), computed.hex()]:
            self.bad(place)
        try:
            self.last = bytes.fromhex(line.fields[2]) if len(line.fields[2]) == 64 else computed
        except ValueError:
            self.last = computed
        self._link(self.last)
        self.start = place + 1

    def bad(self, place):
        if self.first_bad is None:
            self.first_bad, self.first_bad_from = place, self.start


class Run:
    """7.4: is it a whole run? Greeted, started, every drop there, the order carried out."""

    WINDOW = 1024  # drops by which lines may be out of INDEX order

    def __init__(self):
        self.starts, self.sent_order, self.order, self.faults = 0, None, None, []
        self.greeted = self.started = self.running = self.halted = self.confirmed = False
        self.indices, self.repeated, self.drops = {}, set(), {}  # by channel, of the start that is on
        self.highest = {}
        self.whole, self.all_drops = None, {}  # the first start's order, and the drops of all starts

    def _fault(self, text):
        if text not in self.faults:
            self.faults.append(text)

    def sent(self, line):
        fields = (body_of(line) or "").split(",")
        if fields[0] == "arm" and len(fields) >= 7 and fields[5].isdigit() and fields[6].isdigit():
            self.sent_order = fields

    def boot(self, in_mid_run):
        if in_mid_run and self.running:
            self._fault("reset in mid-run")
        self._end_start()
        self.greeted = self.started = self.running = False

    def take(self, line):
        if line.name == "hello":
            self.greeted = True
        elif line.name == "started":
            self._start()
        elif line.name == "halted":
            self.halted, self.running = True, False
        elif line.name == "drop":
            self._drop(int(line.fields[3]), int(line.fields[4]))
        elif line.name == "pulse" and not self.starts:
            self._fault("no `started`")

    def _start(self):
        if not self.greeted:
            self._fault("no `hello`")
        self._end_start()
        self.drops, self.starts = {}, self.starts + 1
        if self.starts > 1 and (not self.confirmed or self.running):
            self._fault("started once more without a confirmation, or before it had halted")
        self.confirmed = self.halted = False
        self.started = self.running = True
        self.order = self.sent_order
        self.whole = self.sent_order if self.starts == 1 else self.whole

    def _drop(self, channel, index):
        if not self.started:
            self._fault("no `started`")
        elif not self.running:
            self._fault("a drop between `halted` and `started`")
        seen = self.indices.setdefault(channel, set())
        if seen and index + self.WINDOW - 1 < self.highest[channel] or index in seen:
            self.repeated.add(channel)
        seen.add(index)
        self.highest[channel] = max(self.highest.get(channel, 0), index)

    def _end_start(self):
        for channel, seen in self.indices.items():
            self.drops[channel] = self.highest[channel] + 1
            self.all_drops[channel] = self.all_drops.get(channel, 0) + self.drops[channel]
            if len(seen) < self.highest[channel] + 1:
                self._fault(f"drops of channel {channel} are missing")
            if channel in self.repeated:
                self._fault(f"a drop of channel {channel} twice")
        self.indices, self.repeated, self.highest = {}, set(), {}

    def finish(self, reason):
        self._end_start()
        if not self.starts:
            self._fault("no `started`")
            if not self.greeted:
                self._fault("no `hello`")
        elif reason == "count":
            self._against_order()
        return self.faults

    def _against_order(self):
        if not self.halted:
            self._fault("closed by count without `halted`")
        if not self.order:
            return self._fault("no `arm` before the start")
        if self.order[1] != "line":
            self._compare(self.order, self.drops)
            if self.starts > 1 and self.whole and int(self.whole[6]):
                self._compare(self.whole, self.all_drops)
        return None

    def _compare(self, order, made):
        mask, drops = int(order[5]), int(order[6])
        wanted = {channel: drops for channel in range(64) if mask >> channel & 1 and drops}
        if wanted != made:
            self._fault(f"closed by count with {made} of {wanted} drops")


class Reader:
    """Takes a log line by line; `result()` is what there is to say."""

    def __init__(self):
        self.lines = dict.fromkeys(CLASSES, 0)
        self.sequence, self.seals, self.run_of = Sequence(), Seals(), Run()
        self.place = self.boots = self.gaps = self.missing = self.late = self.extra = self.late_settings = 0
        self.resumed = self.lost = self.lost_now = 0
        self.begun = self.header = self.torn = False
        self.run, self.ending, self.closing, self.sealed_at = None, None, None, 0
        self.damaged_at, self.conflicting_at = [], []
        self.time = self.newest = self.tick = None

    def take(self, raw):
        """A whole line with its LF."""
        self.place += 1
        line = decode(raw[:-1]) if len(raw) <= LONGEST + 1 else decode(b"")
        self.closing = None
        if line.name != "@seal":
            self.seals.add(raw, line.kind == "damaged")
        if line.kind == "damaged" or line.name == "@damaged":
            self._count("damaged", self.damaged_at)
        elif line.kind == "controller":
            self._controller(line)
        elif not line.known:
            self._count("unknown")
        else:
            self._host(line)

    def _count(self, kind, places=None):
        self.lines[kind] += 1
        if places is not None and len(places) < PLACES:
            places.append(self.place)

    def _host(self, line):
        self._count("used")
        self.extra += line.extra
        name, fields = line.name, line.fields
        if name == "@droplog":
            if fields[1] != "1" or self.header:
                raise Refused(f"line {self.place}: " + ("a second run" if self.header else f"version {fields[1]!r}"))
            self.header, self.run = True, unquote(fields[2]).decode("utf-8", "replace")
        elif name in ("@set", "@channel"):
            self.late_settings += self.begun
        elif name == "@sent":
            self.run_of.sent(unquote(fields[1]))
        elif name == "@confirmed":
            self.run_of.confirmed = True
        elif name == "@resumed":
            self.resumed += 1
        elif name == "@ending":
            self.ending = (self.place, fields[1])
        elif name == "@seal":
            self.seals.check(line, self.place)
            self.sealed_at = self.place
        elif name == "@close":
            self.closing = fields

    def _controller(self, line):
        kind, skipped, new_boot = self.sequence.place(line)
        if kind:
            return self._count(kind, self.conflicting_at if kind == "conflicting" else None)
        if new_boot:
            self.run_of.boot(self.boots > 0)
            self.boots += 1
            self.lost, self.lost_now = self.lost + self.lost_now, 0
            self.time = None
        self.gaps += skipped > 0
        self.missing += skipped
        behind = self._time(line.tick)
        if behind > OUT_OF_ORDER_US:
            return self._count("out_of_order")
        self.late += behind > LATE_US
        if not line.known:
            return self._count("unknown")
        self._count("used")
        self.extra += line.extra
        if line.name == "beat":
            self.lost_now = max(self.lost_now, int(line.fields[4]))
        self.begun = self.begun or line.name not in ("hello", "beat")
        self.run_of.take(line)

    def _time(self, tick):
        """7.3: how far the line is behind the newest."""
        if self.time is None:
            self.time, self.newest = tick, 0
        else:
            self.time += signed(tick - self.tick)
        self.tick = tick
        behind = self.newest - self.time
        self.newest = max(self.newest, self.time)
        return behind

    def result(self):
        if not self.lines["used"]:
            raise Refused("not one line of it is used")
        self.lost += self.lost_now
        reason = unquote(self.closing[1]).decode("utf-8", "replace") if self.closing else None
        unsealed = self.seals.lines - (self.closing is not None)
        if self.closing and unsealed and (self.seals.count or self.seals.damage):
            self.seals.bad(self.place)
        incomplete, unsound = self._incomplete(reason), self._unsound()
        is_signed, bad = self._signature()
        return {
            "run": self.run, "lines": self.lines, "lost": self.lost, "sequence_gaps": self.gaps,
            "missing_lines": self.missing, "boots": self.boots, "resumed": self.resumed, "late": self.late,
            "extra_fields": self.extra, "late_settings": self.late_settings, "damaged_at": self.damaged_at,
            "conflicting_at": self.conflicting_at, "torn_tail": self.torn, "close_reason": reason,
            "seals": {"count": self.seals.count, "intact": self.seals.first_bad is None,
                      "first_bad_line": self.seals.first_bad, "first_bad_block_start": self.seals.first_bad_from,
                      "unsealed_lines": unsealed},
            "signed": is_signed, "bad_signature": bad,
            "public_key": (self.closing or ["", "", ""])[2] or None,
            "reason_covered": bool(self.closing and self.ending and self._ending_agrees() and self.seals.first_bad is None),
            "starts": self.run_of.starts,
            "complete": not incomplete, "sound": not incomplete and not unsound and not bad,
            "faults": incomplete + unsound + (["the signature does not fit"] if bad else []),
        }

    def _incomplete(self, reason):
        """7.4"""
        faults = [] if self.closing else ["it does not end with @close"]
        faults += ["its last line is torn off"] if self.torn else []
        faults += [f"{self.lost} lines lost by the controller"] if self.lost else []
        faults += [f"{self.missing} lines are missing"] if self.gaps else []
        faults += [f"{self.lines['out_of_order']} lines out of order"] if self.lines["out_of_order"] else []
        return faults + self.run_of.finish(reason)

    def _unsound(self):
        """7.5, but for completeness and signature."""
        faults = [f"{self.lines['conflicting']} lines in conflict"] if self.lines["conflicting"] else []
        if self.seals.first_bad is not None:
            faults.append(f"the seal in line {self.seals.first_bad} does not hold")
        elif not self.seals.count:
            faults.append("no seals")
        if self.closing and self.ending and not self._ending_agrees():
            faults.append("@ending and @close do not agree")
        return faults

    def _ending_agrees(self):
        """6.5: right before the last seal, with the same REASON."""
        return self.ending == (self.sealed_at - 1, self.closing[1])

    def _signature(self):
        if not self.closing or self.closing[2:4] == ["", ""]:
            return False, False
        try:
            key, signature = bytes.fromhex(self.closing[2]), bytes.fromhex(self.closing[3])
        except ValueError:
            return False, True
        holds = self.seals.count > 0 and ed25519.verifies(key, signature, self.seals.last)
        return holds, not holds


def read(data):
    """The result for the bytes of a log; raises Refused."""
    reader = Reader()
    *lines, torn = data.split(b"\n")
    for line in lines:
        reader.take(line + b"\n")
    reader.torn = bool(torn)
    return reader.result()


def main():
    status = 0
    for name in sys.argv[1:]:
        try:
            found = read(pathlib.Path(name).read_bytes())
            status = max(status, 0 if found["sound"] else 2)
        except (OSError, Refused) as refusal:
            found, status = {"refused": str(refusal)}, 65
        print(json.dumps({"file": name, **found}, indent=2))
    return status


if __name__ == "__main__":
    sys.exit(main() if len(sys.argv) > 1 else 64)

"""Reads a droplog for the reference audit, written from the format's description only: CRC, SEQ, boots, ticks."""
from dataclasses import dataclass, field
from urllib.parse import unquote

HOST_FIELDS = {"@droplog": 3, "@set": 2, "@channel": 3, "@sent": 1, "@at": 2, "@note": 1, "@damaged": 1,
               "@resumed": 1, "@seal": 2, "@close": 3}
CONTROLLER_FIELDS = {"hello": 4, "travel": 1, "drop": 4, "pulse": 4, "beat": 2, "fault": 2, "armed": 0, "started": 0,
                     "halted": 0, "refused": 1}


def crc16(data):
    value = 0xFFFF
    for byte in data:
        value ^= byte << 8
        for _ in range(8):
            value = ((value << 1) ^ 0x1021 if value & 0x8000 else value << 1) & 0xFFFF
    return value


@dataclass
class Segment:
    """One boot's part of the run: (time, …) rows in time order."""
    travel: list = field(default_factory=list)
    drops: list = field(default_factory=list)   # time, channel, index, position, count
    pulses: list = field(default_factory=list)  # time, channel, gate


@dataclass
class Log:
    settings: dict = field(default_factory=dict)
    channels: dict = field(default_factory=dict)
    segments: list = field(default_factory=list)
    counts: dict = field(default_factory=lambda: dict.fromkeys(
        ("used", "unknown", "damaged", "repeated", "conflicting", "out_of_order"), 0))
    gaps: int = 0
    lost: int = 0
    closed: bool = False
    torn: bool = False

    @property
    def complete(self):
        return self.closed and not self.torn and self.lost == 0 and self.gaps == 0 and \
            self.counts["out_of_order"] == 0


def checked(raw):
    """The body of a line that is what it says, else nothing."""
    if len(raw) + 1 > 240 or raw[-5:-4] != b"*":
        return None
    body = raw[:-5]
    if b"%04X" % crc16(body) != raw[-4:] or any(not 32 <= c < 127 for c in body):
        return None
    return body.decode()


class Reader:
    def __init__(self):
        self.log = Log()
        self.boot = None
        self.seen = {}
        self.next_seq = None
        self.tick = None
        self.time = 0
        self.boot_lost = 0
        self.running = False

    def read(self, data):
        *lines, tail = data.split(b"\n")
        self.log.torn = tail != b""
        for raw in lines:
            self.log.closed = False
            self.take(raw)
        self.log.lost += self.boot_lost
        for segment in self.log.segments:
            for rows in (segment.travel, segment.drops, segment.pulses):
                rows.sort(key=lambda row: row[0])
        return self.log

    def count(self, what):
        self.log.counts[what] += 1

    def take(self, raw):
        body = checked(raw)
        if body is None:
            return self.count("damaged")
        fields = body.split(",")
        if body.startswith("@"):
            return self.take_host(fields)
        if len(fields) < 3 or not (fields[1].isdigit() and fields[2].isdigit()):
            return self.count("unknown")
        known = CONTROLLER_FIELDS.get(fields[0])
        if known is not None and len(fields) - 3 < known:
            return self.count("damaged")
        self.take_controller(body, fields, known is not None)

    def take_host(self, fields):
        if fields[0] not in HOST_FIELDS:
            return self.count("unknown")
        if fields[0] == "@damaged":
            return self.count("damaged")
        self.count("used")
        if fields[0] == "@set" and not self.running:
            self.log.settings[unquote(fields[1])] = unquote(fields[2])
        elif fields[0] == "@channel" and not self.running:
            self.log.channels.setdefault(int(fields[1]), {})[unquote(fields[2])] = unquote(fields[3])
        elif fields[0] == "@close":
            self.log.closed = True

    def take_controller(self, body, fields, known):
        seq = int(fields[1])
        boot = fields[4] if fields[0] == "hello" else None
        if not self.log.segments or (boot and self.boot and boot != self.boot):
            self.begin_boot(0 if self.log.segments else seq)
        self.boot = boot or self.boot
        if seq in self.seen:
            return self.count("repeated" if self.seen[seq] == body else "conflicting")
        if seq < self.next_seq:
            return self.count("out_of_order")
        self.log.gaps += seq > self.next_seq
        self.seen[seq] = body
        self.next_seq = seq + 1
        self.unwrap(int(fields[2]))
        self.count("used" if known else "unknown")
        if known:
            self.enter(fields)

    def begin_boot(self, first_seq):
        self.log.lost += self.boot_lost
        self.boot_lost = 0
        self.log.segments.append(Segment())
        self.boot, self.seen, self.tick, self.next_seq = None, {}, None, first_seq

    def unwrap(self, tick):
        if self.tick is None:
            self.time = tick
        else:
            step = (tick - self.tick) % 2**32
            self.time += step if step < 2**31 else step - 2**32
        self.tick = tick

    def enter(self, fields):
        segment = self.log.segments[-1]
        numbers = fields[3:]
        self.running |= fields[0] not in ("hello", "beat")
        if fields[0] == "travel":
            segment.travel.append((self.time, int(numbers[0])))
        elif fields[0] == "drop":
            segment.drops.append((self.time, *map(int, numbers[:4])))
        elif fields[0] == "pulse":
            segment.pulses.append((self.time, *map(int, numbers[:2])))
        elif fields[0] == "beat":
            self.boot_lost = max(self.boot_lost, int(numbers[1]))

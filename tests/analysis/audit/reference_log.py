"""Reads a droplog for the reference audit, written from the format's description only: CRC, SEQ, boots, ticks."""
from dataclasses import dataclass, field
from urllib.parse import unquote

HOST_FIELDS = {"@droplog": 3, "@set": 2, "@channel": 3, "@sent": 1, "@at": 2, "@note": 1, "@damaged": 1,
               "@resumed": 1, "@confirmed": 1, "@ending": 1, "@seal": 2, "@close": 3}
CONTROLLER_FIELDS = {"hello": 4, "travel": 1, "drop": 4, "pulse": 4, "beat": 2, "fault": 2, "armed": 0, "started": 0,
                     "halted": 0, "refused": 1}


def crc_of_byte(byte):
    value = byte << 8
    for _ in range(8):
        value = ((value << 1) ^ 0x1021 if value & 0x8000 else value << 1) & 0xFFFF
    return value


CRC_OF_BYTE = [crc_of_byte(byte) for byte in range(256)]


def crc16(data):
    value = 0xFFFF
    for byte in data:
        value = ((value << 8) & 0xFFFF) ^ CRC_OF_BYTE[(value >> 8) ^ byte]
    return value


@dataclass
class Segment:
    """A part of the run in which travel and INDEX run on: (time, …) rows in time order."""
    travel: list = field(default_factory=list)
    drops: list = field(default_factory=list)   # time, channel, index, position, count
    pulses: list = field(default_factory=list)  # time, channel, gate


@dataclass
class Boot:
    """Every used line since a boot, in file order: (time, name, fields after TICK as text)."""
    lines: list = field(default_factory=list)


@dataclass
class Log:
    settings: dict = field(default_factory=dict)
    channels: dict = field(default_factory=dict)
    boots: list = field(default_factory=list)
    segments: list = field(default_factory=list)
    story: list = field(default_factory=list)  # (name, fields): used lines of host and controller, and ("boot", [])
    counts: dict = field(default_factory=lambda: dict.fromkeys(
        ("used", "unknown", "damaged", "repeated", "conflicting", "out_of_order"), 0))
    gaps: int = 0
    lost: int = 0
    jumps: int = 0     # travel lines that no machine can have driven to, and that no later line agrees with
    set_anew: int = 0  # times that travel went on from another place
    closed: str | None = None  # the reason
    torn: bool = False

    @property
    def contradicts(self):
        """It does not agree with itself: not where only its end, or the order, is missing."""
        return self.lost > 0 or self.gaps > 0 or self.counts["out_of_order"] > 0 or self.counts["conflicting"] > 0 or \
            bool(lacking(self.story, self.closed) - {"order"})

    def faulty(self, channel):
        """The controller reported the unit's motor or valve, or the voltage."""
        return any(name == "fault" and int(fields[0]) in (-1, channel) and
                   fields[1] in ("motor_stall", "valve_stuck", "low_voltage", "gate_blocked") for name, fields in self.story)

    @property
    def complete(self):
        return self.closed is not None and not self.torn and self.lost == 0 and self.gaps == 0 and \
            self.counts["out_of_order"] == 0 and not lacking(self.story, self.closed)


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
            self.log.closed = None
            self.take(raw)
        self.log.lost += self.boot_lost
        self.log.segments = [segment for boot in self.log.boots for segment in segments_of(boot, self.log)]
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
            self.log.closed = unquote(fields[1])
        self.log.story.append((fields[0], fields[1:]))

    def take_controller(self, body, fields, known):
        seq = int(fields[1])
        boot = fields[4] if fields[0] == "hello" else None
        if not self.log.boots or (boot and self.boot and boot != self.boot):
            self.begin_boot(0 if self.log.boots else seq)
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
        self.log.boots.append(Boot())
        self.log.story.append(("boot", []))
        self.boot, self.seen, self.tick, self.next_seq = None, {}, None, first_seq

    def unwrap(self, tick):
        if self.tick is None:
            self.time = tick
        else:
            step = (tick - self.tick) % 2**32
            self.time += step if step < 2**31 else step - 2**32
        self.tick = tick

    def enter(self, fields):
        self.running |= fields[0] not in ("hello", "beat")
        self.log.story.append((fields[0], fields[3:]))
        self.log.boots[-1].lines.append((self.time, fields[0], fields[3:]))
        if fields[0] == "beat":
            self.boot_lost = max(self.boot_lost, int(fields[4]))


def drivable(earlier, later):
    """50 m/s, and 10 mm that an encoder may tremble."""
    return abs(later[1] - earlier[1]) <= 50 * (later[0] - earlier[0]) + 10_000


def segments_of(boot, log):
    """Lines in tick order; a second start begins a segment, and so do two travel lines that no machine can have driven to
    but that agree with each other. A single such line is left out."""
    segments, jump, starts = [Segment()], None, 0
    for time, name, fields in sorted(boot.lines, key=lambda line: line[0]):
        if name == "started":
            starts += 1
            if starts > 1:
                segments.append(Segment())
                jump = None
        here = segments[-1]
        if name == "drop":
            here.drops.append((time, *map(int, fields[:4])))
        elif name == "pulse":
            here.pulses.append((time, *map(int, fields[:2])))
        elif name == "travel":
            knot = (time, int(fields[0]))
            if not here.travel or drivable(here.travel[-1], knot):
                here.travel.append(knot)
                jump = None
            elif jump and drivable(jump, knot):
                segments.append(Segment(travel=[jump, knot]))
                jump = None
                log.jumps -= 1
                log.set_anew += 1
            else:
                jump = knot
                log.jumps += 1
    return segments


def order_in(sent):
    """DROPS and the channels of an `arm` line, and whether it asks for a line."""
    body = checked(unquote(sent).encode())
    fields = body.split(",") if body else []
    if len(fields) < 7 or fields[0] != "arm" or not (fields[5].isdigit() and fields[6].isdigit()):
        return None
    return int(fields[6]), {bit for bit in range(64) if int(fields[5]) >> bit & 1}, fields[1] == "line"


def lacking(story, closed):
    """What the log lacks of a whole run, or has too much of it."""
    missing, parts = set(), [{}]
    greeted = started = running = halted = confirmed = False
    starts, sent, order, last = 0, None, None, {}
    whole, together = None, {}
    for name, fields in story:
        if name in ("boot", "started"):
            if name == "boot":
                missing |= {"reset"} if running else set()
                greeted = started = running = False
            else:
                missing |= set() if greeted else {"hello"}
                starts += 1
                missing |= {"starts"} if starts > 1 and (not confirmed or running) else set()
                whole = sent if starts == 1 else whole
                started = running = True
                halted = confirmed = False
                order, last = sent, {}
            parts.append({})
        elif name == "hello":
            greeted = True
        elif name == "halted":
            halted, running = True, False
        elif name == "@confirmed":
            confirmed = True
        elif name == "@sent":
            sent = order_in(fields[0]) or sent
        elif name == "drop":
            missing |= set() if started else {"started"}
            missing |= {"halted drop"} if started and not running else set()
            parts[-1].setdefault(int(fields[0]), []).append(int(fields[1]))
            channel, done = int(fields[0]), last.get(int(fields[0]), 0)
            last[channel] = max(done, int(fields[1]) + 1)
            together[channel] = together.get(channel, 0) + last[channel] - done
    for part in parts:
        for indices in part.values():
            if sorted(indices) != list(range(len(indices))):
                missing.add("index")
    missing |= set() if starts else {"started"}
    if starts and closed == "count":
        missing |= set() if halted else {"halted"}
        if order is None:
            missing.add("order")
        elif not order[2] and {c: n for c, n in last.items() if n} != {c: order[0] for c in order[1] if order[0]}:
            missing.add("count")
        elif starts > 1 and whole and not whole[2] and whole[0] and \
                {c: n for c, n in together.items() if n} != {c: whole[0] for c in whole[1]}:
            missing.add("count")
    return missing

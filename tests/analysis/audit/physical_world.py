"""A bench's physics, written apart from the program and from its own simulation: what was commanded, what fell, what each gate
shows of it. Faults are functions of the drop's number, so that the truth of every drop is known. All of it is invented.

Lengths mm, speeds m/s, times s where nothing else is said; what a unit is made of in ms.
"""
import hashlib
import math
import random
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import Callable
from urllib.parse import quote

from nasty_logs import sealed


class Belt:
    """The way travelled, in steps of 200 ms, at a speed that is a function of time."""
    step = 0.2

    def __init__(self, speed=lambda t: 0.25):
        self.speed, self.way = speed, [0.0]

    def until(self, done):
        while not done(self):
            self.way.append(self.way[-1] + 1000 * self.speed(self.step * (len(self.way) - 1)) * self.step)

    def time_at(self, place):
        self.until(lambda belt: belt.way[-1] > place)
        k = bisect_right(self.way, place) - 1
        return self.step * (k + (place - self.way[k]) / (self.way[k + 1] - self.way[k]))


@dataclass
class Gate:
    """What a beam makes of the seeds that pass it."""
    sees: Callable = lambda k: 0.999  # the chance that a seed is seen at all
    depth: Callable = lambda k: 300
    shallowest: float = 0.0  # what dims it less is no pulse
    merges_us: float = 0.0   # seeds that follow so closely are one pulse
    echoes: float = 0.0      # chance that a seed is seen once more, 3 ms later
    dust: float = 0.0        # chance of a speck at any time of a drop


@dataclass
class Unit:
    name: str = "U-1"
    miss: Callable = lambda k: 0.01
    double: Callable = lambda k: 0.01
    late_ms: Callable = lambda k: 0.0  # behind what the lead allows for
    scatter_mm: float = 4.0
    seed_log_sd: float = 0.0           # of the seeds' size
    portion: Callable | None = None    # (random, k) -> seeds
    gate0: Gate | None = None
    gate1: Gate = field(default_factory=Gate)


LAG_MS, TO_GATE_MS, FALL_MS, BEFORE_MS = 18, 280, 20, 500


class World:
    """A run: `lines` are its droplog. `after(world)` may change its events before they are numbered."""

    def __init__(self, seed, units, drops=500, spacing=180.0, speed=0.25, belt=None, count=1, after=None, ends="count"):
        self.seed, self.random, self.units, self.drops = seed, random.Random(seed), units, drops
        self.spacing, self.speed, self.count, self.ends = spacing, speed, count, ends
        self.belt = belt or Belt(lambda t: speed)
        self.events = []  # (µs, name, fields)
        for channel, unit in enumerate(units):
            for k in range(drops):
                self.sow(channel, unit, k)
        if after:
            after(self)

    def add(self, time, name, *fields):
        self.events.append((round(time * 1e6), name, fields))

    def sow(self, channel, unit, k):
        r, place = self.random, 500 + 500 * self.speed + k * self.spacing
        opened = self.belt.time_at(place) - (LAG_MS + TO_GATE_MS + FALL_MS) / 1000
        self.add(opened, "drop", channel, k, round(1000 * place), self.count)
        seeds = self.seeds_of(unit, k)
        late = unit.late_ms(k) + r.gauss(0, unit.scatter_mm) / self.belt.speed(opened)
        falls = [opened + (LAG_MS + late) / 1000]
        while len(falls) < seeds:
            falls.append(falls[-1] + max(0.3, r.gauss(8, 2)) / 1000)
        falls = [(time, math.exp(r.gauss(0, unit.seed_log_sd))) for time in falls[:seeds]]
        self.show(channel, 1, unit.gate1, k, [(time + TO_GATE_MS / 1000, size) for time, size in falls])
        if unit.gate0:
            self.show(channel, 0, unit.gate0, k, [(time - BEFORE_MS / 1000, size) for time, size in falls])
        for number, gate in ((0, unit.gate0), (1, unit.gate1)):
            if gate and r.random() < gate.dust:
                self.add(opened + r.random() * self.spacing / 1000 / self.speed, "pulse", channel, number, 120, 120)

    def seeds_of(self, unit, k):
        if unit.portion:
            return unit.portion(self.random, k)
        if self.random.random() < unit.miss(k):
            return 0
        return 1 + (self.random.random() < unit.double(k))

    def show(self, channel, number, gate, k, falls):
        last = -math.inf
        for time, size in falls:
            depth = gate.depth(k) * size * math.exp(self.random.gauss(0, 0.1))
            if self.random.random() >= gate.sees(k) or depth < gate.shallowest or 1e6 * (time - last) < gate.merges_us:
                continue
            last = time
            self.add(time, "pulse", channel, number, 1700, round(min(1000, depth)))
            if self.random.random() < gate.echoes:
                self.add(time + 0.003, "pulse", channel, number, 1700, round(min(1000, depth)))

    def settings(self):
        mode = "portion" if self.count > 1 else "single"
        yield f"@droplog,1,00000000-0000-4000-8000-{self.seed:012},2026-01-01T00:00:00Z"
        for key, value in (("mode", mode), ("spacing_um", round(1000 * self.spacing)), ("count", self.count),
                           ("speed_um_s", round(1e6 * self.speed))):
            yield f"@set,{key},{value}"
        for channel, unit in enumerate(self.units):
            gates = {"gate1_place": "below", "gate1_fall_us": 1000 * FALL_MS} | ({"gate0_place": "above"} if unit.gate0 else {})
            for key, value in ({"unit": unit.name, "lead_us": 1000 * (LAG_MS + TO_GATE_MS + FALL_MS)} | gates).items():
                yield f"@channel,{channel},{key},{value}"
        order = f"arm,{mode},{round(1000 * self.spacing)},{self.count},{round(1e6 * self.speed)},{2**len(self.units) - 1},{self.drops}"
        yield "@sent," + quote(sealed(order)[:-1].decode(), safe="")

    def bytes(self):
        end = max(time for time, _, _ in self.events) / 1e6 + 1.5
        self.belt.until(lambda belt: belt.step * len(belt.way) > end + 1)
        ways = [(round(1e6 * Belt.step * k), "travel", (round(1000 * way),)) for k, way in enumerate(self.belt.way)
                if Belt.step * k <= end]
        beats = [(time, "beat", (0, 0)) for time in range(900_000, ways[-1][0], 900_000)]
        events = [(0, "hello", (1, "B0", len(self.units), "f")), (0, "armed", ()), (0, "started", ())]
        events += sorted(self.events + ways + beats, key=lambda event: event[0]) + [(ways[-1][0], "halted", (self.ends,))]
        lines = [",".join(map(str, (name, seq, time, *fields))) for seq, (time, name, fields) in enumerate(events)]
        return chained([sealed(line) for line in [*self.settings(), *lines, "@ending," + self.ends]]) + sealed(f"@close,{self.ends},,")


def chained(lines):
    out, last = [], bytes(32)
    for k in range(0, len(lines), 900):
        block = lines[k:k + 900]
        last = hashlib.sha256(last + b"".join(block)).digest()
        out += [*block, sealed(f"@seal,{len(block)},{last.hex()}")]
    return b"".join(out)


def overhears(share, source, victim, jitter_us=0):
    """The victim's cable picks up pulses of the other channel's bench gate."""
    def after(world):
        world.events += [(time + world.random.randint(0, jitter_us), name, (victim, *fields[1:]))
                         for time, name, fields in list(world.events)
                         if name == "pulse" and fields[:2] == (source, 1) and world.random.random() < share]
    return after

"""A night of a whole machine, unit by unit, with its truth: the second, independent maker of nights.

Unlike `nights`, faults are states of parts, times are seconds, and the table comes as telegrams of a machine (`telegrams`)."""
import random
from dataclasses import dataclass, field as member

from alarms import Alarm
from drive import drive
from breakdowns import break_some
from parts import Moment, Unit
from telegrams import Telegrams


@dataclass
class Drop:
    time: float
    target: int
    fell: int
    seen: int
    alert: bool = False


@dataclass
class Night:
    rows: list
    passes: list
    drops: dict = member(default_factory=dict)   # (pass number, row) -> list of Drop
    alerts: dict = member(default_factory=dict)  # (pass number, row, drop number) -> seed missing where it points
    stated: dict = member(default_factory=dict)
    telegrams: object = None

    def lost(self):
        return sum(one.target > one.fell for line in self.drops.values() for one in line)

    def missing_share(self, number, row, first, last):
        begin = self.telegrams.first_drop(number)
        line = self.drops[number, row][first - begin:last + 1 - begin]
        return sum(one.target > one.fell for one in line) / len(line)

    def write(self, path):
        path.write_bytes(self.telegrams.table(self))


def tramlines(draw, rows, passes):
    """Rows and passes where nothing is to fall, for wheels to drive on later."""
    if rows < 6 or draw.random() < 0.7:
        return set()
    pair, every = draw.randint(2, rows - 3), draw.randint(3, 4)
    return {(one.number, row) for i, one in enumerate(passes) if i % every == 1 for row in (pair, pair + 2)}


def sow(draw, night, off):
    for row, unit in enumerate(night.rows, 1):
        for one in night.passes:
            line = []
            for at in range(one.drops):
                moment = Moment(one.begins_s + at * one.step_s, one.speed, at, night.passes.index(one), one.dusty_way)
                closed = (one.number, row) in off
                fell, seen = (0, 0) if closed else unit.drop(moment, draw)
                line.append(Drop(moment.time, 0 if closed else 1, fell, seen))
            night.drops[one.number, row] = line


def raise_alarms(night, alarm):
    for row in range(1, len(night.rows) + 1):
        lines = [[(drop.time, drop.target > 0 and drop.seen == 0, (one.number, at))
                  for at, drop in enumerate(night.drops[one.number, row])] for one in night.passes]
        for (number, at), cause in alarm.of_row(lines):
            night.drops[number, row][at].alert = True
            lost = sum(night.drops[p, row][i].fell == 0 for p, i in cause)
            night.alerts[number, row, at + night.telegrams.first_drop(number)] = 2 * lost > len(cause)


def state(draw, night, knowledge):
    for row, unit in enumerate(night.rows, 1):
        fresh = unit.sensor.fresh
        if knowledge == "exact" or (knowledge == "some" and draw.random() < 0.5):
            night.stated[row] = fresh
        elif knowledge == "stale":   # as it was when it was clean
            night.stated[row] = max(draw.uniform(0.98, 0.998), fresh)
        elif knowledge == "wrong":
            night.stated[row] = min(0.999, max(0.6, fresh + draw.choice([-0.1, -0.03, 0.03, 0.08])))


def make_night(seed, kinds, knowledge="none"):
    draw = random.Random(f"machine {seed}")
    rows = draw.randint(4, 9)
    passes = drive(draw, rows)
    night = Night([Unit(draw) for _ in range(rows)], passes)
    break_some(draw, night.rows, passes, kinds)
    night.telegrams = Telegrams(draw, passes)
    sow(draw, night, tramlines(draw, rows, passes))
    raise_alarms(night, Alarm(draw))
    state(draw, night, knowledge)
    return night

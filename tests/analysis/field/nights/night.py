"""A night of sowing with known truth: where the machine drove, what fell, what its sensors saw, when it raised alerts.

Invented and seeded. Written apart from the audit's code and from the program's own simulator."""
import math
import random
from dataclasses import dataclass, field as member

from faults import Course, rows_of


@dataclass
class Drop:
    time: float
    lat: float
    lon: float
    seen: int
    missing: bool
    alert: bool = False


@dataclass
class Night:
    rows: list
    course: Course
    spacing_m: float
    alert_rule: tuple
    drops: dict = member(default_factory=dict)   # (pass, row) from 1 -> list of Drop
    alerts: dict = member(default_factory=dict)  # (pass, row, drop) -> seed missing where it points
    stated: dict = member(default_factory=dict)  # row -> efficiency that the user states

    def lost(self):
        return sum(drop.missing for line in self.drops.values() for drop in line)

    def missing_share(self, number, row, first, last):
        line = self.drops[number, row][first:last + 1]
        return sum(drop.missing for drop in line) / len(line)

    def write(self, path):
        with open(path, "w") as out:
            out.write(",".join(HEADER) + "\n")
            for record in records(self):
                out.write(",".join(record) + "\n")


def field_frame(draw, lat, lon, offset_m):
    heading = draw.uniform(0.0, 2.0 * math.pi)
    north = 111_200.0
    east = north * math.cos(math.radians(lat))

    def place(along, across):
        x = math.sin(heading) * along + math.cos(heading) * across + offset_m[0]
        y = math.cos(heading) * along - math.sin(heading) * across + offset_m[1]
        return lat + y / north, lon + x / east
    return place


def alert_places(rule, silent):
    """Drops at which the machine raises an alert, and the silent drops that made it do so."""
    kind, found = rule[0], []
    if kind == "rate":
        _, most, window = rule
        armed = True
        for at in range(len(silent)):
            inside = [i for i in range(max(0, at - window + 1), at + 1) if silent[i]]
            if len(inside) >= most and armed:
                found.append((at, inside))
            armed = len(inside) < most
        return found
    _, run, late, again = rule
    length = 0
    for at, one in enumerate(silent):
        length = length + 1 if one else 0
        if length == run or (again and length > run and (length - run) % again == 0):
            if at + late < len(silent):
                found.append((at + late, list(range(at - length + 1, at + 1))))
    return found


def draw_rule(draw):
    run = draw.randint(1, 5)
    again = draw.choice([0, 25])
    return draw.choice([("run", run, 0, again), ("run", run, 0, again), ("run", run, draw.randint(3, 40), again),
                        ("rate", draw.randint(3, 6), draw.randint(10, 30))])


def sow_row(draw, night, row, places, pass_s):
    fault, at = night.rows[row - 1], 0
    for number, length in enumerate(night.course.lengths, 1):
        line = []
        for drop in range(length):
            missing = draw.random() < fault.missing.get(at, 0.0) or draw.random() < fault.miss
            blind = draw.random() < fault.blind.get(at, 0.0) or draw.random() > fault.efficiency
            seeds = 0 if missing else 2 if draw.random() < fault.doubles else 1
            lat, lon = places(number, row, drop)
            line.append(Drop(pass_s[number - 1] + 0.8 * drop, lat, lon, 0 if blind else seeds, missing))
            at += 1
        for place, cause in alert_places(night.alert_rule, [one.seen == 0 for one in line]):
            line[place].alert = True
            night.alerts[number, row, place] = 2 * sum(line[i].missing for i in cause) > len(cause)
        night.drops[number, row] = line


def state_efficiencies(draw, night, knowledge):
    for row, fault in enumerate(night.rows, 1):
        if knowledge == "exact":
            night.stated[row] = fault.efficiency
        elif knowledge == "some" and draw.random() < 0.5:
            night.stated[row] = fault.efficiency
        elif knowledge == "stale":  # from before the windows got dirty
            night.stated[row] = draw.uniform(0.98, 0.998)
        elif knowledge == "wrong":
            night.stated[row] = min(0.999, max(0.6, fault.efficiency + draw.choice([-0.1, -0.03, 0.03, 0.08])))


def make_night(seed, kinds, knowledge="none", rule=None):
    draw = random.Random(f"night {seed}")
    lengths, starts = [], []
    for _ in range(draw.randint(1, 3)):
        starts.append(len(lengths))
        longest = draw.randint(180, 600)
        lengths += [longest + draw.randint(-20, 20) for _ in range(draw.randint(5, 12))]
    course = Course(lengths, starts)
    count, spacing, row_m = draw.randint(5, 10), draw.uniform(0.12, 0.35), draw.uniform(0.4, 0.75)
    night = Night(rows_of(draw, course, count, kinds), course, spacing, rule or draw_rule(draw))
    lat, lon = draw.uniform(-50, 60), draw.uniform(-170, 170)
    frames = [field_frame(draw, lat, lon, (draw.uniform(500, 900) * i, draw.uniform(-300, 300))) for i in range(len(starts))]
    bend = draw.choice([0.0, 0.0, 2e-4])

    def places(number, row, drop):
        which = max(i for i, first in enumerate(starts) if number - 1 >= first)
        inside = number - 1 - starts[which]
        back = inside % 2 == 1
        along = spacing * (lengths[number - 1] - 1 - drop if back else drop)
        across = row_m * (count * inside + (count - row if back else row - 1))
        return frames[which](along, across + bend * along * along)

    pass_s, now = [], 1_776_196_800.0
    for number, length in enumerate(lengths):
        pass_s.append(now)
        now += 0.8 * length + 40.0 + (1200.0 if number + 1 in starts else 0.0)
    for row in range(1, count + 1):
        sow_row(draw, night, row, places, pass_s)
    state_efficiencies(draw, night, knowledge)
    return night


HEADER = ["time", "pass", "row", "drop", "lat", "lon", "target", "seen", "alert"]


def records(night):
    """Rows of the table in the order in which the machine wrote them."""
    for number, length in enumerate(night.course.lengths, 1):
        for drop in range(length):
            for row in range(1, len(night.rows) + 1):
                one = night.drops[number, row][drop]
                yield [f"{one.time:.1f}", str(number), str(row), str(drop), f"{one.lat:.8f}", f"{one.lon:.8f}", "1",
                       str(one.seen), "1" if one.alert else "0"]


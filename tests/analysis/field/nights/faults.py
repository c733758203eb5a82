"""Units and sensors of a night, each with at most one fault; invented, written from how such machines fail.

A fault answers two questions at every drop: does no seed fall, and is the sensor blind? Nothing here knows how an audit
judges. Strengths are drawn widely."""
import math
import random
from dataclasses import dataclass, field as member


@dataclass
class Course:
    """The drops of one row over the night, pass by pass: `lengths` drops each; `fields` says where a field begins."""
    lengths: list
    field_starts: list

    @property
    def drops(self):
        return sum(self.lengths)

    def pass_of(self, at):
        for number, length in enumerate(self.lengths):
            if at < length:
                return number
            at -= length
        return len(self.lengths) - 1

    def start_of(self, number):
        return sum(self.lengths[:number])


@dataclass
class Fault:
    kind: str = "healthy"
    missing: dict = member(default_factory=dict)  # drop of the night -> chance that no seed falls
    blind: dict = member(default_factory=dict)    # drop of the night -> chance that the sensor overlooks it
    miss: float = 0.005
    efficiency: float = 0.995
    doubles: float = 0.01
    changes: bool = False                         # the sensor is not the same all night


def healthy(draw, course):
    return Fault(miss=math.exp(draw.uniform(math.log(0.0005), math.log(0.015))), efficiency=draw.uniform(0.985, 0.9995),
                 doubles=draw.uniform(0.001, 0.03))


def stretches(draw, course, count, mean, least=3):
    """Some lengths of the night that do not meet."""
    found, tries = [], 0
    while len(found) < count and tries < 200:
        tries += 1
        length = max(least, int(draw.expovariate(1.0 / mean)))
        first = draw.randrange(0, max(1, course.drops - length))
        if all(first + length + 15 < a or b + 15 < first for a, b in found):
            found.append((first, min(first + length, course.drops)))
    return sorted(found)


def bridging(draw, course):
    fault = healthy(draw, course)
    fault.kind, leak = "bridging", draw.choice([0.0, 0.02, 0.1])
    for first, end in stretches(draw, course, draw.randint(4, 25), draw.uniform(8, 50)):
        fault.missing.update((at, 1.0 - leak) for at in range(first, end))
    return fault


def cable_stretches(draw, course):
    return stretches(draw, course, draw.randint(3, 18), draw.uniform(8, 90), 4)


def cable(draw, course, gaps=None):
    fault = healthy(draw, course)
    fault.kind, fault.changes, leak = "cable", True, draw.choice([0.0, 0.0, 0.03])
    for first, end in gaps or cable_stretches(draw, course):
        shift = draw.choice([0, 0, 1]) if gaps else 0
        fault.blind.update((at, 1.0 - leak) for at in range(first + shift, min(end + shift, course.drops)))
    return fault


def fading(draw, course):
    fault = healthy(draw, course)
    fault.kind, fault.changes = "gate_fading", True
    worst, shape, n = draw.uniform(0.25, 0.85), draw.choice(["line", "late", "steps", "cleaned", "early"]), course.drops
    begin = int(n * draw.uniform(0.0, 0.5)) if shape == "late" else 0
    for at in range(begin, n):
        part = (at - begin) / max(1, n - begin)
        if shape == "steps":
            part = course.pass_of(at) / max(1, len(course.lengths) - 1)
        if shape == "cleaned":
            part = min(1.0, 2.0 * part) if part < 0.6 else 0.0
        if shape == "early":
            part = math.sqrt(part)
        fault.blind[at] = 1.0 - (0.995 + part * (worst - 0.995))
    return fault


def container(draw, course):
    fault = healthy(draw, course)
    fault.kind = "empty_container"
    rise = draw.randint(20, 250)
    begin = draw.randrange(int(0.3 * course.drops), int(0.9 * course.drops))
    end = course.drops
    if draw.random() < 0.4:  # filled up again at the end of a pass, or within one
        number = course.pass_of(begin)
        end = course.start_of(min(number + draw.randint(1, 3), len(course.lengths))) + draw.choice([0, 30])
    for at in range(begin, min(end, course.drops)):
        fault.missing[at] = min(1.0, (at - begin) / rise)
    return fault


def blocked_tube(draw, course):
    fault = healthy(draw, course)
    fault.kind = "blocked_tube"
    begin = draw.randrange(int(0.1 * course.drops), int(0.85 * course.drops))
    number = course.pass_of(begin)
    end = draw.choice([course.drops, course.start_of(number + 1), course.start_of(min(number + 2, len(course.lengths)))])
    fault.missing.update((at, 1.0) for at in range(begin, max(end, min(begin + 60, course.drops))))
    return fault


def valve_closed(draw, course):
    fault = healthy(draw, course)
    fault.kind = "valve_closed"
    length = draw.randint(40, 400)
    begin = draw.randrange(0, max(1, course.drops - length - 50))
    fault.missing.update((at, 1.0) for at in range(begin, begin + length))
    return fault


def bad_cell(draw, course):
    fault = healthy(draw, course)
    fault.kind = "bad_cell"
    cells, share, residue, anew = draw.randint(12, 60), draw.uniform(0.5, 1.0), draw.randrange(12), draw.random() < 0.5
    at = 0
    for length in course.lengths:
        for drop in range(length):
            if (drop if anew else at + drop) % cells == residue:
                fault.missing[at + drop] = share
        at += length
    return fault


def struck(draw, course):
    """A clod or a splash on the sensor's windows: of a sudden, or before the night, until it is wiped off or for good."""
    fault = healthy(draw, course)
    fault.kind, fault.changes, sees = "gate_struck", True, draw.choice([0.005, 0.02, draw.uniform(0.005, 0.12)])
    begin = draw.choice([0, draw.randrange(int(0.1 * course.drops), int(0.85 * course.drops))])
    end = draw.choice([course.drops, course.start_of(min(course.pass_of(begin) + draw.randint(2, 4), len(course.lengths)))])
    fault.blind.update((at, 1.0 - sees) for at in range(begin, end))
    return fault


def start_loss(draw, course):
    fault = healthy(draw, course)
    fault.kind = "start_loss"
    drops, often = draw.randint(2, 12), draw.uniform(0.6, 1.0)
    for number in range(len(course.lengths)):
        if draw.random() < often:
            first = course.start_of(number)
            fault.missing.update((at, 1.0) for at in range(first, first + drops))
    return fault


def double_feeding(draw, course):
    fault = healthy(draw, course)
    fault.kind, fault.doubles = "double_feeding", draw.uniform(0.09, 0.25)
    return fault


def dirty(draw, course):
    fault = healthy(draw, course)
    fault.kind, fault.efficiency = "dirty_gate", draw.choice([0.85, 0.95, draw.uniform(0.75, 0.955)])
    return fault


def worn_meter(draw, course):
    fault = healthy(draw, course)
    fault.kind, fault.miss = "meter", draw.uniform(0.05, 0.3)
    return fault


MAKERS = {"bridging": bridging, "cable": cable, "gate_fading": fading, "gate_struck": struck, "empty_container": container,
          "blocked_tube": blocked_tube, "valve_closed": valve_closed, "bad_cell": bad_cell, "start_loss": start_loss,
          "double_feeding": double_feeding, "dirty_gate": dirty, "meter": worn_meter}


def rows_of(draw, course, count, kinds):
    """`count` rows, of which some have one of `kinds`, the others none; a plug of the harness may take several."""
    rows = [healthy(draw, course) for _ in range(count)]
    places = list(range(count))
    draw.shuffle(places)
    faulty = max(1, int(count * draw.uniform(0.3, 0.65)))
    for kind in [draw.choice(kinds) for _ in range(faulty)]:
        if not places:
            break
        if kind == "plug":
            first, gaps = draw.randrange(0, count - 1), cable_stretches(draw, course)
            for row in range(first, min(count, first + draw.randint(2, 3))):
                if row in places:
                    places.remove(row)
                    rows[row] = cable(draw, course, gaps)
                    rows[row].kind = "plug"
            continue
        rows[places.pop()] = MAKERS[kind](draw, course)
    return rows

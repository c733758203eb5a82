"""What goes wrong with a unit's parts in a night; strengths drawn widely, times in seconds of the night."""
import math

from parts import Contact


def moment_within(draw, passes, low=0.05, high=0.9):
    """A time at which the machine drives, and its pass."""
    one = draw.choice(passes[int(low * len(passes)):max(1, math.ceil(high * len(passes)))])
    return one.begins_s + draw.random() * one.drops * one.step_s, one


def end_of(one):
    return one.begins_s + one.drops * one.step_s + 1.0


def spells(draw, passes, count, median_s, from_part=0.0):
    """Spells that do not meet, most of them short and some long."""
    found = []
    for _ in range(20 * count):
        if len(found) == count:
            break
        begin, one = moment_within(draw, passes, from_part, 1.0)
        end = min(begin + draw.lognormvariate(math.log(median_s), 0.6), end_of(one) + draw.choice([0.0, 8.0]))
        if end - begin > 6 * one.step_s and all(end + 4 < a or b + 4 < begin for a, b in found):
            found.append((begin, end))
    return sorted(found)


def bridging(draw, unit, passes):
    unit.container.bridges = spells(draw, passes, draw.randint(4, 18), draw.uniform(2.5, 12.0))


def contact_gaps(draw, passes):
    return spells(draw, passes, draw.randint(3, 16), draw.uniform(1.5, 12.0), draw.choice([0.0, 0.0, 0.5]))


def cable(draw, unit, passes):
    unit.contact = Contact(contact_gaps(draw, passes))


def gate_fading(draw, unit, passes):
    sensor, driven = unit.sensor, sum(one.drops * one.step_s for one in passes)
    lost = draw.uniform(1.8, 3.4)
    sensor.dust_per_s = lost / driven / 1.15
    if draw.random() < 0.3 and len(passes) > 6:
        sensor.wiped = draw.randrange(len(passes) // 2, len(passes))
        sensor.dust_per_s *= 1.8


def gate_struck(draw, unit, passes):
    begin, one = moment_within(draw, passes, 0.05, 0.8)
    later = passes[min(len(passes) - 1, passes.index(one) + draw.randint(1, 4))]
    unit.sensor.struck = (draw.choice([begin, -math.inf]), draw.choice([math.inf, end_of(later)]),
                          unit.sensor.margin + draw.uniform(1.2, 2.6))


def empty_container(draw, unit, passes):
    drops = sum(one.drops for one in passes)
    unit.container.level = draw.uniform(0.3, 0.85) * drops
    if draw.random() < 0.4:
        before, number = 0, 0
        while before + passes[number].drops < unit.container.level:
            before, number = before + passes[number].drops, number + 1
        unit.container.refilled = number + draw.randint(1, 3)


def blocked_tube(draw, unit, passes):
    begin, one = moment_within(draw, passes, 0.1, 0.85)
    begin = draw.choice([begin, one.begins_s])   # soil as the opener comes down, or on the way
    later = passes[min(len(passes) - 1, passes.index(one) + draw.choice([0, 1, 2]))]
    end = draw.choice([math.inf, end_of(later)])
    unit.tube.shut = [(begin, max(end, begin + 60 * one.step_s))]


def valve_closed(draw, unit, passes):
    begin, one = moment_within(draw, passes, 0.0, 0.95)
    unit.tube.shut = [(begin, begin + draw.uniform(45, 350) * one.step_s)]


def bad_cell(draw, unit, _):
    unit.meter.cells[draw.randrange(len(unit.meter.cells))] = draw.uniform(0.55, 1.0)


def start_loss(draw, unit, _):
    unit.meter.unfilled = draw.uniform(2.5, 10.0)


def double_feeding(draw, unit, _):
    unit.meter.doubles, unit.sensor.blurs = draw.uniform(0.13, 0.3), draw.uniform(0.05, 0.3)


def dirty_gate(draw, unit, _):
    unit.sensor.margin = draw.uniform(0.65, 1.6)
    unit.sensor.fresh = unit.sensor.efficiency()


def meter(draw, unit, _):
    worn = draw.uniform(0.06, 0.3)
    unit.meter.cells = [min(0.6, worn * draw.uniform(0.6, 1.4)) for _ in unit.meter.cells]


MAKERS = {make.__name__: make for make in (bridging, cable, gate_fading, gate_struck, empty_container, blocked_tube, valve_closed,
                                           bad_cell, start_loss, double_feeding, dirty_gate, meter)}


def break_some(draw, units, passes, kinds):
    """Some of the units get one fault each; a plug takes its neighbours along."""
    for _ in range(max(1, int(len(units) * draw.uniform(0.3, 0.6)))):
        sound = [i for i, one in enumerate(units) if one.kind == "healthy"]
        if len(sound) < 2:
            return
        at, kind = draw.choice(sound), draw.choice(kinds)
        if kind != "plug":
            units[at].kind = kind
            MAKERS[kind](draw, units[at], passes)
            continue
        shared = contact_gaps(draw, passes)
        for one in [i for i in (at, at + 1, at + 2)[:draw.randint(2, 3)] if i in sound]:
            units[one].kind, units[one].contact = "plug", Contact(shared)
            units[one].lag_s = draw.choice([0.0, 0.0, 0.15])
        if sum(one.contact.gaps is not None and one.contact.gaps == shared for one in units) < 2:
            units[at].kind = "cable"

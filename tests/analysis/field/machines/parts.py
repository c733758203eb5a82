"""Parts of a seeding unit, each with a state of its own that travel and time move on.

A unit is a chain of parts: container, meter, tube, sensor, contact. Faults are what happens to a part; what the sensor
reports follows from the chain. Invented, with round figures; nothing here knows how an audit judges."""
import math
from dataclasses import dataclass
from statistics import NormalDist

NORMAL = NormalDist()


@dataclass
class Moment:
    """One commanded drop, as the unit meets it."""
    time: float        # seconds into the night
    speed: float       # m/s
    in_pass: int       # drops since the pass began
    number: int        # of the pass, from 0
    dusty_way: bool    # the wind comes from behind


class Container:
    """Seeds that lie within the meter's reach; `level` of them in all. Few seeds are picked up the more rarely."""

    def __init__(self, draw):
        self.level, self.reach = math.inf, draw.uniform(15, 110)
        self.bridges = []         # (from, to) in seconds: nothing slides down
        self.pocket = self.room = draw.randint(2, 9)  # seeds below the bridge
        self.refilled = math.inf  # at that pass

    def offers(self, moment):
        """The chance that a cell finds a seed."""
        if moment.number >= self.refilled:
            self.level, self.refilled = math.inf, math.inf
        if any(begin <= moment.time < end for begin, end in self.bridges):
            return 1.0 if self.pocket > 0 else 0.0
        self.pocket = self.room
        return min(1.0, self.level / self.reach)

    def gives(self, seeds):
        self.level -= seeds
        self.pocket = max(0, self.pocket - seeds)


class Meter:
    """A disc of cells, each with a chance to come up empty of its own; faster is worse."""

    def __init__(self, draw):
        self.cells = [math.exp(draw.gauss(math.log(0.003), 0.5)) for _ in range(draw.randint(10, 60))]
        self.at, self.anew = 0, draw.random() < 0.3   # the disc is turned to its mark at each pass
        self.power = draw.uniform(0.0, 0.5)
        self.doubles = draw.uniform(0.001, 0.03)
        self.unfilled = 0.0       # cells that the turn leaves empty, on average
        self.skip = 0

    def turns(self, moment, draw):
        if moment.in_pass == 0:
            self.at = 0 if self.anew else draw.randrange(len(self.cells))
            self.skip = max(0, round(draw.gauss(self.unfilled, 0.8))) if self.unfilled else 0
        self.at = (self.at + 1) % len(self.cells)
        return min(0.95, self.cells[self.at] * (moment.speed / 1.5) ** self.power)

    def picks(self, moment, container, draw):
        empty = self.turns(moment, draw)
        if moment.in_pass < self.skip or draw.random() < empty or draw.random() >= container.offers(moment):
            return 0
        seeds = 2 if draw.random() < self.doubles else 1
        container.gives(seeds)
        return seeds


class Tube:
    """Lets seeds through, but for some while."""

    def __init__(self):
        self.shut = []  # (from, to) in seconds

    def passes(self, moment, seeds):
        return 0 if any(begin <= moment.time < end for begin, end in self.shut) else seeds


class Sensor:
    """A seed's shadow is as strong as it falls out, normally distributed; seen where it is beyond a threshold.

    `margin`: how many standard deviations the mean shadow lies above it. Dust takes it away, most with the wind behind."""

    def __init__(self, draw):
        self.margin = draw.uniform(2.25, 3.3)
        self.dust_per_s = 0.0
        self.dust, self.last_s, self.wiped = 0.0, 0.0, math.inf
        self.blurs = draw.uniform(0.1, 0.5)   # two seeds that look like one
        self.struck = (math.inf, math.inf, 0.0)  # from, to, and what the clod on its windows takes of the margin
        self.fresh = self.efficiency()

    def efficiency(self):
        return NORMAL.cdf(self.margin - self.dust)

    def settle(self, moment):
        passed = min(5.0, moment.time - self.last_s)
        self.last_s = moment.time
        if moment.number >= self.wiped:
            self.dust, self.wiped = 0.0, math.inf
        self.dust += self.dust_per_s * passed * (1.6 if moment.dusty_way else 0.7)

    def sees(self, moment, seeds, draw):
        if self.dust_per_s:
            self.settle(moment)
        begin, end, taken = self.struck
        margin = self.margin - self.dust - (taken if begin <= moment.time < end else 0.0)
        seen = sum(draw.gauss(margin, 1.0) > 0.0 for _ in range(seeds))
        return 1 if seen == 2 and draw.random() < self.blurs else seen


class Contact:
    """A plug or a cable that loses touch now and then; what falls meanwhile is not reported."""

    def __init__(self, gaps=()):
        self.gaps = list(gaps)  # (from, to) in seconds

    def reports(self, moment, seen, lag_s):
        return 0 if any(begin + lag_s <= moment.time < end + lag_s for begin, end in self.gaps) else seen


class Unit:
    def __init__(self, draw):
        self.kind = "healthy"
        self.container, self.meter, self.tube = Container(draw), Meter(draw), Tube()
        self.sensor, self.contact, self.lag_s = Sensor(draw), Contact(), 0.0

    def drop(self, moment, draw):
        """Seeds that fell, and those reported."""
        fell = self.tube.passes(moment, self.meter.picks(moment, self.container, draw))
        return fell, self.contact.reports(moment, self.sensor.sees(moment, fell, draw), self.lag_s)

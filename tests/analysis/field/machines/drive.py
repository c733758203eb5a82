"""Where and when a machine drives: fields with headland laps, passes of mixed length and speed, pauses."""
import math
from dataclasses import dataclass


@dataclass
class Pass:
    number: int        # as the machine counts them
    begins_s: float
    step_s: float      # from drop to drop
    speed: float
    drops: int
    way: object        # (row, drop) -> (lat, lon)
    dusty_way: bool
    name: str = ""     # of its field


class Frame:
    """A field's own corner and direction, on a sphere."""

    def __init__(self, lat, lon, heading):
        self.lat, self.lon, self.sin, self.cos = lat, lon, math.sin(heading), math.cos(heading)
        self.east = 111_200.0 * math.cos(math.radians(lat))

    def place(self, along, across):
        east, north = self.sin * along + self.cos * across, self.cos * along - self.sin * across
        return self.lat + north / 111_200.0, self.lon + east / self.east


def straight(frame, spacing, row_m, rows, index, drops, bend):
    back = index % 2 == 1

    def way(row, drop):
        along = spacing * (drops - 1 - drop if back else drop)
        side = (rows - row if back else row - 1) + rows * index
        return frame.place(along, row_m * side + bend * math.sin(along / 40.0))
    return way


def lap(frame, spacing, row_m, rows, drops):
    """Round the field: an oval, each row on its own line but fed by the same count of drops."""
    round_m = spacing * drops / 1.055   # an oval of these axes is so much longer than a circle

    def way(row, drop):
        angle = 2.0 * math.pi * drop / drops
        radius = round_m / (2.0 * math.pi) + row_m * (row - rows / 2.0)
        return frame.place(1.4 * radius * math.cos(angle), radius / 1.4 * math.sin(angle))
    return way


def lengths_of(draw):
    """Passes of a field: a rectangle's, a triangle's, or a patchwork's."""
    count, longest = draw.randint(4, 13), draw.randint(150, 560)
    shape = draw.choice(["rectangle", "triangle", "patches"])
    if shape == "triangle":
        return [max(25, int(longest * (i + 1) / count)) for i in range(count)]
    if shape == "patches":
        return [draw.randint(30, longest) for _ in range(count)]
    return [longest + draw.randint(-6, 6) for _ in range(count)]


def drive(draw, rows):
    """The passes of a night in their order."""
    spacing, row_m, now, number = draw.uniform(0.12, 0.35), draw.uniform(0.4, 0.75), 0.0, draw.choice([0, 1, 1, 17])
    lat, lon, wind, passes = draw.uniform(-45, 62), draw.uniform(-160, 160), draw.uniform(0, 6.28), []
    for which in range(draw.randint(1, 3)):
        frame = Frame(lat + which * draw.uniform(0.006, 0.03), lon + draw.uniform(-0.02, 0.02), draw.uniform(0, 6.28))
        usual, bend = draw.uniform(1.0, 2.1), draw.choice([0.0, 0.0, 3.0])
        plans = [("lap", draw.randint(500, 900))] * draw.choice([0, 0, 0, 1]) + [("row", n) for n in lengths_of(draw)]
        for index, (form, drops) in enumerate(plans):
            speed = usual * draw.uniform(0.75, 1.2) * (0.7 if form == "lap" else 1.0)
            way = (lap(frame, spacing, row_m, rows, drops) if form == "lap"
                   else straight(frame, spacing, row_m, rows, index, drops, bend))
            passes.append(Pass(number, now, spacing / speed, speed, drops, way, math.cos(wind + math.pi * index) > 0,
                               f"field {which + 1}"))
            now += drops * spacing / speed + draw.uniform(15, 60)
            number += 1
            if draw.random() < 0.06:
                now += draw.uniform(300, 900)   # filled up, had tea
        now += draw.uniform(600, 2400)
    return passes

"""The table as a machine's terminal exports it: its own order of columns, clock, names, and what got lost on the way."""
import datetime
import math

BASE_S = 1_776_200_000.0


class Clock:
    """Runs fast or slow, and is set right now and then, by which it jumps."""

    def __init__(self, draw):
        self.rate, self.set_every_s = draw.gauss(0.0, 2e-4), draw.choice([math.inf, 1800.0])

    def shows(self, time):
        return BASE_S + time + self.rate * (time % self.set_every_s if math.isfinite(self.set_every_s) else time)


WRITE = {
    "seconds": lambda s: f"{s:.2f}",
    "milliseconds": lambda s: f"{s * 1000:.0f}",
    "zone": lambda s: datetime.datetime.fromtimestamp(s, datetime.timezone.utc).isoformat(timespec="milliseconds"),
    "days first": lambda s: datetime.datetime.fromtimestamp(s, datetime.timezone.utc).strftime("%d.%m.%Y %H:%M:%S"),
}
COLUMNS = ["time", "pass", "row", "drop", "lat", "lon", "target", "seen", "alert"]
OTHERS = {"speed_kmh": lambda draw: f"{draw.uniform(3, 8):.1f}", "remark": lambda draw: "",
          "operator": lambda draw: draw.choice(["A", "B"])}


class Telegrams:
    def __init__(self, draw, passes):
        self.draw, self.clock, self.time = draw, Clock(draw), draw.choice(list(WRITE))
        self.comma, self.titles = draw.random() < 0.25, draw.choice([0, 0, 3])
        self.separator = ";" if self.comma or draw.random() < 0.3 else ","
        self.encoding = draw.choice(["utf-8", "utf-8", "utf-8-sig", "utf-16", "latin-1"])
        self.end = draw.choice(["\n", "\r\n"])
        self.names = draw.random() < 0.2                      # rows are called R1, R2 …
        self.columns = COLUMNS + draw.sample(list(OTHERS), draw.randint(0, 2))
        draw.shuffle(self.columns)
        self.lost, self.blank_seen = draw.choice([0.0, 0.0005, 0.002]), draw.choice([0.0, 0.0003])
        self.no_fix = draw.choice([0.0, 0.0, 0.0005])         # a spell without position begins
        self.shows_no_fix = draw.choice(["0", ""])
        self.alert_words = draw.choice([("0", "1"), ("", "1"), ("no", "yes"), ("false", "TRUE"), ("0", "12")])
        self.scatter_m = draw.choice([0.0, 0.01, 0.02])
        self.first, at = {}, draw.choice([0, 1])
        runs_on = draw.random() < 0.25                        # one drop counter for the night
        for one in passes:
            self.first[one.number] = at
            at += one.drops if runs_on else 0

    def first_drop(self, number):
        return self.first[number]

    def cells(self, one, row, at, drop, fixed):
        lat, lon = one.way(row, at)
        scatter = self.scatter_m / 111_200.0
        lat, lon = lat + self.draw.gauss(0, scatter), lon + self.draw.gauss(0, scatter)
        if not fixed:
            lat = lon = self.shows_no_fix
        cells = {"time": WRITE[self.time](self.clock.shows(drop.time)), "pass": str(one.number),
                "row": f"R{row}" if self.names else str(row), "drop": str(self.first[one.number] + at),
                "lat": f"{lat:.7f}" if fixed else lat, "lon": f"{lon:.7f}" if fixed else lon,
                "target": str(drop.target), "seen": "" if self.draw.random() < self.blank_seen else str(drop.seen),
                "alert": self.alert_words[drop.alert]}
        for name in ["lat", "lon"] + (["time"] if self.time == "seconds" else []):
            cells[name] = cells[name].replace(".", ",") if self.comma else cells[name]
        return cells

    def lines(self, night):
        for one in night.passes:
            without = 0
            for at in range(one.drops):
                without = max(0, without - 1)
                if self.draw.random() < self.no_fix:
                    without = self.draw.randint(1, 25)
                for row in range(1, len(night.rows) + 1):
                    drop = night.drops[one.number, row][at]
                    if self.draw.random() < self.lost and not drop.alert:
                        continue
                    cells = self.cells(one, row, at, drop, without == 0)
                    yield [cells[name] if name in cells else OTHERS[name](self.draw) for name in self.columns]

    def table(self, night):
        titles = ["Seed drops of a night", "terminal 4.2", ""][:self.titles]
        rows = [self.separator.join(line) for line in [self.columns, *self.lines(night)]]
        return (self.end.join([*titles, *rows]) + self.end).encode(self.encoding)

"""Droplogs that a careless audit gets wrong: each is made of instants and places chosen on purpose, seeded."""
import random
from bisect import bisect_right
from urllib.parse import quote

from reference_log import crc16


class Run:
    """A run in the making: events by their true time; `text` numbers and stamps them."""

    def __init__(self, seed, settings, channels, tick0=1000):
        self.random = random.Random(seed)
        self.settings = settings
        self.channels = channels
        self.boots = [[]]
        self.tick0 = [tick0]
        self.knots = []
        self.lost = 0
        self.mangle = lambda lines: lines
        self.late_us = 0

    def reboot(self, tick0=5000):
        self.boots.append([])
        self.tick0.append(tick0)

    def add(self, time_us, *fields):
        self.boots[-1].append((int(time_us), len(self.boots[-1]), fields))

    def travel(self, knots):
        self.knots = knots
        self.times = [time for time, _ in knots]
        self.forward = knots[-1][1] >= knots[0][1]
        self.ways = [place if self.forward else -place for _, place in knots]
        for time, place in knots:
            self.add(time, "travel", place)

    def time_at(self, place):
        """When the travel of the last `travel` call passes a place (it may lie beyond the ends)."""
        k = min(max(bisect_right(self.ways, place if self.forward else -place) - 1, 0), len(self.ways) - 2)
        (t0, x0), (t1, x1) = self.knots[k], self.knots[k + 1]
        return t0 + (place - x0) * (t1 - t0) / (x1 - x0)

    def fall_to(self, channel, gate, place, fall_us):
        """A pulse whose seed lands near this place; exactly there at steady whole speeds."""
        guess = self.time_at(place) - fall_us
        for _ in range(3):
            k = min(max(bisect_right(self.times, guess) - 1, 0), len(self.knots) - 2)
            (t0, x0), (t1, x1) = self.knots[k], self.knots[k + 1]
            if x1 == x0:
                break  # it falls while travel stands
            guess = t0 + (place - x0) * (t1 - t0) / (x1 - x0) - fall_us
        self.pulse(guess, channel, gate)

    def pulse(self, time_us, channel, gate):
        self.add(round(time_us), "pulse", channel, gate, 600 + self.random.randrange(200), 500)

    def drop(self, time_us, channel, index, place, count=1):
        self.add(round(time_us), "drop", channel, index, round(place), count)

    def stamped(self):
        lines = []
        for number, (events, tick0) in enumerate(zip(self.boots, self.tick0)):
            start = min((time for time, _, _ in events), default=0)
            end = max((time for time, _, _ in events), default=0)
            beats = [(t, -1, ("beat", 0, self.lost)) for t in range(start, end + 1, 900_000)]
            order = sorted(events + beats, key=lambda e: (e[0] + self.random.randint(0, self.late_us), e[1]))
            order[:0] = [(start, -3, ("hello", 1, f"b{number}", len(self.channels), "fw")), (start, -2, ("started",))]
            if number + 1 == len(self.boots):
                order.append((end, 0, ("halted", self.reason())))
            for seq, (time, _, fields) in enumerate(order):
                tick = (time - start + tick0) % 2**32
                lines.append(",".join(map(str, (fields[0], seq, tick, *fields[1:]))))
        return lines

    def commanded(self):
        """Drops of the last boot, by channel."""
        counts = {}
        for _, _, fields in self.boots[-1]:
            if fields[0] == "drop":
                counts[fields[1]] = counts.get(fields[1], 0) + 1
        return counts

    def reason(self):
        """Carried out where every channel has as many drops; else somebody halted it."""
        mode = self.settings.get("mode", "single")
        return "count" if mode == "line" or len(set(self.commanded().values())) == 1 else "host"

    def arm(self):
        counts = self.commanded()
        mask = sum(1 << channel for channel in counts or self.channels or [0])
        drops = max(counts.values(), default=0) if self.reason() == "count" else 0
        settings = self.settings
        return f"arm,{settings.get('mode', 'single')},{settings.get('spacing_um', 0)},{settings.get('count', 0)}," \
            f"{settings.get('speed_um_s', 0)},{mask},{drops}"

    def text(self, close=True):
        head = ["@droplog,1,00000000-0000-4000-8000-000000000001,2026-01-01T00:00:00Z"]
        head += [f"@set,{key},{value}" for key, value in self.settings.items()]
        head += [f"@channel,{ch},{key},{value}" for ch, keys in self.channels.items() for key, value in keys.items()]
        head += ["@sent," + quote(sealed(self.arm())[:-1].decode(), safe="")]
        lines = self.mangle([sealed(line) for line in head + self.stamped()])
        return b"".join(lines + ([sealed(f"@close,{self.reason()},,")] if close else []))


def sealed(body):
    raw = body.encode()
    return raw + b"*%04X\n" % crc16(raw)


BELOW = {"gate1_place": "below", "gate1_fall_us": 280000}
ABOVE = {"gate0_place": "above"}


def single(**more):
    return {"mode": "single", "spacing_um": 180000, "count": 1, "speed_um_s": 250000} | more


def steady(length_um, speed_um_s=250000, step_us=100000, start_um=0, backward=False):
    knots, time = [], 2_000_000
    sign = -1 if backward else 1
    for k in range(int(length_um / (speed_um_s * step_us / 1e6)) + 2):
        knots.append((time, start_um + sign * round(k * speed_um_s * step_us / 1e6)))
        time += step_us
    return knots


def sow(run, drops, *, spacing=180000, start=500000, sign=1, scatter=6000, offset=0, miss=0.03, double=0.02, fall=280000,
        gates=(1,), channel=0, first_index=0, burst=0, lead_us=300000, count=1):
    """Ordinary sowing over the run's travel: `burst` misses come in rows of so many."""
    missing = 0
    for k in range(drops):
        place = start + sign * k * spacing
        run.drop(run.time_at(place) - lead_us, channel, first_index + k, place, count)
        if missing == 0 and run.random.random() < (miss / burst if burst else miss):
            missing = burst or 1
        if missing:
            missing -= 1
            continue
        for _ in range(count + (run.random.random() < double)):
            where = place + offset + run.random.gauss(0, scatter)
            if 1 in gates:
                run.fall_to(channel, 1, where, fall)
            if 0 in gates:
                run.pulse(run.time_at(place) - lead_us - run.random.uniform(20000, 500000), channel, 0)


def usual(seed, drops=220, *, backward=False, knots=None, channels=None, settings=None, tick0=1000, **how):
    sign = -1 if backward else 1
    run = Run(seed, settings or single(), channels or {0: {"unit": "A", "row": 1} | BELOW}, tick0)
    run.travel(knots or steady(drops * 180000 + 1_500_000, backward=backward))
    sow(run, drops, sign=sign, start=sign * 500000, **how)
    return run


def tick_wrap():
    return usual(1, tick0=2**32 - 20_000_000).text()


def reboot():
    run = usual(2, drops=120, tick0=2**32 - 5_000_000)
    run.reboot(tick0=2**32 - 9_000_000)
    run.travel(steady(120 * 180000 + 1_500_000, start_um=40_000_000))
    sow(run, 120, start=40_500_000, first_index=120)
    return run.text()


def late_lines():
    run = usual(3, scatter=15000)
    run.late_us = 50000
    return run.text()


def changing_speed():
    """Speed changes at every travel line, uneven steps."""
    rng, time, place, knots = random.Random(4), 2_000_000, 0, []
    while place < 42_000_000:
        knots.append((time, place))
        step = rng.randrange(40_000, 250_000)
        place += round(step * rng.uniform(0.18, 0.34))
        time += step
    return usual(4, knots=knots).text()


def jitter_at_standstill():
    """The encoder trembles before the start, and on the way, where travel stops now and then."""
    rng = random.Random(5)
    knots = [(2_000_000, 0)]
    while knots[-1][1] < 42_000_000:
        time, place = knots[-1]
        stands = time < 4_000_000 or rng.random() < 0.1
        knots.append((time + 100_000, place + (0 if stands else 25_000)))
    run = usual(5, knots=knots)
    run.boots[-1] = [(t, n, (f[0], f[1] + rng.randint(-7, 7)) if f[0] == "travel" else f)
                     for t, n, f in run.boots[-1]]
    return run.text()


def turning_back():
    """Travel goes back three metres in mid-run and on again."""
    out = steady(20_000_000)
    time, place = out[-1]
    back = [(time + 100_000 * k, place - 25_000 * k) for k in range(1, 120)]
    time, place = back[-1]
    on = [(time + 100_000 * k, place + 25_000 * k) for k in range(1, 900)]
    run = usual(6, drops=100)
    run.boots[-1] = [e for e in run.boots[-1] if e[2][0] != "travel"]
    run.travel(out + back + on)
    for k in range(60):
        run.pulse(out[-1][0] + 100_000 * k + 37_000, 0, 1)
    return run.text()


def strays():
    run = usual(7)
    for place in (100_000, 300_000, 409_999, 410_000, 410_001, 500000 + 219 * 180000 + 90_001, 41_000_000):
        run.fall_to(0, 1, place, 280000)
    return run.text()


def exact_run(seed, places, drops=60, spacing=180000, settings=None):
    """At 1 m/s a microsecond is a micrometre: places come out exactly."""
    run = Run(seed, (settings or single()) | {"speed_um_s": 1000000}, {0: {"unit": "A"} | BELOW})
    run.travel(steady(drops * spacing + 2_000_000, 1_000_000))
    for k in range(drops):
        place = 500_000 + k * spacing
        run.drop(run.time_at(place) - 300000, 0, k, place)
    for place in places:
        run.fall_to(0, 1, place, 280000)
    return run.text()


def ties():
    places = [500_000 + k * 180000 for k in range(60) if k % 7]
    places += [500_000 + k * 180000 + 90_000 for k in range(3, 57, 5)]
    places += [500_000 + k * 180000 + 90_000 + d for k in range(4, 50, 9) for d in (-1, 1)]
    return exact_run(8, places)


def class_edges():
    steps = [90000, 270000, 450000, 630000, 90001, 270001, 450001, 630001, 89999, 18000, 18001, 36000, 0, 165000, 195000,
             164999, 195001]
    places = [500_000]
    for step in steps * 2:
        places.append(places[-1] + step)
    return exact_run(9, places)


def all_doubled():
    return usual(10, double=1.0, miss=0.0, scatter=2000).text()


def mostly_multiples():
    places = [500_000 + k * 180000 + d for k in range(60) for d in (0, 3000, 6000)]
    return exact_run(11, places)


def both_gates(first_above):
    channels = {0: {"unit": "A"} | BELOW | ABOVE}
    if first_above:
        channels[0]["gate1_place"] = "above"
    return usual(12, gates=(0, 1), channels=channels).text()


def gate_above():
    run = usual(13, gates=(0,), channels={0: {"unit": "A"} | ABOVE}, double=0.1)
    openings = [t for t, _, f in run.boots[-1] if f[0] == "drop"]
    run.pulse(openings[10], 0, 0)           # in the very instant of an opening
    run.pulse(openings[-1] + 10, 0, 0)      # after the last
    run.pulse(openings[0] - 1_000_000, 0, 0)
    return run.text()


def portions(count=5):
    return usual(14, settings=single(mode="portion", count=count, spacing_um=180000), scatter=9000, count=count,
                 miss=0.02, double=0.1).text()


def line_mode(backward=False):
    run = Run(15, {"mode": "line", "rate_per_m_milli": 60000, "speed_um_s": 250000}, {0: {"unit": "A"} | BELOW})
    sign = -1 if backward else 1
    run.travel(steady(20_000_000, backward=backward))
    place = 300_000.0
    while place < 19_500_000:
        place += run.random.expovariate(1 / 17000)
        run.fall_to(0, 1, sign * place, 280000)
    return run.text()


def three_lines():
    run = Run(17, {"mode": "line", "rate_per_m_milli": 60000, "speed_um_s": 250000},
              {ch: {"unit": f"U{ch}"} | BELOW for ch in range(3)})
    run.travel(steady(12_000_000))
    for ch in range(3):
        place = 300_000.0
        while place < 11_500_000:
            place += run.random.expovariate(1 / (15000 + 1000 * ch))
            run.fall_to(ch, 1, place, 280000)
    return run.text()


def six_channels():
    run = Run(16, single(), {ch: {"unit": f"U{ch}", "row": ch + 1} | BELOW for ch in range(6)})
    run.travel(steady(220 * 180000 + 1_500_000))
    for ch in range(6):
        sow(run, 220, channel=ch, miss=0.2 if ch == 3 else 0.02, offset=1000 * ch)
    return run.text()


def mangled(seed, mangle, **how):
    run = usual(seed)
    run.mangle = mangle
    return run.text(**how)


def bad_crc(lines):
    return [line[:-2] + b"?\n" if k in (500, 900) else line for k, line in enumerate(lines)]


def repeats(lines):
    out = []
    for k, line in enumerate(lines):
        if line.startswith(b"beat") and k % 2:
            line = sealed("novelty" + line[:-6].decode()[4:])
        out.append(line)
        if k in (300, 700):
            out += out[-6:]
        if k == 800:
            out += [sealed(line[:-6].decode() + "7"), sealed("@later,1"), sealed("who,knows")]
    return out


def nothing_falls():
    return usual(20, miss=1.0).text()


def few(drops, landings):
    run = Run(21, single(), {0: {"unit": "A"} | BELOW})
    run.travel(steady(3_000_000))
    for k in range(drops):
        run.drop(run.time_at(500_000 + 180000 * k) - 300000, 0, k, 500_000 + 180000 * k)
    for k in range(landings):
        run.fall_to(0, 1, 503_000 + 180000 * k, 280000)
    return run.text()


def few_knots(count):
    run = usual(22, drops=10)
    kept = [e for e in run.boots[-1] if e[2][0] == "travel"][:count]
    run.boots[-1] = [e for e in run.boots[-1] if e[2][0] != "travel"] + kept
    return run.text()


def pulses_beyond_travel():
    run = usual(23, drops=60, knots=steady(7_000_000))
    run.pulse(1_900_000, 0, 1)
    run.pulse(1_000_000, 0, 1)
    return run.text()


def junk():
    """Four pulses of ten are debris anywhere."""
    run = usual(24, miss=0.0, double=0.0, scatter=4000, offset=31000)
    for _ in range(145):
        run.fall_to(0, 1, run.random.uniform(400_000, 40_000_000), 280000)
    return run.text()


def no_settings():
    return usual(25, channels={}, gates=(0, 1)).text()


def only_gate_zero():
    return usual(26, channels={}, gates=(0,), lead_us=0).text()


def all_logs():
    logs = {name.__name__: name() for name in (
        tick_wrap, reboot, late_lines, changing_speed, jitter_at_standstill, turning_back, strays, ties, class_edges,
        all_doubled, mostly_multiples, gate_above, portions, line_mode, three_lines, six_channels, nothing_falls,
        pulses_beyond_travel, junk, no_settings, only_gate_zero)}
    for offset in (46_000, -46_000, 80_000, -80_000, 88_000, 100_000):
        logs[f"offset_{offset}"] = usual(30, offset=offset, scatter=5000).text()
    logs["backward"] = usual(31, backward=True, offset=4000).text()
    logs["backward_line"] = line_mode(backward=True)
    logs["bursts"] = usual(32, miss=0.08, burst=6).text()
    logs["both_gates"] = both_gates(first_above=False)
    logs["both_gates_above"] = both_gates(first_above=True)
    logs["one_per_portion"] = portions(1)
    logs["damaged_lines"] = mangled(33, bad_crc)
    logs["repeated_lines"] = mangled(34, repeats)
    logs["swapped_lines"] = mangled(35, lambda lines: lines[:400] + [lines[401], lines[400]] + lines[402:])
    logs["no_close"] = mangled(36, lambda lines: lines, close=False)
    logs["torn"] = mangled(37, lambda lines: lines, close=False)[:-7]
    lossy = usual(38)
    lossy.lost = 9
    logs["lost"] = lossy.text()
    for drops, landings in ((0, 0), (0, 3), (1, 0), (1, 1), (1, 2), (2, 2), (3, 3)):
        logs[f"few_{drops}_{landings}"] = few(drops, landings)
    for count in (0, 1, 2):
        logs[f"knots_{count}"] = few_knots(count)
    logs["small_spacing"] = usual(39, settings=single(spacing_um=180001), scatter=45000).text()
    return logs

"""Where the evidence of a run contradicts itself, by the definitions in analysis/audit/README.md: for the reference audit."""
from bisect import bisect_left, bisect_right
from math import expm1

from chain_shares import clopper_pearson


def gates_without_place(log, channel):
    """That saw seed, and the log says neither where they sit nor how long seeds fall from them to the ground."""
    settings = log.channels.get(channel, {})
    saw = {row[2] for segment in log.segments for row in segment.pulses if row[1] == channel}
    if log.settings.get("mode", "single") == "line":
        return set()  # only distances along the row count
    return {gate for gate in saw if not {f"gate{gate}_place", f"gate{gate}_fall_us"} & set(settings)}


def overlooks(judging, other, mode):
    """Beyond chance (one-sided 97.5 %) the judging gate overlooked over 2 % of what the other one saw: of its seeds by
    their number, and of single drops where it saw any, drop by drop. Each view: entries and number of seeds."""
    pairs = [(min(judging[1], other[1]), other[1])]
    if mode == "single":
        seen = [(bool(a), bool(b)) for a, b in zip(judging[0], other[0])]
        pairs.append((sum(a and b for a, b in seen), sum(b for _, b in seen)))
    return other[1] > 0 and any(of > 0 and clopper_pearson(of - saw, of)[0] > 0.02 for saw, of in pairs)


def clearly_over(x, n, share):
    return n > 0 and x > 0 and clopper_pearson(x, n)[0] > share


def pulses_without_drop(views, mode, spacing, speed):
    """Several seeds in single drops (over 2 % of them, beyond chance) that nothing else speaks for. Further than a quarter
    of the spacing apart, in a third of the multiples, and over twice as often as misses; within a millisecond of each other,
    in over half of the multiples; or where the other gate saw one seed, over four times as often as it saw several too."""
    entries = views[0]["entries"]
    if mode != "single":
        return False
    several = [e for e in entries if len(e) > 1]
    if not views[0]["counts_only"]:
        far = sum(4 * (max(e) - min(e)) > spacing for e in several)
        close = sum(0 < 1000 * (max(e) - min(e)) <= speed for e in several)
        misses = sum(not e for e in entries)
        if clearly_over(far, len(entries), 0.02) and 3 * far > len(several) and far > 2 * misses:
            return True
        if clearly_over(close, len(entries), 0.02) and 2 * close > len(several):
            return True
    if len(views) < 2:
        return False
    pairs = list(zip(entries, views[1]["entries"]))
    split = sum(len(a) > 1 and len(b) == 1 for a, b in pairs)
    confirmed = sum(len(a) > 1 and len(b) > 1 for a, b in pairs)
    return clearly_over(split, len(pairs), 0.02) and split > 4 * confirmed


def falls_silent(entries, pulses, other):
    """Fifty drops and more on end without a seed, and no other gate that saw any tells whether one fell."""
    longest = run = 0
    for entry in entries:
        run = 0 if entry else run + 1
        longest = max(longest, run)
    return pulses > 0 and other is None and longest >= 50


def other_order(log, channel, mode, spacing, speed):
    """Over one in a hundred steps between drops of one start is 2 % off the spacing stated, or over one in ten (ten at least), or over
    half, are a quarter off
    the speed; or over one in a hundred drops was to hold another number of seeds than stated (single: one)."""
    steps, off_spacing, off_speed, several, drops = 0, 0, 0, 0, 0
    count = 1 if mode == "single" else int(log.settings.get("count", 0))
    for segment in log.segments:
        rows = sorted((row for row in segment.drops if row[1] == channel), key=lambda row: row[2])
        drops += len(rows)
        several += sum(count > 0 and row[4] != count for row in rows)
        for a, b in zip(rows, rows[1:]):
            if b[2] != a[2] + 1 or b[0] <= a[0]:
                continue
            way = abs(b[3] - a[3])
            steps += 1
            off_spacing += 50 * abs(way - spacing) > spacing
            off_speed += speed > 0 and 4 * abs(way * 1_000_000 // (b[0] - a[0]) - speed) > speed
    return 100 * off_spacing > steps or 2 * off_speed > steps or off_speed >= 10 and 10 * off_speed > steps or 100 * several > drops


def hears_the_valve(view):
    """In over half of the drops, fifty at least, the first seed came within a millisecond after that drop's opening, or the
    one before it."""
    heard, before = 0, None
    for times, (_, _, opening) in zip(view["times"], view["openings"]):
        heard += bool(times) and any(one is not None and 0 <= min(times) - one <= 1000 for one in (opening, before))
        before = opening
    return heard >= 50 and 2 * heard > len(view["entries"])


def out_of_step(view):
    """In over half of the drops with seed the first one came over 5 ms before their opening, or behind the next opening and
    over 0.6 s after their own."""
    if view["counts_only"]:
        return False
    early = late = 0
    rows = list(zip(view["times"], view["openings"]))
    for k, (times, (start, index, opening)) in enumerate(rows):
        early += bool(times) and min(times) < opening - 5000
        if times and k + 1 < len(rows) and rows[k + 1][1][:2] == (start, index + 1):
            late += min(times) > rows[k + 1][1][2] and min(times) - opening > 600_000
    return 2 * (early + late) > sum(bool(times) for times in view["times"])


def more_than_asked(view, other, mode, asked):
    """Of portions and lines: the judging gate saw over a twentieth more than was asked and than the other gate saw, and that
    one no more than a twentieth over what was asked."""
    if mode == "single" or not other or not asked:
        return False
    judging, seen = (each["pulses"] - each["unplaced"] for each in (view, other))
    return judging > 1.05 * max(asked, seen) and seen <= 1.05 * asked


def long_way_um(rate_per_m_milli):
    """Fifty seeds' worth; two metres where no rate is stated."""
    return 50 * (1_000_000_000 // rate_per_m_milli) if rate_per_m_milli else 2_000_000


def unsown_um(log, landings_by_segment, rate_per_m_milli):
    """Way travelled beyond the first and last landings, less two seconds' worth, from a long way on."""
    ways = [abs(one.travel[-1][1] - one.travel[0][1]) for one in log.segments if one.travel]
    took = sum(one.travel[-1][0] - one.travel[0][0] for one in log.segments if one.travel)
    if not any(landings_by_segment) or not took:
        return 0
    span = sum(landings[-1] - landings[0] for landings in landings_by_segment if landings)
    beyond = sum(ways) - span - int(2.0 * (1e6 * sum(ways) / took))
    return beyond if beyond >= long_way_um(rate_per_m_milli) else 0


def of_line(log, view, line, other, unsown):
    """A long way without a seed, and no other gate that saw any; over 2 % of the landings, beyond chance, and over three times
    as many as a random line has, within a millisecond of the one before; a quarter off the speed stated; more than asked."""
    found = set()
    rate = int(log.settings.get("rate_per_m_milli", 0))
    landings = [landing for part in view["timed"] for landing in part]
    if not other and max(round(1000 * line["longest_gap_mm"]), unsown) >= long_way_um(rate):
        found.add("gate_fell_silent")
    took = sum(part[-1][1] - part[0][1] for part in view["timed"] if part)
    way = sum(part[-1][0] - part[0][0] for part in view["timed"] if part)
    close = sum(abs(b[1] - a[1]) <= 1000 for part in view["timed"] for a, b in zip(part, part[1:]))
    if took > 0 and close and clopper_pearson(close, len(landings))[0] > max(0.02, 3 * -expm1(-1000 * len(landings) / took)):
        found.add("pulses_without_drop")
    speed = int(log.settings.get("speed_um_s", 0))
    if took > 0 and speed > 0 and len(landings) >= 20 and 4 * abs(1e6 * way / took - speed) > speed:
        found.add("order_not_carried_out")
    if more_than_asked(view, other, "line", line["segments"] * line["segment_um"] / 1e6 * rate / 1000):
        found.add("pulses_without_drop")
    return found


def alike(channels):
    """Two channels with fifty seeds or more, over half of whose first 4,096 seeds lie one and the same time apart (within
    2 µs either way, 5 ms at most)."""
    for k, one in enumerate(channels):
        for two in channels[k + 1:]:
            first, second = sorted(one["landed_us"][:4096]), sorted(two["landed_us"][:4096])
            if min(len(first), len(second)) < 50:
                continue
            lags = [min((b - a for b in near(second, a)), key=abs) for a in first]
            lags = sorted(lag for lag in lags if abs(lag) <= 5000)
            if 2 * max((bisect_right(lags, lag + 4) - k for k, lag in enumerate(lags)), default=0) > min(len(first), len(second)):
                return True
    return False


def near(times, time):
    at = bisect_left(times, time)
    return times[max(0, at - 1):at + 1]


def untold_us(log):
    """Time between travel lines over two seconds apart, and all of it."""
    steps = [(b[0] - a[0], b[1] - a[1]) for segment in log.segments for a, b in zip(segment.travel, segment.travel[1:])]
    return sum(time for time, way in steps if way and time > 2_000_000), sum(time for time, _ in steps)


def contradictions(log, channels):
    """(kind, channel or None), sorted. Offsets of several units that are all off alike, and seeds of which another
    channel's cable hears, are not looked for here."""
    found = set()
    if log.contradicts:
        found.add(("log_disagrees", -1))
    if log.jumps or log.set_anew or 20 * untold_us(log)[0] > untold_us(log)[1]:
        found.add(("travel_jumps", -1))
    if alike(channels):
        found.add(("channels_alike", -1))
    for channel in channels:
        found |= {("gate_without_place", channel["channel"]) for _ in channel["gates_without_place"]}
        found |= {("gates_disagree", channel["channel"])} if channel["gates_disagree"] else set()
        found |= {(doubt, channel["channel"]) for doubt in channel["doubts"]}
    return sorted(found)

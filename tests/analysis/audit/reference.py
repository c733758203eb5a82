"""A whole audit of a droplog, written from the design documents only (droplog format, measures sections 1 to 5): the
second opinion that crosscheck_audit.py compares the program with. Plain and slow on purpose; everything in memory.

Where the documents are silent: at a travel line's own instant the piece that begins there holds; beyond the ends the
nearest piece goes on; landings are rounded to whole micrometres; line segments begin at the first landing.
"""
from fractions import Fraction

import numpy
import chain_shares
import reference_doubts
from chain_shares import clopper_pearson, events
from reference_log import Reader


def nearest_int(x):
    """To the nearest whole number, halves away from zero."""
    x = Fraction(x)
    whole = (2 * abs(x.numerator) + x.denominator) // (2 * x.denominator)
    return whole if x >= 0 else -whole


def landing(knots, time, fall, nominal):
    """X(t) + v(t)·f, whole micrometres."""
    if len(knots) == 1:
        return knots[0][1] + nearest_int(Fraction(nominal * (time - knots[0][0] + fall), 10**6))
    piece = 0
    while piece + 2 < len(knots) and knots[piece + 1][0] <= time:
        piece += 1
    (t0, x0), (t1, x1) = knots[piece], knots[piece + 1]
    return x0 + nearest_int(Fraction((x1 - x0) * (time - t0 + fall), t1 - t0))


def unique_times(rows):
    """Two references for one instant: the later one holds."""
    return sorted(dict(rows).items())


def direction_of(segment):
    """The sign of last minus first position of the whole segment, else of its drops; 0: nothing tells it."""
    for places in ([place for _, place in segment.travel], [row[3] for row in segment.drops]):
        if places and places[0] != places[-1]:
            return 1 if places[-1] > places[0] else -1
    return 0


def direction_of_all(log):
    signs = {direction_of(segment) for segment in log.segments} - {0}
    return signs.pop() if len(signs) == 1 else 1


def stated_gates(log, channel):
    """Gates of which the log says anything: number to (above or below, flight time); the one that judges first."""
    settings = log.channels.get(channel, {})
    return {gate: (settings.get(f"gate{gate}_place", "below"), int(settings.get(f"gate{gate}_fall_us", 0)))
            for gate in (1, 0)
            if any(f"gate{gate}_{what}" in settings for what in ("place", "fall_us", "dead_us"))}


def judging_gate(log, channel):
    """Number, above or below, flight time."""
    for gate, (place, fall) in stated_gates(log, channel).items():
        return gate, place, fall
    saw = {row[2] for segment in log.segments for row in segment.pulses if row[1] == channel}
    return (0 if saw and 1 not in saw else 1), "below", 0


def wrapped(value, spacing):
    rest = value % spacing
    return rest - spacing if 2 * rest > spacing else rest


def half_up_median(values):
    values = sorted(values)
    middle = len(values) // 2
    return values[middle] if len(values) % 2 else nearest_int(Fraction(values[middle - 1] + values[middle], 2))


def registration(parts, spacing):
    """Where on the circle of one spacing the residuals crowd most, then their median about that."""
    residuals = []
    for drops, landings in parts:
        places = numpy.array([row[3] for row in drops])
        for x in landings:
            if len(places):
                residual = x - int(places[numpy.argmin(numpy.abs(places - x))])
                if 2 * abs(residual) <= spacing:
                    residuals.append(residual)
    if not residuals:
        return 0
    circle = numpy.array(residuals)

    def crowd(centre):
        apart = numpy.abs(circle - centre) % spacing
        return int(numpy.sum(8 * numpy.minimum(apart, spacing - apart) <= spacing))

    centre = max(sorted(set(residuals)), key=crowd)
    return wrapped(centre + half_up_median([wrapped(r - centre, spacing) for r in residuals]), spacing)


def assign_by_place(drops, landings, spacing, b):
    """Errors of each drop's landings, their times, and strays. `landings`: (place, time)."""
    entries, times = [[] for _ in drops], [[] for _ in drops]
    strays = 0
    places = numpy.array([row[3] + b for row in drops])
    for x, time in landings:
        far = not len(places) or numpy.min(numpy.abs(places - x)) > 1_000_000_000  # a kilometre from any
        if far or 2 * (places[0] - x) > spacing or 2 * (x - places[-1]) > spacing:
            strays += 1
            continue
        nearest = int(numpy.argmin(numpy.abs(places - x)))  # the first of equals
        entries[nearest].append(x - drops[nearest][3])
        times[nearest].append(time)
    return entries, times, strays


def assign_by_time(drops, seen):
    entries, times = [[] for _ in drops], [[] for _ in drops]
    openings = [row[0] for row in drops]
    strays = 0
    for time in seen:
        after = [k for k, opening in enumerate(openings) if time < opening]
        if after:
            entries[after[0]].append(0)
            times[after[0]].append(time)
        else:
            strays += 1
    return entries, times, strays


def share(x, n, chain=None):
    """`chain`: the interval where hits come in rows, None where they don't."""
    if n == 0:
        return None
    chain = chain and (min(x / n, chain[0]), min(1, max(x / n, chain[1])))
    return {"value": x / n, "interval": clopper_pearson(x, n), "chain": chain, "x": x, "n": n}


def intervals_with_multiples(spacing_classes):
    """One entry a theoretical interval: whether a multiple precedes it."""
    intervals, waits = [], False
    for which in spacing_classes:
        if which == 0:
            waits = True
            continue
        intervals += [False] * (which - 1) + [waits]
        waits = False
    return intervals


def multiples_chain(spacing_classes):
    """Multiples per theoretical interval: the interval of those that hold any, times how many they hold. Nothing where no
    two such intervals follow each other; where all but lone ones hold multiples, Clopper and Pearson's of those."""
    intervals = intervals_with_multiples(spacing_classes)
    if not any(a and b for a, b in zip(intervals, intervals[1:])):
        return None
    low, high = chain_shares.of_sequence(intervals) or clopper_pearson(sum(intervals), len(intervals))
    times = spacing_classes.count(0) / sum(intervals)
    return times * low, times * high


def sample_sd(values):
    return float(numpy.std(numpy.array(values, dtype=float), ddof=1)) if len(values) > 1 else None


def spacing_measures(landings_by_segment, reference):
    spacings = [b - a for landings in landings_by_segment for a, b in zip(landings, landings[1:])]
    classes = [0] * 5
    in_order = []
    histogram = [0] * 50
    beyond = 0
    for s in spacings:
        which = next((k for k in range(4) if 2 * s <= (2 * k + 1) * reference), 4)
        classes[which] += 1
        in_order.append(which)
        tenth = max(0, -(-10 * s // reference) - 1)
        if tenth < 50:
            histogram[tenth] += 1
        else:
            beyond += 1
    n = sum(classes)
    n2, n0 = classes[0], classes[2] + 2 * classes[3] + 3 * classes[4]
    n1 = n - 2 * n2
    intervals = n2 + n1 + n0
    defined = n1 >= 0 and intervals > 0
    multiples = multiples_chain(in_order)
    gaps, doubled = sum(classes[2:]), events(intervals_with_multiples(in_order))
    kept = 1 - n0 / intervals if intervals > 0 else 0
    per_spacing = multiples and intervals > 0 and tuple(r / (kept + r) for r in multiples)
    singles = [s for s in spacings if reference < 2 * s <= 3 * reference]
    sd = sample_sd(singles)
    ordered = numpy.sort(numpy.array(spacings, dtype=int))
    fullest = max((int(numpy.sum((ordered >= low) & (ordered <= low + 30000))) for low in set(spacings)), default=0)
    return {"count": n, "classes": classes, "histogram": histogram, "beyond": beyond,
            "multiples_index": share(n2, intervals, multiples) if defined else None,
            "miss_index": share(n0, intervals, chain_shares.of_gaps(n - n2, *classes[2:])) if defined else None,
            "quality_of_feed_index": share(n1, intervals) if defined else None,
            "per_spacing": {"multiples": share(classes[0], n, per_spacing or None), "misses": share(sum(classes[2:]), n),
                            "quality_of_feed": share(classes[1], n)},
            "precision": None if sd is None else sd / reference,
            "mean_mm": sum(spacings) / n / 1000 if n else None,
            "sd_mm": None if n < 2 else sample_sd(spacings) / 1000,
            "cp3_reference": sum(1 for s in spacings if abs(s - reference) <= 15000),
            "cp3_fullest_band": fullest,
            "events": {"miss_index": gaps, "multiples_index": doubled, "quality_of_feed_index": gaps + doubled}}


def placement_measures(entries, direction):
    errors = [float(Fraction(sum(e), len(e))) for e in entries if e]
    every = [x for e in entries for x in e]
    if not errors:
        return {"offset_mm": None, "bias_mm": None, "sd_mm": None, "p95_abs_mm": None, "within": None}
    sd = sample_sd(errors)
    return {"offset_mm": direction * float(numpy.median(every)) / 1000,
            "bias_mm": direction * float(numpy.mean(errors)) / 1000,
            "sd_mm": None if sd is None else sd / 1000,
            "p95_abs_mm": float(numpy.quantile(numpy.abs(errors), 0.95)) / 1000,
            "within": lambda allowance_um: share(sum(1 for e in errors if abs(e) <= allowance_um + 0.5),
                                                 len(errors))}


def portion_measures(entries, targets):
    if not entries:
        return None
    counts = [len(e) for e in entries]
    spreads = [max(e) - min(e) for e in entries if len(e) > 1]
    exact = sum(1 for c, t in zip(counts, targets) if c == t and c > 0)
    return {"mean_count": float(numpy.mean(counts)), "exact_share": share(exact, len(counts), chain_shares.of_sequence([c == t for c, t in zip(counts, targets)])),
            "spread_mm": float(numpy.mean(spreads)) / 1000 if spreads else None}


def pieces_without_a_kilometre_of_nothing(landings_by_segment):
    pieces = []
    for landings in landings_by_segment:
        for k, x in enumerate(landings):
            if k == 0 or x - landings[k - 1] > 1_000_000_000:
                pieces.append([])
            pieces[-1].append(x)
    return pieces


def line_measures(landings_by_segment, segment_um, rate_per_m_milli, unsown_um=0):
    counts, gap = [], max([0] + [b - a for landings in landings_by_segment for a, b in zip(landings, landings[1:])])
    for landings in pieces_without_a_kilometre_of_nothing(landings_by_segment):
        if not landings:
            continue
        whole = (landings[-1] - landings[0]) // segment_um
        mine = [0] * whole
        for x in landings:
            k = (x - landings[0]) // segment_um
            if k < whole:
                mine[k] += 1
        counts += mine
    counts += [0] * (min(unsown_um, 1_000_000_000) // segment_um)
    mean = float(numpy.mean(counts)) if len(counts) > 1 else None  # one segment is no line
    sd = sample_sd(counts)
    per_m = None if mean is None else mean * 1e6 / segment_um
    usable = mean and sd is not None
    return {"segment_um": segment_um, "segments": len(counts), "seeds": sum(counts), "total": sum(map(len, landings_by_segment)), "longest_gap_mm": gap / 1000, "mean_per_m": per_m,
            "cv": sd / mean if usable else None, "dispersion_index": sd * sd / mean if usable else None,
            "chi_squared": (len(counts) - 1) * sd * sd / mean if usable else None,
            "rate_error": None if per_m is None or not rate_per_m_milli else per_m * 1000 / rate_per_m_milli - 1}


def table(mode, entries, targets, strays):
    counts = [len(e) for e in entries]
    out = {"drops": len(counts), "seeds": sum(counts) + strays, "stray": strays}
    if mode == "single":
        out |= {"miss": counts.count(0), "single": counts.count(1), "multiple": sum(c > 1 for c in counts)}
    else:
        out |= {"empty": counts.count(0), "short": sum(0 < c < t for c, t in zip(counts, targets)),
                "exact": sum(c == t and c > 0 for c, t in zip(counts, targets)),
                "over": sum(c > t and c > 0 for c, t in zip(counts, targets))}
    return out


def gate_view(log, channel, gate, place, fall):
    """What one gate saw: landings by segment, entries and strays."""
    mode = log.settings.get("mode", "single")
    spacing = int(log.settings.get("spacing_um", 0))
    nominal = int(log.settings.get("speed_um_s", 0))
    counts_only = place == "above" and mode != "line"
    if place == "above":
        fall = 0
    parts, times, unplaced = [], [], 0
    for segment in log.segments:
        direction = direction_of(segment) or 1
        knots = [(t, direction * x) for t, x in unique_times(segment.travel)]
        seen = [row[0] for row in segment.pulses if row[1] == channel and row[2] == gate]
        drops = [(t, c, i, direction * x, n) for t, c, i, x, n in segment.drops if c == channel]
        placeable = len(knots) > 1 or (len(knots) == 1 and nominal > 0)
        unplaced += 0 if placeable or counts_only else len(seen)
        landings = sorted((landing(knots, t, fall, nominal), t) for t in seen) if placeable and not counts_only else []
        drops.sort(key=lambda row: row[0] if counts_only else row[3])
        parts.append((drops, landings))
        times.append(seen)
    view = {"counts_only": counts_only, "pulses": sum(map(len, times)), "unplaced": unplaced,
            "landings": [[place for place, _ in landings] for _, landings in parts], "timed": [landings for _, landings in parts],
            "entries": [], "targets": [], "strays": 0, "times": [], "openings": []}
    if mode == "line":
        return view | {"landed_us": [time for landings in view["timed"] for _, time in landings]}
    b = 0 if counts_only else registration([(drops, [x for x, _ in landings]) for drops, landings in parts], spacing)
    for start, ((drops, landings), seen) in enumerate(zip(parts, times)):
        some, moments, stray = assign_by_time(drops, seen) if counts_only else assign_by_place(drops, landings, spacing, b)
        view["entries"] += some
        view["times"] += moments
        view["openings"] += [(start, row[2], row[0]) for row in drops]
        view["targets"] += [row[4] for row in drops]
        view["strays"] += stray
    return view | {"landed_us": [time for moments in view["times"] for time in sorted(moments)]}


def ledger_shares(mode, entries, targets):
    """By name: hits in the order of the drops."""
    counts = [len(e) for e in entries]
    if mode == "single":
        return {"miss_share": [c == 0 for c in counts], "multiple_share": [c > 1 for c in counts]}
    return {"empty_share": [c == 0 for c in counts], "over_share": [c > t for c, t in zip(counts, targets)],
            "short_share": [0 < c < t for c, t in zip(counts, targets)],
            "exact_share": [0 < c == t for c, t in zip(counts, targets)]}


def other_view(log, channel, gate):
    """Of the channel's other gate: one that the log describes, or, where it describes none, any that saw seed."""
    stated = stated_gates(log, channel)
    others = {other: how for other, how in (stated or {1: ("below", 0), 0: ("below", 0)}).items() if other != gate}
    for other, (place, fall) in others.items():
        view = gate_view(log, channel, other, place, fall)
        if view["pulses"] > view["unplaced"]:
            return view
    return None


def audit_channel(log, channel, segment_um=100000):
    mode = log.settings.get("mode", "single")
    gate, place, fall = judging_gate(log, channel)
    view = gate_view(log, channel, gate, place, fall)
    result = {"channel": channel, "gate": gate, "mode": mode, "pulses": view["pulses"], "shares": {}, "events": {},
              "rejected_pulses": view["unplaced"], "spacing": None, "placement": None, "portion": None, "line": None,
              "counts_only": view["counts_only"], "landed_us": view["landed_us"], "gates_without_place": reference_doubts.gates_without_place(log, channel),
              "gates_disagree": False, "doubts": set()}
    if mode == "line":
        rate = int(log.settings.get("rate_per_m_milli", 0))
        other = other_view(log, channel, gate)
        unsown = reference_doubts.unsown_um(log, view["landings"], rate)
        line = line_measures(view["landings"], segment_um, rate, unsown)
        if other:
            result["gates_disagree"] = reference_doubts.overlooks((None, view["pulses"] - view["unplaced"]),
                                                                  (None, other["pulses"] - other["unplaced"]), mode)
        result["doubts"] |= reference_doubts.of_line(log, view, line, other, unsown)
        return result | {"line": line, "landed_us": view["landed_us"]}
    entries, targets = view["entries"], view["targets"]
    result["ledger"] = table(mode, entries, targets, view["strays"])
    for name, hits in ledger_shares(mode, entries, targets).items():
        result["shares"][name] = share(sum(hits), len(hits), chain_shares.of_sequence(hits) if hits else None)
        result["events"][name] = events(hits)
    other = other_view(log, channel, gate)
    if other:
        seeds = [(each["entries"], each["pulses"] - each["unplaced"]) for each in (view, other)]
        result["gates_disagree"] = reference_doubts.overlooks(*seeds, mode)
    spacing, speed = (int(log.settings.get(key, 0)) for key in ("spacing_um", "speed_um_s"))
    if reference_doubts.pulses_without_drop([view] + ([other] if other else []), mode, spacing, speed):
        result["doubts"].add("pulses_without_drop")
    if reference_doubts.hears_the_valve(view) or reference_doubts.more_than_asked(view, other, mode, sum(targets)):
        result["doubts"].add("pulses_without_drop")
    if reference_doubts.out_of_step(view):
        result["doubts"].add("drops_out_of_step")
    if reference_doubts.falls_silent(entries, view["pulses"], other):
        result["doubts"].add("gate_fell_silent")
    if reference_doubts.other_order(log, channel, mode, spacing, speed):
        result["doubts"].add("order_not_carried_out")
    if mode == "portion":
        result["portion"] = portion_measures(entries, targets)
    if not view["counts_only"]:
        result["placement"] = placement_measures(entries, direction_of_all(log))
        if mode == "single":
            result["spacing"] = spacing_measures(view["landings"], int(log.settings.get("spacing_um", 0)))
            result["events"] |= result["spacing"]["events"]
    return result


def audit(data, segment_um=100000):
    log = Reader().read(data)
    named = set(log.channels)
    for segment in log.segments:
        named |= {row[1] for row in segment.pulses}
        if log.settings.get("mode", "single") != "line":
            named |= {row[1] for row in segment.drops}
    return log, [audit_channel(log, channel, segment_um) for channel in sorted(named)]

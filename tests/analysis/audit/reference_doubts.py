"""Where the evidence of a run contradicts itself, by the definitions in analysis/audit/README.md: for the reference audit."""
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
    """Over half of the steps between drops of one start are 2 % off the spacing stated, or a quarter off the speed; or over
    half of single drops were to hold several seeds."""
    steps, off_spacing, off_speed, several, drops = 0, 0, 0, 0, 0
    for segment in log.segments:
        rows = sorted((row for row in segment.drops if row[1] == channel), key=lambda row: row[2])
        drops += len(rows)
        several += sum(row[4] > 1 for row in rows)
        for a, b in zip(rows, rows[1:]):
            if b[2] != a[2] + 1 or b[0] <= a[0]:
                continue
            way = abs(b[3] - a[3])
            steps += 1
            off_spacing += 50 * abs(way - spacing) > spacing
            off_speed += speed > 0 and 4 * abs(way * 1_000_000 // (b[0] - a[0]) - speed) > speed
    return 2 * off_spacing > steps or 2 * off_speed > steps or (mode == "single" and 2 * several > drops)


def contradictions(log, channels):
    """(kind, channel or None), sorted. Offsets of several units that are all off alike are not looked for here."""
    found = set()
    if log.contradicts:
        found.add(("log_disagrees", -1))
    if log.jumps or log.set_anew:
        found.add(("travel_jumps", -1))
    for channel in channels:
        found |= {("gate_without_place", channel["channel"]) for _ in channel["gates_without_place"]}
        found |= {("gates_disagree", channel["channel"])} if channel["gates_disagree"] else set()
        found |= {(doubt, channel["channel"]) for doubt in channel["doubts"]}
    return sorted(found)

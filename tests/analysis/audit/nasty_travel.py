"""Droplogs whose travel, boots, starts or missing lines a careless audit gets wrong, made as nasty_logs.py makes its own."""
import random

from nasty_logs import BELOW, Run, sealed, single, sow, steady, usual


def rolling_back(drops, back_um, backward=False, late_us=0, seed=40, at_um=0, step_us=100_000):
    """Travel that rolls back by so much at a place, then goes on; drops only on the way on."""
    sign, step_um = -1 if backward else 1, step_us // 4
    out = steady(at_um) if at_um else [(2_000_000, 0)]
    (time, place), steps = out[-1], -(-back_um // step_um)
    back = [(time + step_us * k, place - min(back_um, step_um * k)) for k in range(1, steps + 1)]
    time, place = (back or out)[-1]
    on = [(time + step_us * k, place + step_um * k) for k in range(1, (drops * 180_000 + 3_000_000 + back_um) // step_um)]
    run = Run(seed, single(), {0: {"unit": "A", "row": 1} | BELOW})
    for knot_time, knot_place in out + back:
        run.add(knot_time, "travel", sign * knot_place)
    run.travel([(t, sign * x) for t, x in on])
    sow(run, drops, sign=sign, start=sign * (at_um + 500_000))
    run.late_us = late_us
    return run


def swapped_travel(backward=False, drops=220):
    """The first two travel lines in the wrong order, 20 ms and 20 mm apart."""
    knots = steady(drops * 180000 + 1_500_000, 1_000_000, 20_000, backward=backward)
    run = usual(41, drops=drops, backward=backward, knots=knots, settings=single(speed_um_s=1_000_000), offset=12_000)
    run.mangle = swap_first_travel
    return run.text()


def swap_first_travel(lines):
    """Each gets the other's SEQ, for that never runs backward."""
    first, second = [k for k, line in enumerate(lines) if line.startswith(b"travel")][:2]
    bodies = [lines[k][:-6].decode().split(",") for k in (first, second)]
    bodies[0][1], bodies[1][1] = bodies[1][1], bodies[0][1]
    lines = list(lines)
    lines[first], lines[second] = (sealed(",".join(body)) for body in reversed(bodies))
    return lines


def jumping_travel():
    """Every fortieth travel line is where no machine can have driven."""
    run = usual(42)
    rng, number = random.Random(42), 0
    for k, (time, order, fields) in enumerate(run.boots[-1]):
        if fields[0] == "travel":
            number += 1
            if number % 40 == 7:
                run.boots[-1][k] = (time, order, ("travel", rng.choice((9 * 10**17, -9 * 10**17, 10**9))))
    return run.text()


def line_whose_travel_jumps():
    """A few hundred bytes that took for ever: each segment of the way was walked."""
    run = Run(43, {"mode": "line", "rate_per_m_milli": 60000, "speed_um_s": 250000}, {0: {"unit": "A"} | BELOW})
    for time, place in ((0, 0), (100_000, 25_000), (200_000, 900_000_000_000_000_000), (300_000, 75_000),
                        (400_000, 800_000_000_000_000_000), (500_000, 800_000_000_000_025_000)):
        run.add(time, "travel", place)
    for time in (50_000, 150_000, 250_000, 350_000, 450_000):
        run.pulse(time, 0, 1)
    return run.text()


def position_set_anew():
    """Without a boot, travel goes on from another place."""
    run = usual(44, drops=100)
    half = run.boots[-1][len(run.boots[-1]) // 2][0]
    moved = {"travel": 1, "drop": 3}
    for k, (time, order, fields) in enumerate(run.boots[-1]):
        if fields[0] in moved and time > 15_000_000:
            at = moved[fields[0]]
            run.boots[-1][k] = (time, order, fields[:at] + (fields[at] + 5_000_000_000,) + fields[at + 1:])
    assert half
    return run.text()


def index_from_zero_after_boots(boots=4):
    run = usual(45, drops=90, miss=0.08)
    for _ in range(boots - 1):
        run.reboot()
        run.travel(steady(90 * 180000 + 1_500_000))
        sow(run, 90, miss=0.08)
    return run.text()


def two_starts(confirmed):
    """A second start in the same boot: travel and INDEX begin anew."""
    run = usual(46, drops=60)
    first = run.boots[-1]
    end = max(time for time, _, _ in first) + 1_000_000
    later = usual(47, drops=40)
    run.boots[-1] = first + [(end, 10**6, ("halted", "host")), (end + 10, 10**6 + 1, ("started",))]
    run.boots[-1] += [(time + end, order + 10**7, fields) for time, order, fields in later.boots[-1]]
    run.commanded = later.commanded

    def confirm(lines):
        second = [k for k, line in enumerate(lines) if line.startswith(b"started")][-1]
        return lines[:second] + [sealed("@confirmed,1772438400000000")] * confirmed + lines[second:]
    run.mangle = confirm
    return run.text()


def without_lines(gone):
    """SEQ renumbered as if the lines had never been."""
    def mangle(lines):
        kept, seq = [], 0
        for k, line in enumerate(lines):
            body = line[:-6].decode()
            if not body.startswith("@"):
                fields = body.split(",")
                if gone(fields):
                    continue
                fields[1], seq = str(seq), seq + 1
                line = sealed(",".join(fields))
            kept.append(line)
        return kept
    return mangle


def lacking(gone, **how):
    run = usual(48, **how)
    run.mangle = without_lines(gone)
    return run.text()


def is_drop(fields, indices):
    return fields[0] == "drop" and int(fields[4]) in indices


def without_order():
    run = usual(49)
    run.mangle = lambda lines: [line for line in lines if not line.startswith(b"@sent")]
    return run.text()


HEALTHY = {"index_from_zero_after_boots", "long_and_late"}  # no cause may be named


def all_logs():
    logs = {function.__name__: function() for function in (
        swapped_travel, jumping_travel, line_whose_travel_jumps, position_set_anew, index_from_zero_after_boots,
        without_order)}
    logs["swapped_travel_backward"] = swapped_travel(backward=True)
    for back_um in (12_000, 1_000_000, 3_000_000):
        for backward in (False, True):
            name = f"rolls_back_{back_um}{'_backward' if backward else ''}"
            logs[name] = rolling_back(120, back_um, backward).text()
            logs[name + "_late_lines"] = rolling_back(120, back_um, backward, late_us=50_000).text()
        logs[f"rolls_back_{back_um}_on_the_way"] = rolling_back(60, back_um, at_um=8_000_000).text()
    logs["long_and_late"] = rolling_back(18_000, 12_000, late_us=50_000, step_us=240_000).text()
    logs["two_starts"] = two_starts(confirmed=0)
    logs["two_confirmed_starts"] = two_starts(confirmed=1)
    logs["six_drops_missing"] = lacking(lambda fields: is_drop(fields, range(50, 56)))
    logs["beginning_missing"] = lacking(
        lambda fields: fields[0] in ("hello", "started") or is_drop(fields, range(100)))
    logs["end_missing"] = lacking(lambda fields: is_drop(fields, range(210, 220)))
    logs["halt_missing"] = lacking(lambda fields: fields[0] == "halted")
    return logs

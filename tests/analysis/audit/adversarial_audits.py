#!/usr/bin/python3
"""Logs that would fool a careless audit: a healthy unit that looks bad, a bad one that looks healthy. What the evidence can't
tell must stay undecided, with the reason said first; what it can tell must be said.

usage: adversarial_audits.py PROGRAM SCENARIO_FOLDER    exit 0 the audit says no more than the evidence, 1 it does
"""
import subprocess
import sys
import tempfile
from pathlib import Path

import adversarial_logs as logs
from nasty_logs import BELOW, Run, sow, steady, usual

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

UNDECIDED, OUTSIDE, WITHIN = {"undecided"}, {"outside"}, {"within"}


class Bench:
    def __init__(self, program, scenarios, folder):
        self.program, self.scenarios, self.folder = program, scenarios, folder

    def run(self, scenario="healthy", drops=400, **how):
        return logs.Virtual(self.program, self.scenarios, self.folder, scenario, drops, **how)

    def alone(self, scenario="healthy", **how):
        return logs.one_gate(self.run(scenario, **how))

    def audit(self, text, *options):
        log = Path(self.folder) / "audited.droplog"
        log.write_bytes(text if isinstance(text, bytes) else text.text())
        done = subprocess.run([self.program, "audit", "--json", log, *options], capture_output=True, text=True, check=False)
        assert done.returncode in (0, 1, 2), done.stderr
        return held(done.stdout)


WEAK = [("fill = 0.985", "fill = 0.90")]
MERGING = [("beam_mm = 2.5\ndetection = 0.999", "beam_mm = 60\ndetection = 0.999")]


def two_gates_unplugged(bench):
    """Gate 1 has no place in the log, and gate 0 is not there."""
    return bench.alone().without(lambda line: line[0] == "@channel" and line[2].startswith("gate1_"))


# name: (log, outcomes that the evidence carries, contradictions that must be said first)
def cases(bench):
    yield "healthy", bench.run(), WITHIN, []
    yield "one gate", bench.alone(), WITHIN, []
    # Healthy units that look bad
    yield "gate dies, the other one sees", logs.silent_after(bench.run(), 1, 0.5), UNDECIDED, ["gates_disagree"]
    yield "gate dies, no other one", logs.silent_after(bench.alone(), 1, 0.5), UNDECIDED, ["gate_fell_silent"]
    yield "loose cable", logs.silent_after(bench.alone(), 1, 0.3, 0.6), UNDECIDED, ["gate_fell_silent"]
    yield "gate saw nothing", bench.alone().without(lambda line: line[0] == "pulse"), UNDECIDED, []
    yield "vibration", logs.periodic(bench.run(), 50_000), UNDECIDED, ["pulses_without_drop"]
    yield "vibration, one gate", logs.periodic(bench.alone(), 50_000), UNDECIDED, ["pulses_without_drop"]
    yield "a slow drip", logs.periodic(bench.alone(), 1_000_000), UNDECIDED, ["pulses_without_drop"]
    yield "bounce", logs.twice(bench.run(), 30_000, share=3), UNDECIDED, ["pulses_without_drop"]
    yield "contact bounce", logs.twice(bench.alone(), 300), UNDECIDED, ["pulses_without_drop"]
    yield "fading gate", logs.fading(bench.run()), UNDECIDED, ["gates_disagree"]
    yield "first revolution unseen", logs.first_revolution_unseen(bench.alone()), UNDECIDED, []
    yield "speed set wrong", bench.run().set("speed_um_s", 500000), UNDECIDED, ["order_not_carried_out"]
    yield "spacing set wrong", bench.run().set("spacing_um", 100000), UNDECIDED, ["order_not_carried_out"]
    yield "spacing set half", bench.run().set("spacing_um", 90000), UNDECIDED, ["order_not_carried_out"]
    yield "mode set wrong", bench.run("portion_healthy").set("mode", "single"), UNDECIDED, ["order_not_carried_out"]
    yield "no place", two_gates_unplugged(bench), UNDECIDED, ["gate_without_place"]
    yield "both units off alike", usual_pair(), UNDECIDED, ["all_units_off"]
    # Bad ones that look healthy, or another's
    yield "bridged channels", logs.bridged(bench.run("six_units", drops=250)), UNDECIDED, ["channels_alike"]
    yield "hears the valve", logs.valve_heard(bench.run("double_feeding"), "0"), UNDECIDED, ["pulses_without_drop"]
    yield "gates of two units swapped", logs.swapped_gates(
        bench.run("six_units", change=WEAK)), UNDECIDED | OUTSIDE, ["gates_disagree"]  # the other four are bad indeed
    yield "doubles merge in the judging gate", bench.run("double_feeding", change=MERGING), UNDECIDED, ["gates_disagree"]
    # Clocks and counters
    yield "counter set anew", logs.counter_set_anew(bench.run()), UNDECIDED, ["travel_jumps"]
    yield "clock set back", logs.clock_jump(bench.run(), -10_000_000), UNDECIDED, ["log_disagrees"]
    yield "clock set forward", logs.clock_jump(bench.run(), 10_000_000), WITHIN | UNDECIDED, []
    yield "encoder slips by 3 %", logs.scaled_travel(bench.run(), 0.97), UNDECIDED, ["order_not_carried_out"]
    yield "told twice", logs.told_twice(bench.run()), WITHIN, []
    for share, other_um in ((0.4, 400_000), (0.2, 400_000), (0.1, 400_000), (0.2, 90_000)):
        yield f"{share:.0%} of the drops {other_um / 1000:.0f} mm apart", logs.two_spacings(share, other_um), UNDECIDED, [
            "order_not_carried_out"]
    for by_um in (-180_000, 180_000, -540_000):
        yield f"places {by_um / 1000:.0f} mm beside", logs.commanded_elsewhere(bench.run(drops=600), by_um), UNDECIDED, [
            "drops_out_of_step"]
    for after_us in (0, 100, 3000):
        yield f"channels echoed after {after_us} us", logs.echoed(bench.run("six_units", drops=250), after_us), UNDECIDED, [
            "channels_alike"]
    yield "travel told every ten seconds", logs.untold_travel(bench.run(), 50), UNDECIDED, ["travel_jumps"]
    for count, every in ((0, 1), (2, 3)):
        yield f"every {every}th drop to hold {count}", logs.other_counts(bench.run(), count, every), UNDECIDED, [
            "order_not_carried_out"]
    for code in ("motor_stall", "valve_stuck", "low_voltage"):
        yield code, logs.with_fault(bench.run(), code), UNDECIDED, []
        yield code + " of another channel", logs.with_fault(bench.run(), code, "3"), WITHIN, []
    # What two gates, or enough of one, do show must still be said
    yield "empty hopper", bench.run("empty_hopper", drops=500), OUTSIDE, []
    yield "double feeding", bench.run("double_feeding"), OUTSIDE, []
    yield "double feeding, one gate", bench.alone("double_feeding"), OUTSIDE, []
    yield "a tenth missed, one gate", bench.alone(change=[("fill = 0.985", "fill = 0.87")]), OUTSIDE, []
    yield "slow valve", bench.run("slow_valve"), OUTSIDE, []


# The same of lines and portions.
def other_cases(bench):
    def line(**how):
        return bench.run("line_regular", drops=1500, **how)

    def alone(scenario="line_regular", drops=1500):
        return logs.one_gate(bench.run(scenario, drops))

    yield "line", line(), WITHIN, []
    yield "line, one gate", alone(), WITHIN, []
    yield "line, three units", three_units(), WITHIN, []
    yield "line stops, both gates show it", logs.seeds_stop(line(), 0.6), OUTSIDE, []
    yield "line stops, one gate", logs.silent_after(alone(), 1, 0.6), UNDECIDED, ["gate_fell_silent"]
    yield "line begins late, one gate", logs.silent_after(alone(), 1, -1, 0.4), UNDECIDED, ["gate_fell_silent"]
    yield "line with a hole, one gate", logs.silent_after(alone(), 1, 0.4, 0.6), UNDECIDED, ["gate_fell_silent"]
    yield "line, gate dies, the other one sees", logs.silent_after(line(), 1, 0.6), UNDECIDED, ["gates_disagree"]
    yield "line, fading gate", logs.fading(line()), UNDECIDED, ["gates_disagree"]
    yield "line, contact bounce", logs.twice(line(), 300), UNDECIDED, ["pulses_without_drop"]
    yield "line, contact bounce, one gate", logs.twice(alone(), 300), UNDECIDED, ["pulses_without_drop"]
    yield "line, late bounce, two gates", logs.twice(line(), 20_000), UNDECIDED, ["pulses_without_drop"]
    yield "line, encoder tells twice the way", logs.scaled_travel(line(), 2), UNDECIDED, ["order_not_carried_out"]
    yield "line, channels echoed", logs.echoed(logs.Virtual.of_text(three_units()), 40), UNDECIDED, ["channels_alike"]
    yield "portions", bench.run("portion_healthy"), WITHIN, []
    yield "portions of another count", logs.other_counts(bench.run("portion_healthy"), 4), UNDECIDED, ["order_not_carried_out"]
    yield "portions, contact bounce", logs.twice(bench.run("portion_healthy"), 300), UNDECIDED, ["pulses_without_drop"]


def three_units():
    """Lines that know nothing of each other."""
    run = Run(3, {"mode": "line", "rate_per_m_milli": 60_000, "speed_um_s": 250_000}, {ch: {"unit": f"U{ch}"} | BELOW
                                                                                       for ch in range(3)})
    run.travel(steady(30_000_000))
    for channel in range(3):
        place = 300_000.0
        while place < 29_500_000:
            place += max(500, run.random.gauss(1e9 / 60_000, 5_000))
            run.fall_to(channel, 1, place, 280_000)
    return run.text()


def usual_pair():
    """Two units whose gates hang 20 cm higher than the log says."""
    run = usual(60, channels={ch: {"unit": f"U{ch}"} | BELOW for ch in (0, 1)}, offset=-58_000, drops=300, miss=0.01,
                double=0.0)
    sow(run, 300, channel=1, offset=-57_000, miss=0.01, double=0.0)
    return run.text()


def problems_of(name, report, outcomes, kinds):
    found = [one["kind"] for one in report["contradictions"]]
    if report["outcome"] not in outcomes:
        yield f"{name}: {report['outcome']}, and the evidence carries {outcomes}; contradictions {found}"
    for kind in kinds:
        if kind not in found:
            yield f"{name}: {kind} is not said, {found} are"
    if not kinds and found:
        yield f"{name}: contradictions {found} in a run that has none"


def main(program, scenarios):
    problems, count = [], 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(program, scenarios, folder)
        for name, log, outcomes, kinds in cases(bench):
            count += 1
            problems += problems_of(name, bench.audit(log, "--profile", "single"), outcomes, kinds)
        for name, log, outcomes, kinds in other_cases(bench):
            count += 1
            problems += problems_of(name, bench.audit(log), outcomes, kinds)
    for problem in problems:
        print(problem)
    print(f"{count} logs, {len(problems)} that fooled the audit")
    return 1 if problems or count < 60 else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))

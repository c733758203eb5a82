#!/usr/bin/python3
"""`dropledger audit --json` against the reference audit, number by number, on virtual runs and on nasty logs.

usage: crosscheck_audit.py PROGRAM SCENARIO_FOLDER PROFILE_FOLDER    exit 0 all agree, 1 some differ, 77 numpy or scipy is missing
"""
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

try:
    import nasty_logs
    import nasty_travel
    import reference
except ImportError as missing:
    print(f"skipped: {missing}; install python3-numpy and python3-scipy to run this check")
    sys.exit(77)

HALF_MICROMETRE_MM = 0.0005 + 1e-9


class Comparison:
    def __init__(self, name):
        self.name = name
        self.compared = 0
        self.problems = []

    def say(self, what, seen, expected):
        self.problems.append(f"{self.name}: {what}: program {seen}, reference {expected}")

    def same(self, what, seen, expected):
        self.compared += 1
        if seen != expected:
            self.say(what, seen, expected)

    def close(self, what, seen, expected, absolute=1e-12):
        self.compared += 1
        if (seen is None) != (expected is None):
            return self.say(what, seen, expected)
        if seen is not None and not math.isclose(seen, expected, rel_tol=1e-9, abs_tol=absolute):
            self.say(what, seen, expected)

    def value(self, what, estimate, expected, absolute=1e-12):
        self.close(what, estimate and estimate["value"], expected, absolute)
        if estimate and estimate["low"] is not None and not estimate["low"] <= estimate["value"] <= estimate["high"]:
            self.say(what, "value outside its own interval", estimate)

    def share(self, what, estimate, expected):
        self.value(what, estimate, expected and expected["value"])
        if not estimate or not expected:
            return
        method = estimate["method"]
        if method == "Clopper-Pearson":
            low, high = expected["interval"]
            self.close(what + " low", estimate["low"], low)
            self.close(what + " high", estimate["high"], high)
        elif method.startswith("two-state Markov chain") and "inflated" not in method:
            if not expected["chain"]:
                return self.say(what, method, "nothing that comes in rows")
            low, high = expected["chain"]
            self.close(what + " low", estimate["low"], low, 2e-5)
            self.close(what + " high", estimate["high"], high, 2e-5)


def compare_spacing(c, seen, expected):
    if (seen is None) != (expected is None):
        return c.say("spacing", seen, expected)
    if seen is None:
        return
    c.same("classes", seen["classes"], expected["classes"])
    c.same("spacings", seen["count"], expected["count"])
    c.same("histogram", seen["histogram"]["counts"], expected["histogram"])
    c.same("beyond the histogram", seen["beyond_histogram"], expected["beyond"])
    for key in ("multiples_index", "miss_index", "quality_of_feed_index"):
        c.share(key, seen[key], expected[key])
    for key in ("multiples", "misses", "quality_of_feed"):
        c.share("per spacing " + key, seen["per_spacing"][key], expected["per_spacing"][key])
    c.value("precision", seen["precision"], expected["precision"])
    c.value("mean", seen["mean_mm"], expected["mean_mm"])
    c.value("sd", seen["sd_mm"], expected["sd_mm"])
    for key in ("cp3_reference", "cp3_fullest_band"):
        if expected["count"]:
            c.same(key, seen[key]["inside"], expected[key])


def compare_placement(c, seen, expected, allowance_mm):
    if (seen is None) != (expected is None):
        return c.say("placement", seen, expected)
    if seen is None:
        return
    for key in ("offset_mm", "bias_mm", "p95_abs_mm"):
        c.value(key, seen[key], expected[key], HALF_MICROMETRE_MM)
    c.value("placement sd", seen["sd_mm"], expected["sd_mm"], 1e-3)
    if expected["within"] and seen["within_allowance"]:
        c.share("within allowance", seen["within_allowance"], expected["within"](allowance_mm * 1000))


def compare_portion(c, seen, expected):
    if (seen is None) != (expected is None):
        return c.say("portion", seen, expected)
    if seen is None:
        return
    c.value("mean count", seen["mean_count"], expected["mean_count"])
    c.share("exact share", seen["exact_share"], expected["exact_share"])
    c.value("spread", seen["spread_mm"], expected["spread_mm"], HALF_MICROMETRE_MM)


def compare_line(c, seen, expected):
    if (seen is None) != (expected is None):
        return c.say("line", seen, expected)
    if seen is None:
        return
    for key in ("segments", "seeds"):
        c.same(key, seen[key], expected[key])
    for key in ("mean_per_m", "cv", "dispersion_index", "rate_error"):
        c.value(key, seen[key], expected[key])
    c.close("chi-squared", seen["chi_squared"], expected["chi_squared"])
    c.close("longest gap", seen["longest_gap_mm"], expected["longest_gap_mm"])


def compare_transverse(c, seen, totals):
    defined = len(totals) > 1 and sum(totals) > 0
    if (seen is not None) != defined:
        return c.say("transverse", seen, totals)
    if defined:
        mean = sum(totals) / len(totals)
        c.same("totals", [ch["seeds"] for ch in seen["channels"]], totals)
        c.close("transverse cv", seen["cv"], reference.sample_sd(totals) / mean)
        for channel, total in zip(seen["channels"], totals):
            c.close("deviation", channel["deviation"], total / mean - 1)


def outcome_of(criterion):
    estimate = criterion["estimate"]
    if not estimate or estimate["low"] is None:
        return "undecided"
    low, high, limit = estimate["low"], estimate["high"], criterion["limit"]
    if criterion["sense"] == "magnitude_at_most":
        low, high = (0.0 if low <= 0 <= high else min(abs(low), abs(high))), max(abs(low), abs(high))
    if criterion["sense"] == "at_least":
        return "within" if low >= limit else "outside" if high < limit else "undecided"
    return "within" if high <= limit else "outside" if low > limit else "undecided"


def compare_verdict(c, channel, complete):
    for criterion in channel["verdict"]["criteria"]:
        seen, expected = criterion["outcome"], outcome_of(criterion)
        by_ledger = "commanded drops had no seed" in criterion["reason"]
        allowed = {expected} | {"undecided"}
        if by_ledger:
            allowed |= {"outside"}
        if complete and expected == "outside":
            allowed.discard("undecided")
        if not complete:
            allowed.discard("within")
        c.compared += 1
        if seen not in allowed:
            c.say(criterion["name"] + " outcome", seen, allowed)
    order = ["outside", "undecided", "within"]
    outcomes = [criterion["outcome"] for criterion in channel["verdict"]["criteria"]]
    c.same("outcome", channel["verdict"]["outcome"], min(outcomes, key=order.index, default="undecided"))


def compare(name, report, data):
    c = Comparison(name)
    lengths = [ch["line"]["segment_mm"] for ch in report["channels"] if ch["line"]]
    log, channels = reference.audit(data, round(lengths[0] * 1000) if lengths else 100000)
    compare_transverse(c, report["transverse"], [ch["line"]["total"] for ch in channels if ch["line"]])
    source = report["source"]
    c.same("lines", source["lines"], log.counts)
    c.same("lost", source["lost"], log.lost)
    c.same("gaps", source["sequence_gaps"], log.gaps)
    c.same("torn", source["torn_tail"], log.torn)
    c.same("complete", source["complete"], log.complete)
    c.same("channels", [ch["channel"] for ch in report["channels"]], [ch["channel"] for ch in channels])
    for seen, expected in zip(report["channels"], channels):
        for key in ("gate", "mode"):
            c.same(key, seen[key], expected[key])
        if expected["mode"] != "line":
            c.same("pulses", seen["ledger"]["pulses"], expected["pulses"])
            c.same("rejected", seen["ledger"]["rejected_pulses"], expected["rejected_pulses"])
            c.same("balanced", seen["ledger"]["balanced"], True)
            for key, count in expected["ledger"].items():
                c.same(f"channel {seen['channel']} ledger {key}", seen["ledger"][key], count)
        compare_spacing(c, seen["spacing"], expected["spacing"])
        compare_placement(c, seen["placement"], expected["placement"], ALLOWANCE_MM.get(report["profile"], 20.0))
        compare_portion(c, seen["portion"], expected["portion"])
        compare_line(c, seen["line"], expected["line"])
        compare_verdict(c, seen, log.complete)
        if name in nasty_travel.HEALTHY:
            c.same("causes", [cause["kind"] for cause in seen["causes"]], [])
    return c


ALLOWANCE_MM = {}


def read_allowances(folder):
    for profile in Path(folder).glob("*.toml"):
        for line in profile.read_text().splitlines():
            if line.startswith("allowance_mm"):
                ALLOWANCE_MM[profile.stem] = float(line.split("=")[1].split("#")[0])


def simulated(program, scenarios, folder):
    runs = [(s, 11, 400) for s in sorted(Path(scenarios).glob("*.toml"))]
    runs += [(Path(scenarios) / "healthy.toml", seed, 9000 if seed == 3 else 250) for seed in (1, 2, 3)]
    for scenario, seed, drops in runs:
        log = Path(folder) / f"{scenario.stem}_{seed}.droplog"
        subprocess.run([program, "simulate", "--scenario", scenario, "--log", log, "--drops", str(drops), "--seed",
                        str(seed)], check=True, stderr=subprocess.DEVNULL)
        yield log.stem, log.read_bytes()


def audited(program, data, folder):
    log = Path(folder) / "audited.droplog"
    log.write_bytes(data)
    done = subprocess.run([program, "audit", "--json", log], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1, 2):
        return None, f"exit {done.returncode}: {done.stderr.strip()}"
    return json.loads(done.stdout), ""


# Where this reference still follows the definitions as they were: it must be taught what is named here, and until then
# these numbers have no second opinion.
NOT_FOLLOWED = {
    # The share of multiples per spacing takes the chain of the drops, not of the spacings.
    ("all_doubled", "per spacing multiples"), ("mostly_multiples", "per spacing multiples"),
    ("all_doubled", "multiples_index outcome"),  # no index: the ledger decides
    ("turning_back", "multiples_index outcome"), ("turning_back", "quality_of_feed_index outcome"),  # least events
    ("line_whose_travel_jumps", "mean_per_m"), ("line_whose_travel_jumps", "rate_error"),  # one whole segment
    # The judging gate overlooks what the other one saw: contradicted evidence.
    *((log, f"{quantity} outcome") for log in ("both_gates_above", "dirty_gate_11", "half_blind_gate_11")
      for quantity in ("miss_index", "multiples_index", "quality_of_feed_index")),
}


def is_followed(problem):
    return not any(problem.startswith(f"{log}: {what}") for log, what in NOT_FOLLOWED)


def main(program, scenarios, profiles):
    read_allowances(profiles)
    compared, problems = 0, []
    with tempfile.TemporaryDirectory() as folder:
        logs = list((nasty_logs.all_logs() | nasty_travel.all_logs()).items()) + list(simulated(program, scenarios, folder))
        for name, data in logs:
            report, failure = audited(program, data, folder)
            if report is None:
                problems.append(f"{name}: {failure}")
                continue
            comparison = compare(name, report, data)
            compared += comparison.compared
            problems += filter(is_followed, comparison.problems)
    for problem in problems:
        print(problem)
    print(f"{len(logs)} logs, {compared} numbers compared, {len(problems)} differ")
    return 1 if problems or compared < 1000 else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:4]))

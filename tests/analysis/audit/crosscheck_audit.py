#!/usr/bin/python3
"""`dropledger audit --json` against the reference audit, number by number, on virtual runs and on nasty logs.

usage: crosscheck_audit.py PROGRAM SCENARIO_FOLDER PROFILE_FOLDER    exit 0 all agree, 1 some differ, 77 numpy or scipy is missing
"""
import math
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

try:
    import nasty_logs
    import nasty_travel
    import reference
    import reference_doubts
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
            low, high = expected["chain"] or expected["interval"]  # of other entries, or as they are
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


CONCERNS_PLACES = ("offset_mm", "p95_abs_mm", "within_allowance")
LEDGERS_OWN = {"miss_index": "miss_share", "multiples_index": "multiple_share"}


def concerns(kind, name, expected):
    """Whether evidence contradicted in this way may not carry this criterion."""
    if kind == "travel_jumps":
        return not expected["counts_only"]
    if kind in ("gates_disagree", "calibration_contradicted"):
        return name not in CONCERNS_PLACES and name != "precision"
    if kind == "drops_out_of_step":
        return name in CONCERNS_PLACES
    if kind == "gate_fell_silent" and not expected["line"]:
        return name in ("miss_index", "quality_of_feed_index", "empty_share", "exact_share")
    return name in CONCERNS_PLACES if kind in ("all_units_off", "gate_without_place") else True


def with_events(outcome, events):
    """Outside needs three independent events where the quantity is a share."""
    return "undecided" if outcome == "outside" and events is not None and events < 3 else outcome


def by_ledger(own, criterion, channel, expected):
    """The index and the ledger's own share: within needs both, outside either; without an index the share decides."""
    name = LEDGERS_OWN.get(criterion["name"])
    if name is None or expected["spacing"] is None or own == "outside" or not expected["pulses"]:
        return own
    share = channel["shares"][name]
    ledger = with_events(outcome_of(criterion | {"estimate": share}), expected["events"][name])
    if not criterion["estimate"] or criterion["estimate"]["low"] is None:
        return ledger
    return ledger if ledger == "outside" or own == "within" else own


def expected_outcome(criterion, channel, expected, log, least_drops, found):
    own = with_events(outcome_of(criterion), expected["events"].get(criterion["name"]))
    own = by_ledger(own, criterion, channel, expected)
    drops = expected["line"]["segments"] if expected["line"] else sum(
        expected["ledger"].get(kind, 0) for kind in ("miss", "single", "multiple", "empty", "short", "exact", "over"))
    if own == "within" and (not log.complete or log.faulty(channel["channel"]) or drops < least_drops):
        own = "undecided"
    if any(concerns(kind, criterion["name"], expected) for kind, where in found if where in (-1, expected["channel"])):
        own = "undecided"
    return own


def compare_verdict(c, channel, expected, log, least_drops, found):
    for criterion in channel["verdict"]["criteria"]:
        seen, should = criterion["outcome"], expected_outcome(criterion, channel, expected, log, least_drops, found)
        allowed = {should} if log.complete else {should, "undecided"}  # what is missing could account for it
        c.compared += 1
        if seen not in allowed:
            c.say(criterion["name"] + " outcome", (seen, criterion["reason"]), allowed)
    order = ["outside", "undecided", "within"]
    outcomes = [criterion["outcome"] for criterion in channel["verdict"]["criteria"]]
    c.same("outcome", channel["verdict"]["outcome"], min(outcomes, key=order.index, default="undecided"))


def intervals_or_reasons(c, json_value, path=""):
    """Every estimate has an interval, or says why it has none."""
    if isinstance(json_value, dict):
        if "no_interval" in json_value:
            c.compared += 1
            if (json_value["low"] is None) != (json_value["no_interval"] is not None):
                c.say("no_interval of " + path, json_value["no_interval"], "a reason exactly where there is no interval")
        for key, inner in json_value.items():
            intervals_or_reasons(c, inner, f"{path}.{key}")
    elif isinstance(json_value, list):
        for inner in json_value:
            intervals_or_reasons(c, inner, path)


def compare(name, report, data):
    c = Comparison(name)
    lengths = [ch["line"]["segment_mm"] for ch in report["channels"] if ch["line"]]
    log, channels = reference.audit(data, round(lengths[0] * 1000) if lengths else 100000)
    intervals_or_reasons(c, report)
    found = reference_doubts.contradictions(log, channels)
    c.same("contradictions", sorted({(one["kind"], -1 if one["channel"] is None else one["channel"])
                                     for one in report["contradictions"] if one["kind"] != "all_units_off"}), found)
    found += [("all_units_off", -1) for one in report["contradictions"] if one["kind"] == "all_units_off"]
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
        for key, share in expected["shares"].items():
            if key in seen["shares"]:
                c.share("ledger's " + key, seen["shares"][key], share)
        compare_verdict(c, seen, expected, log, LEAST_DROPS.get(report["profile"], 0), found)
        if name in nasty_travel.HEALTHY:
            c.same("causes", [cause["kind"] for cause in seen["causes"]], [])
    return c


ALLOWANCE_MM, LEAST_DROPS = {}, {}


def read_profiles(folder):
    for profile in Path(folder).glob("*.toml"):
        for line in profile.read_text().splitlines():
            for key, table in (("allowance_mm", ALLOWANCE_MM), ("least_drops", LEAST_DROPS)):
                if line.startswith(key):
                    table[profile.stem] = float(line.split("=")[1].split("#")[0])


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
    return held(done.stdout), ""


def main(program, scenarios, profiles):
    read_profiles(profiles)
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
            problems += comparison.problems
    for problem in problems:
        print(problem)
    print(f"{len(logs)} logs, {compared} numbers compared, {len(problems)} differ")
    return 1 if problems or compared < 1000 else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:4]))

"""Runs that look like others than they are: what a bench, a cable or a hand may do to a log, made from virtual runs by changes
of their lines. Each says which verdict would go beyond the evidence; adversarial_audits.py holds the audit to it.
"""
import subprocess
from bisect import bisect_left
from pathlib import Path

from nasty_logs import BELOW, Run, sealed, single, steady


class Virtual:
    """A run of the virtual bench as lines of fields; host lines are kept, what is sealed is left out."""

    def __init__(self, program, scenarios, folder, scenario="healthy", drops=500, seed=5, change=()):
        text = (Path(scenarios) / f"{scenario}.toml").read_text()
        for old, new in change:
            assert old in text, old
            text = text.replace(old, new)
        toml, log = Path(folder) / "made.toml", Path(folder) / "made.droplog"
        toml.write_text(text)
        log.unlink(missing_ok=True)
        subprocess.run([program, "simulate", "--scenario", toml, "--log", log, "--drops", str(drops), "--seed", str(seed)],
                       check=True, stderr=subprocess.DEVNULL)
        self._take(log.read_bytes())

    @classmethod
    def of_text(cls, text):
        run = cls.__new__(cls)
        run._take(text)
        return run

    def _take(self, text):
        self.lines = [line[:-6].decode().split(",") for line in text.splitlines(keepends=True)]
        self.lines = [line for line in self.lines if line[0] not in ("@seal", "@ending")]
        self.lines = [["@close", line[1], "", ""] if line[0] == "@close" else line for line in self.lines]

    def of(self, name):
        return [line for line in self.lines if line[0] == name]

    def pulses(self, channel=0, gate=1):
        return [line for line in self.of("pulse") if line[3:5] == [str(channel), str(gate)]]

    def without(self, gone):
        self.lines = [line for line in self.lines if not gone(line)]
        return self

    def with_lines(self, more):
        """Further controller lines, each behind the last one that is no later."""
        known = [(int(line[2]), k) for k, line in enumerate(self.lines) if not line[0].startswith("@")]
        ticks = [tick for tick, _ in known]
        behind = {}
        for line in sorted(more, key=lambda line: int(line[2])):
            at = max(1, bisect_left(ticks, int(line[2]) + 1))
            behind.setdefault(known[min(at, len(known) - 1) - 1][1], []).append(line)
        self.lines = [each for k, line in enumerate(self.lines) for each in [line] + behind.get(k, [])]
        return self

    def set(self, key, value):
        for line in self.lines:
            if line[:2] == ["@set", key]:
                line[2] = str(value)
        return self

    def end(self):
        return int(self.of("halted")[-1][2])

    def text(self, repeat_from=None):
        """SEQ anew."""
        out, seq = [], 0
        for line in self.lines:
            if not line[0].startswith("@"):
                line = [line[0], str(seq)] + line[2:]
                seq += 1
            out.append(sealed(",".join(line)))
        return b"".join(out)


def one_gate(run):
    """The unit's own gate is not there at all."""
    return run.without(lambda line: line[0] == "pulse" and line[4] == "0").without(
        lambda line: line[0] == "@channel" and line[2].startswith("gate0_"))


def silent_after(run, gate, share, until=2.0):
    start = run.end()
    return run.without(lambda line: line[0] == "pulse" and line[4] == str(gate) and
                       share * start < int(line[2]) < until * start)


def periodic(run, every_us, gate=1, channel=0):
    first = int(run.of("travel")[0][2])
    return run.with_lines([["pulse", "0", str(tick), str(channel), str(gate), "700", "450"]
                           for tick in range(first, run.end(), every_us)])


def twice(run, after_us, gate=1, share=1):
    return run.with_lines([line[:2] + [str(int(line[2]) + after_us)] + line[3:]
                           for line in run.pulses(gate=gate)[::share]])


def bridged(run):
    """Channel 1's gate reports what channel 0's sees; its own unit is dead."""
    run.without(lambda line: line[0] == "pulse" and line[3] == "1")
    return run.with_lines([line[:3] + ["1"] + line[4:] for line in run.of("pulse") if line[3] == "0"])


def swapped_gates(run):
    """The unit's own gates of channels 0 and 1 are plugged the wrong way round."""
    for line in run.of("pulse"):
        if line[4] == "0" and line[3] in "01":
            line[3] = "1" if line[3] == "0" else "0"
    return run


def scaled_travel(run, factor):
    for line in run.of("travel"):
        line[3] = str(round(int(line[3]) * factor))
    for line in run.of("drop"):
        line[5] = str(round(int(line[5]) * factor))
    return run


def clock_jump(run, by_us):
    half = run.end() // 2
    for line in run.lines:
        if not line[0].startswith("@") and int(line[2]) > half:
            line[2] = str((int(line[2]) + by_us) % 2**32)
    return run


def counter_set_anew(run, by_um=700_000_000):
    half = run.end() // 2
    for line in run.lines:
        if line[0] in ("travel", "drop") and int(line[2]) > half:
            at = 3 if line[0] == "travel" else 5
            line[at] = str(int(line[at]) + by_um)
    return run


def commanded_elsewhere(run, by_um):
    """The places of the drops are stated so far from where they were sown."""
    for line in run.of("drop"):
        line[5] = str(int(line[5]) + by_um)
    return run


def untold_travel(run, every):
    """One travel line of so many."""
    kept = {id(line) for line in run.of("travel")[::every] + run.of("travel")[-1:]}
    return run.without(lambda line: line[0] == "travel" and id(line) not in kept)


def other_counts(run, count, every=1):
    for line in run.of("drop")[::every]:
        line[6] = str(count)
    return run


def with_fault(run, code, channel="0", share=0.5):
    return run.with_lines([["fault", "0", str(int(share * run.end())), channel, code]])


def seeds_stop(run, share):
    """In every gate."""
    start = run.end()
    return run.without(lambda line: line[0] == "pulse" and int(line[2]) > share * start)


def echoed(run, after_us):
    """Channel 1's gates report what channel 0's saw, so long after it; its own unit is dead."""
    run.without(lambda line: line[0] == "pulse" and line[3] == "1")
    return run.with_lines([line[:2] + [str(int(line[2]) + after_us), "1"] + line[4:] for line in run.of("pulse") if line[3] == "0"])


def two_spacings(share, other_um, drops=300):
    """A healthy unit; `share` of its drops are commanded at another spacing than the log states."""
    run = Run(5, single(), {0: {"unit": "A"} | BELOW})
    run.travel(steady(round(drops * (180_000 * (1 - share) + other_um * share)) + 3_000_000))
    place = 500_000
    for k in range(drops):
        run.drop(run.time_at(place) - 300_000, 0, k, place)
        if run.random.random() > 0.01:
            run.fall_to(0, 1, place + run.random.gauss(0, 4000), 280_000)
        place += other_um if k % 10 < 10 * share else 180_000
    return run.text()


def fading(run, gate=1):
    """From seeing all to seeing half."""
    pulses = run.pulses(gate=gate)
    gone = {id(line) for k, line in enumerate(pulses) if (k * 7919 % 1000) / 1000 < 0.5 * k / len(pulses)}
    return run.without(lambda line: id(line) in gone)


def first_revolution_unseen(run, cells=24):
    opened = [int(line[2]) for line in run.of("drop")][cells]
    return run.without(lambda line: line[0] == "pulse" and int(line[2]) < opened)


def told_twice(run):
    """The whole story again under the same BOOT and SEQ."""
    text = run.text()
    body = [line for line in text.splitlines(keepends=True) if not line.startswith(b"@close")]
    story = [line for line in body if not line.startswith(b"@")]
    return b"".join(body + story + [text.splitlines(keepends=True)[-1]])


def valve_heard(run, gate):
    """The unit drops nothing, and its other gate is not there: each valve opening induces a pulse in the gate above it."""
    run.without(lambda line: line[0] == "pulse").without(
        lambda line: line[0] == "@channel" and line[2].startswith("gate") and not line[2].startswith(f"gate{gate}"))
    return run.with_lines([["pulse", "0", str(int(line[2]) + 120), line[3], gate, "300", "250"] for line in run.of("drop")])

"""A log of the emulated bench held against the truth about it: every opening, every pulse, every drop. Shares no code with the
product's ledger."""

import csv
import collections
import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "conformance"))
from line import decode  # noqa: E402


def rows(path):
    with open(path, encoding="ascii", newline="") as file:
        return list(csv.DictReader(file))


def boots_of(log):
    """The controller lines of each boot, in order."""
    boots, names = [], []
    for raw in pathlib.Path(log).read_bytes().split(b"\n")[:-1]:
        line = decode(raw)
        if line.kind != "controller":
            continue
        if line.name == "hello" and line.fields[4] not in names:
            names.append(line.fields[4])
            boots.append([])
        if boots:
            boots[-1].append(line)
    return boots


class Comparison:
    """Of one boot: differences in µs, log minus truth, and what has no partner."""

    def __init__(self, lines, drops, pulses, boot=0):
        self.lines = lines
        self.drops = [row for row in drops if int(row["boot"]) == boot]
        self.pulses = [row for row in pulses if int(row["boot"]) == boot]
        self.opening_us, self.edge_us, self.width_us = [], [], []
        self.unmatched = []
        self._openings()
        self._pulses()

    def _openings(self):
        logged = {(line.fields[3], line.fields[4]): line for line in self.lines if line.name == "drop"}
        for row in self.drops:
            line = logged.pop((row["channel"], row["index"]), None)
            if line is None:
                self.unmatched.append(f"opening {row['channel']},{row['index']} has no drop line")
            else:
                self.opening_us.append(line.tick - float(row["at_us"]))
        self.unmatched += [f"drop line without an opening: {line.body}" for line in logged.values()]

    def _pulses(self):
        """In order of each gate: the n-th line is the n-th pulse."""
        ended = [line.tick for line in self.lines if line.name == "halted"]
        last = ended[-1] if ended else self.lines[-1].tick
        true = collections.defaultdict(list)
        for row in self.pulses:
            if float(row["at_us"]) + float(row["width_us"]) < last:
                true[row["channel"], row["gate"]].append(row)
        logged = collections.defaultdict(list)
        for line in self.lines:
            if line.name == "pulse":
                logged[line.fields[3], line.fields[4]].append(line)
        for gate in set(true) | set(logged):
            self._gate(gate, true[gate], sorted(logged[gate], key=lambda line: line.tick))

    def _gate(self, gate, true, logged):
        true.sort(key=lambda row: float(row["at_us"]))
        if len(true) != len(logged):
            self.unmatched.append(f"gate {gate}: {len(true)} pulses, {len(logged)} lines")
        for row, line in zip(true, logged):
            self.edge_us.append(line.tick - float(row["at_us"]))
            self.width_us.append(int(line.fields[5]) - float(row["width_us"]))

    def text(self):
        def of(name, values):
            if not values:
                return f"{name}: none"
            return (f"{name}: {len(values)}, log minus truth {min(values):.2f} to {max(values):.2f} us, "
                    f"mean {sum(values) / len(values):.2f}")
        return "\n".join([of("openings", self.opening_us), of("pulses", self.edge_us), of("widths", self.width_us),
                          f"without a partner: {len(self.unmatched)}"] + self.unmatched[:5])


if __name__ == "__main__":
    for number, boot in enumerate(boots_of(sys.argv[1])):
        print(Comparison(boot, rows(sys.argv[2]), rows(sys.argv[3]), number).text())

#!/usr/bin/env python3
"""Compares `dropledger check --json` with the second reader: on every golden log, on logs given, and on mutations of both.

usage: reader_comparison.py DROPLEDGER FOLDER_OR_LOG… [--mutations N] [--seed S] [--keep FOLDER]
Exit status 0 where both say the same of every log, 1 where not: the log is then kept and the fields that differ are shown.
"""

import argparse
import hashlib
import json
import pathlib
import random
import subprocess
import sys
import tempfile

import second_reader
from line import decode, encode, quote

COMPARED = ["lines", "lost", "sequence_gaps", "missing_lines", "boots", "resumed", "late", "extra_fields", "late_settings",
            "damaged_at", "conflicting_at", "torn_tail", "close_reason", "reason_covered", "seals", "signed", "bad_signature", "public_key",
            "complete", "sound"]
AT_ONCE = 50


def resealed(lines):
    """The lines with every right-checked @seal made to hold: what else was changed then stands under good seals."""
    link, block, out = bytes(32), [], []
    for line in lines:
        if decode(line).name == "@seal":
            link = hashlib.sha256(link + b"".join(one + b"\n" for one in block)).digest()
            line, block = encode(f"@seal,{len(block)},{link.hex()}"), []
        elif decode(line).name != "@close":
            block.append(line)
        out.append(line)
    return out


def a_place(chance, lines):
    return chance.randrange(len(lines))


def flip(chance, lines):
    at = a_place(chance, lines)
    line = bytearray(lines[at])
    if line:
        line[chance.randrange(len(line))] ^= 1 << chance.randrange(8)
    lines[at:at + 1] = bytes(line).split(b"\n")


def double(chance, lines):
    lines.insert(a_place(chance, lines), lines[a_place(chance, lines)])


def leave_out(chance, lines):
    del lines[a_place(chance, lines)]


def move(chance, lines):
    line = lines.pop(a_place(chance, lines))
    lines.insert(chance.randrange(len(lines) + 1), line)


def rewrite(chance, lines):
    """A number or text of a line exchanged, the check made right again."""
    at = a_place(chance, lines)
    fields = decode(lines[at]).body.split(",")
    if fields == [""]:
        return
    values = ["0", "1", "7", "-1", "007", "-0", "", "255", "256", "65535", "65536", "4294967295", "4294967296", "b1", "b2",
              "900000000000000000", "900000000000000001", "0" * 18, "0" * 19, "+1", " 1", "%2C", str(chance.randrange(200)),
              "count", "host"]
    fields[chance.randrange(len(fields))] = chance.choice(values)
    put(lines, at, fields)


def shift(chance, lines):
    """SEQ or TICK of a controller line moved."""
    at = a_place(chance, lines)
    line = decode(lines[at])
    if line.kind == "controller":
        step = chance.choice([-1, 1, -60_000, 60_000, -1_000_001, 2_000_000, -70_000, 2**31, chance.randrange(2**32)])
        which = chance.choice([1, 2])
        line.fields[which] = str((int(line.fields[which]) + step) % 2**32)
        put(lines, at, line.fields)


def put(lines, at, fields):
    try:
        lines[at] = encode(",".join(fields))
    except (AssertionError, UnicodeEncodeError):
        pass


def add(chance, lines):
    line = chance.choice([
        "hello,{n},{n},1,{b},1,f", "hello,{n},{n},1,b9,1,f,more", "armed,{n},{n}", "started,{n},{n}", "halted,{n},{n},count",
        "halted,{n},{n}", "refused,{n},{n},state", "drop,{n},{n},0,{n},5,1", "novel,{n},{n},1", "novel,x", "@novel,1",
        "@set,a,b", "@channel,0,a,b", "@channel,256,a,b", "@at,1,-5", "@note,x", "@damaged,", "@resumed,9",
        "@droplog,1,a,b", "@droplog,2,a,b", "@droplog,2", "@close,count,,", "@close,count,00,11", "@ending,count", "@ending,host", "@ending", "beat,{n},{n},0,{n}",
        "fault,{n},{n},-1,estop", "fault,{n},{n},-2,estop", "@seal,1,ab", "@sent," + quote("arm,single,100000,1,250000,1,4*F00D"),
    ]).format(n=chance.choice([0, 1, 5, 30, 70, chance.randrange(2**32)]), b=chance.choice(["b1", "b2", "b3"]))
    lines.insert(chance.randrange(len(lines) + 1), encode(line))


def noise(chance, lines):
    line = chance.choice([b"", b"\r", b"*29B1", b"x" * 238, b"x" * 239, b"x" * 240, b"x" * 241, b"x" * 5000, encode("a" * 234),
                          encode("a" * 234) + b"\r", b"travel,1,1,1*abcd", chance.randbytes(9).replace(b"\n", b""), b",*DBAC"])
    lines.insert(chance.randrange(len(lines) + 1), line)


def carriage_return(chance, lines):
    lines[a_place(chance, lines)] += b"\r" * chance.choice([1, 1, 2])


MUTATIONS = [flip, double, leave_out, move, rewrite, rewrite, shift, shift, add, add, noise, carriage_return]


def mutated(chance, data):
    *lines, rest = data.split(b"\n")
    for _ in range(chance.choice([1, 1, 2, 4, 8])):
        chance.choice(MUTATIONS)(chance, lines)
        if not lines:
            return data
    if chance.random() < 0.5:
        lines = resealed(lines)
    data = b"\n".join(lines) + b"\n" + rest
    return data[:chance.randrange(len(data))] if chance.random() < 0.1 else data


def second_opinion(data):
    try:
        return second_reader.read(data)
    except second_reader.Refused as refusal:
        return {"refused": str(refusal)}


def first_opinions(program, paths):
    """What the product says of each log; {"refused": …} where it could not be read."""
    done = subprocess.run([program, "check", "--json", *map(str, paths)], capture_output=True, text=True, timeout=300)
    if done.returncode not in (0, 2, 65):
        sys.exit(f"{program} check ended with {done.returncode}: {done.stderr}")
    if len(paths) == 1 and done.returncode == 65:
        return [{"refused": done.stderr}]
    found = json.loads(done.stdout)
    return [{"refused": one["error"]} if "error" in one else one for one in found.get("logs", [found])]


def differences(first, second):
    if "refused" in first or "refused" in second:
        return [] if ("refused" in first) == ("refused" in second) else [("refused", first, second)]
    return [(key, first[key], second[key]) for key in COMPARED if first[key] != second[key]]


def compare(program, logs, keep):
    """`logs` are (name, bytes); returns how many the two readers disagree on."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        paths = [pathlib.Path(folder) / f"{number}.droplog" for number in range(len(logs))]
        for path, (_, data) in zip(paths, logs):
            path.write_bytes(data)
        for (name, data), first in zip(logs, first_opinions(program, paths)):
            second = second_opinion(data)
            found = differences(first, second)
            for key, theirs, ours in found:
                print(f"{name}: {key}: dropledger says {theirs}, the second reader {ours}")
            if found:
                kept = keep / f"{hashlib.sha256(data).hexdigest()[:16]}.droplog"
                kept.write_bytes(data)
                print(f"  faults: {first.get('faults')} / {second.get('faults')}; kept as {kept}")
            wrong += bool(found)
    return wrong


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("logs", nargs="+", type=pathlib.Path)
    parser.add_argument("--mutations", type=int, default=60, help="of each log")
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--keep", type=pathlib.Path, default=pathlib.Path(tempfile.gettempdir()))
    options = parser.parse_args()
    paths = [log for given in options.logs for log in (sorted(given.glob("*.droplog")) if given.is_dir() else [given])]
    if not paths:
        sys.exit("no logs")
    logs = [(path.name, path.read_bytes()) for path in paths]
    chance = random.Random(options.seed)
    logs += [(f"{name}, mutation {n}", mutated(chance, data)) for name, data in logs for n in range(options.mutations)]
    wrong = sum(compare(options.program, logs[at:at + AT_ONCE], options.keep) for at in range(0, len(logs), AT_ONCE))
    refused = sum("refused" in second_opinion(data) for _, data in logs)
    print(f"seed {options.seed}: {len(logs)} logs of {len(paths)}, {refused} refused by both, {wrong} judged differently")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

"""What must hold after every round, found out by the second reader, the controller's memory and the trace of the disk."""

import collections

from rig import DOCUMENTED, decode, second_reader, unquote


def judge(rig):
    """Every rule that this round broke, in words."""
    faults = []
    for rule in (acknowledged_lines_are_there, nothing_was_invented, sync_precedes_ack, no_start_without_confirmation,
                 what_starts_unasked_is_halted, statuses_are_documented, a_good_word_means_a_good_log, motors_stand_still):
        faults += [f"{rule.__name__.replace('_', ' ')}: {fault}" for fault in rule(rig)]
    return faults


def _stored(rig):
    """(boot, SEQ) of the controller lines in the log, in order, and the boot that each hello names."""
    boot, stored = None, []
    for line in rig.logged():
        if line.kind != "controller":
            continue
        boot = line.fields[4] if line.name == "hello" else boot
        stored.append((boot, line.seq, line.body))
    return stored


def _plans(rig, name):
    """What of this name happened to the controller."""
    return [plan for plan in rig.server.wrong.plans if plan.name == name and plan.done]


def acknowledged_lines_are_there(rig):
    """4.6: each line of the log's boots, from its first to the highest acknowledged, once. Lines of a log that was given up
    before anything was in it are nobody's."""
    stored = _stored(rig)
    numbers = [(boot, seq) for boot, seq, _ in stored]
    known = stored if _plans(rig, "conflict") else numbers  # other bytes under one SEQ are stored beside them
    faults = [f"{one} twice" for one, count in collections.Counter(known).items() if count > 1][:3]
    for boot in dict.fromkeys(boot for boot, _ in numbers):
        here = [seq for one, seq in numbers if one == boot]
        highest = max((seq for one, seq in rig.acks if one == boot), default=-1)
        known = set(here) | {seq for one, seq in rig.server.controller.holes if one == boot}
        missing = [seq for seq in range(min(here), highest + 1) if seq not in known]
        if missing:
            faults.append(f"SEQ {missing[0]} to {missing[-1]} of {boot} acknowledged and not in the log")
    return faults


def nothing_was_invented(rig):
    made = {(boot, decode(line).body) for boot, _, line in rig.server.controller.history}
    odd = [body for boot, _, body in _stored(rig) if (boot, body) not in made]
    forged = odd if _plans(rig, "conflict") else []
    return [f"{body} was never sent" for body in odd if body not in forged][:3]


def sync_precedes_ack(rig):
    """In each process: when `ack,SEQ` goes out, a sync that succeeded covered the bytes up to that line."""
    if not rig.trace.exists() or not rig.log.exists():
        return []
    place, at = {}, 0
    for line in rig.log.read_bytes().split(b"\n")[:-1]:
        at += len(line) + 1
        found = decode(line)
        if found.kind == "controller":
            place.setdefault(found.seq, []).append(at)
    faults, synced = [], 0
    for row in rig.trace.read_text().split("\n")[:-1]:
        event, first, second = row.split()
        if event == "sync" and first == "0":
            synced = max(synced, int(second))
        elif event == "cut":
            synced = min(synced, int(first))
        elif event == "ack" and int(first) in place and min(place[int(first)]) > synced:
            faults.append(f"ack,{first} with {synced} bytes synced; the line ends at {min(place[int(first)])}")
    return faults[:3]


def no_start_without_confirmation(rig):
    """4.7, 5.4: each start has a confirmation of its own in the log, none begins before the one before has halted, none is in a
    later boot than the run's, and all of them together make no drop beyond the order. What the controller says by itself is for
    the next rule."""
    faults = []
    asked = _asked_states(rig)
    starts = [boot for boot, name in asked if name == "started"]
    confirmed = sum(line.name == "@confirmed" for line in rig.logged())
    if len(starts) > confirmed:
        faults.append(f"{len(starts)} starts, {confirmed} confirmed")
    if len(set(starts)) > 1:
        faults.append(f"starts in the boots {sorted(set(starts))}")
    running = None
    for boot, name in asked:
        if name == "started" and running == boot:
            faults.append("started before it had halted")
        running = boot if name == "started" else None
    made = sum(decode(line).name == "drop" for _, _, line in _made(rig))
    if made > rig.drops and not _plans(rig, "starts"):
        faults.append(f"{made} drops of {rig.drops}")
    return faults


def _made(rig):
    """The controller's lines without those of an earlier run that it still held (`backlog`)."""
    return rig.server.controller.history[rig.server.controller.before:]


def _asked_states(rig):
    """`started` and `halted` as the controller made them, but for what it was told to invent."""
    invented = len(_plans(rig, "starts"))
    states = []
    for boot, _, line in _made(rig):
        name = decode(line).name
        if name not in ("started", "halted"):
            continue
        if name == "started" and invented and states and states[-1] == (boot, "started"):
            invented -= 1
            continue
        states.append((boot, name))
    return states


def what_starts_unasked_is_halted(rig):
    """5.5: by whoever has it in the log."""
    starts = sum(line.name == "started" for line in rig.logged())
    heard = any("halt" in one.commands for one in rig.drivers)
    if _plans(rig, "silent"):  # what came meanwhile went nowhere: the log must do
        heard = heard or any(line.name == "@sent" and unquote(line.fields[1]).startswith(b"halt") for line in rig.logged())
    if heard or starts <= sum(line.name == "@confirmed" for line in rig.logged()):
        return []
    return [f"{starts} starts in the log, and nobody sent `halt`"]


def statuses_are_documented(rig):
    return [f"process {number} ended with {driver.status}: {driver.said[-300:]!r}" for number, driver in enumerate(rig.drivers)
            if driver.status not in DOCUMENTED | {-9}]


def a_good_word_means_a_good_log(rig):
    if not any(driver.status == 0 for driver in rig.drivers):
        return []
    try:
        found = second_reader.read(rig.log.read_bytes())
    except second_reader.Refused as refusal:
        return [str(refusal)]
    return [] if found["sound"] else [f"exit status 0, and {found['faults']}"]


def motors_stand_still(rig):
    """5.5: a driver that ended by itself leaves nothing turning."""
    last = rig.drivers[-1]
    return [f"the last driver ended with {last.status}, the controller is {last.state}"] if (
        last.status not in (-9, None) and last.state in ("armed", "running")) else []

"""What a controller must do about silence, and with lines that are not acknowledged (3.3, 4.5, 4.6), as a host sees it."""

import time

from host_cases import driving, must, of, refused
from report import Failed

# 4.5: the dead man's rule

@of("4.5", "armed, 2 s without `alive`: `fault,-1,host_silent` and `halted,host_silent`, not before")
def _(player):
    player.arm()
    silence(player)


@of("4.5", "running with `alive` every 250 ms goes on; 2 s without it halts, other commands notwithstanding")
def _(player):
    mark = driving(player)
    player.listen(2.5)
    must(not player.since(mark, "halted"), "no `halted` while `alive` comes", player.lately())
    silence(player, "hello")


def silence(player, command=None):
    player.keeps_alive = False
    mark, since, said = player.mark(), player.alive_at, 0.0
    while not player.since(mark, "halted"):
        waited = time.monotonic() - since
        must(waited < 2.0 + player.plan.patience_s, "`halted,host_silent`", player.lately())
        if command and waited - said > 0.4:
            said = waited
            player.send(command)
        player.breathe()
    must(time.monotonic() - since >= 2.0, "2 s of patience", f"halted after {time.monotonic() - since:.2f} s")
    player.awaited(mark, "fault", "-1", "host_silent")
    player.awaited(mark, "halted", "host_silent")


# 3.3 and 4.6: keeping, acknowledging, sending again

def held(player):
    """A few lines that are kept: their SEQ and bytes."""
    player.answer("hello", "hello")
    player.acknowledge()
    player.keeps_acknowledging = False
    mark = player.mark()
    for _ in range(3):
        player.answer("hello", "hello")
    first = next(n for n in range(mark, player.mark()) if player.lines[n].seq > player.acked)
    return {player.lines[n].seq: player.raw[n] for n in range(first, player.mark())}


@of("4.6", "`resend` brings what is kept again, byte for byte, in order")
def _(player):
    kept = held(player)
    mark = player.mark()
    player.send(f"resend,{min(kept)}")
    player.wait("all of it again", lambda: max(kept) in [line.seq for line in player.since(mark)])
    seqs = [line.seq for line in player.since(mark)]
    again = seqs[seqs.index(min(kept)):]
    must(again == list(range(min(kept), min(kept) + len(again))), "every SEQ from the one asked for", again)
    for line, raw in zip(player.lines[mark:], player.raw[mark:]):
        must(line.seq not in kept or kept[line.seq] == raw, f"{kept.get(line.seq)}", raw)


@of("4.6", "`resend` of what was acknowledged is refused with `gone`, though later lines are kept")
def _(player):
    kept = held(player)
    player.send(f"ack,{min(kept)}")
    refused(player, f"resend,{min(kept)}", "gone")
    refused(player, "resend,0", "gone")


@of("4.6", "`resend` of the next number has no answer; of a later one it is refused with `seq`")
def _(player):
    player.answer("hello", "hello")
    refused(player, "resend,4000000000", "seq")
    for _ in range(50):  # a beat may come in between
        player.listen(0.05)
        mark = player.mark()
        player.send(f"resend,{player.lines[-1].seq + 1}")
        player.listen(0.2)
        if not [line for line in player.since(mark) if line.name != "beat"]:
            return
    raise Failed("no answer", player.lately())


@of("4.6", "`ack` of a line never numbered is refused with `seq`")
def _(player):
    refused(player, "ack,4000000000", "seq")


@of("4.6", "an `ack` below an earlier one does nothing")
def _(player):
    kept = held(player)
    mark = player.mark()
    player.send("ack,0")
    player.never(mark, "refused", 0.3)
    player.send(f"resend,{min(kept)}")
    player.wait("the line still kept", lambda: min(kept) in [line.seq for line in player.since(mark)])


@of("3.3", "each line is sent once unasked, though it is not acknowledged")
def _(player):
    mark = player.mark()
    player.keeps_acknowledging = False
    player.listen(1.5)
    seqs = [line.seq for line in player.since(mark)]
    must(len(seqs) == len(set(seqs)), "every SEQ once", seqs)


@of("3.1", "BACKLOG of `beat` counts the lines kept and goes down with `ack`")
def _(player):
    held(player)
    mark = player.mark()
    beat = player.wait("a beat", lambda: player.since(mark, "beat"))[0]
    must(int(beat.fields[3]) >= 3, "at least 3 kept", beat.body)
    player.keeps_acknowledging = True
    player.wait("a beat with less", lambda: [b for b in player.since(mark, "beat") if int(b.fields[3]) < 3])

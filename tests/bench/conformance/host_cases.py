"""What a controller must do, as a host sees it. Each case names its section of analysis/droplog/README.md."""

from line import encode
from report import Failed, Skipped, case

CASES = []


def of(section, title):
    return case(CASES, section, title)


def must(holds, expected, got):
    if not holds:
        raise Failed(expected, str(got))


def refused(player, body, code):
    player.answer(body, "refused", code)


# 2 and 3: lines

@of("2.2", "a command with a wrong check is refused with `crc`")
def _(player):
    mark = player.mark()
    player.send_bytes(b"hello*0000\n")
    player.awaited(mark, "refused", "crc")


@of("2.2", "a check in lower-case digits is wrong")
def _(player):
    line = next(line for line in (encode(f"ack,{n}") for n in range(100_000, 200_000)) if line[-4:].lower() != line[-4:])
    mark = player.mark()
    player.send_bytes(line[:-4] + line[-4:].lower() + b"\n")
    player.awaited(mark, "refused", "crc")


@of("2.1", "CR before the LF of a command is not part of it")
def _(player):
    mark = player.mark()
    player.send_bytes(encode("hello") + b"\r\n")
    player.awaited(mark, "hello")


@of("2.1", "a command of 240 bytes with its LF is read, one of 241 is refused with `length`")
def _(player):
    mark = player.mark()
    player.send_bytes(encode("x" * 234) + b"\n")
    player.awaited(mark, "refused", "unknown")
    mark = player.mark()
    player.send_bytes(b"x" * 240 + b"\n")
    player.awaited(mark, "refused", "length")


@of("2.1", "a command that comes byte by byte is understood")
def _(player):
    mark = player.mark()
    for byte in encode("hello") + b"\n":
        player.send_bytes(bytes([byte]))
        player.breathe(0.001)
    player.awaited(mark, "hello")


@of("4.3", "noise of 5,000 bytes without an LF does no lasting harm")
def _(player):
    for _ in range(10):
        player.send_bytes(bytes(range(128, 228)) * 5, "500 bytes of noise")
        player.breathe(0.001)
    player.send_bytes(b"\n")
    player.answer("hello", "hello")


@of("2.3", "leading zeros of a number are read")
def _(player):
    mark = player.mark()
    last = player.answer("hello", "hello").seq
    player.keeps_acknowledging = False
    player.send(f"ack,000{last}")
    player.never(mark, "refused", 0.3)
    refused(player, f"resend,{last}", "gone")


@of("3.1", "`hello` is answered with PROTOCOL 1, a BOOT, CHANNELS and FIRMWARE")
def _(player):
    hello = player.answer("hello", "hello")
    must(hello.fields[3] == "1", "PROTOCOL 1", hello.fields[3])
    must(int(hello.fields[5]) >= 1, "at least one channel", hello.fields[5])


@of("3.1", "BOOT stays the same through a boot")
def _(player):
    boots = {player.answer("hello", "hello").fields[4] for _ in range(3)}
    must(len(boots) == 1, "one BOOT", boots)


@of("3.1", "SEQ is one more with every line, none is damaged, all is printable")
def _(player):
    mark = player.mark()
    player.run()
    damaged = [raw for line, raw in zip(player.lines[mark:], player.raw[mark:]) if line.kind == "damaged"]
    must(not damaged, "whole lines only", damaged[:2])
    seqs = [line.seq for line in player.since(mark)]
    must(seqs == list(range(seqs[0], seqs[0] + len(seqs))), "SEQ without a gap", seqs[:20])


@of("3.1", "no number is written with leading zeros or as -0")
def _(player):
    mark = player.mark()
    player.run()
    for line in player.since(mark):
        for text in line.fields[1:]:
            digits = text.removeprefix("-")
            odd = digits.isdigit() and line.name != "hello" and (digits != str(int(digits)) or text == "-0")
            must(not odd, "plain decimal numbers", line.body)


@of("3.1", "TICK is at most 50 ms behind the newest line sent")
def _(player):
    mark = player.mark()
    player.run()
    lines = player.since(mark)
    newest = unwrapped = lines[0].tick
    for before, line in zip(lines, lines[1:]):
        unwrapped += (line.tick - before.tick + 2**31) % 2**32 - 2**31
        newest = max(newest, unwrapped)
        must(newest - unwrapped <= 50_000, "at most 50,000 us behind", f"{line.body} is {newest - unwrapped} behind")


@of("3.1", "a `beat` comes at least once a second, idle too")
def _(player):
    mark = player.mark()
    beats = player.wait("four beats", lambda: player.since(mark, "beat")[3:] and player.since(mark, "beat"))
    steps = [(b.tick - a.tick) % 2**32 for a, b in zip(beats, beats[1:])]
    must(max(steps) <= 1_000_000, "at most 1,000,000 us between beats", steps)


@of("3.1", "`travel` comes at least every 250 ms of a run, and goes on where it was")
def _(player):
    run = player.run()
    travel = [line for line in run if line.name == "travel"]
    ticks = [run[0].tick] + [line.tick for line in travel] + [run[-1].tick]
    steps = [(b - a) % 2**32 for a, b in zip(ticks, ticks[1:])]
    must(max(steps) <= 250_000, "at most 250,000 us between them", max(steps))
    must(len({line.fields[3] for line in travel}) > 1, "a position that changes", [line.fields[3] for line in travel])


# 3.2: drops

@of("3.2", "INDEX of each channel runs from 0 without a gap to DROPS - 1, then `halted,count`")
def _(player):
    run = player.run()
    must(run[-1].fields[3:] == ["count"], "halted,…,count", run[-1].body)
    for channel in [bit for bit in range(32) if player.plan.channel_mask >> bit & 1]:
        index = [int(line.fields[4]) for line in run if line.name == "drop" and line.fields[3] == str(channel)]
        must(index == list(range(player.plan.drops)), f"INDEX 0 to {player.plan.drops - 1} of channel {channel}", index)


@of("3.2", "the places meant for drops are SPACING_UM apart, COUNT as ordered")
def _(player):
    drops = [line for line in player.run() if line.name == "drop"]
    first = [int(line.fields[5]) for line in drops if line.fields[3] == drops[0].fields[3]]
    steps = {b - a for a, b in zip(first, first[1:])}
    must(steps == {player.plan.spacing_um}, f"steps of {player.plan.spacing_um} um", steps)
    must({line.fields[6] for line in drops} == {"1"}, "COUNT 1", {line.fields[6] for line in drops})


@of("3.2", "a second start goes on in SEQ, on the same BOOT, with INDEX from 0")
def _(player):
    first = player.run(drops=2)
    second = player.run(drops=2)
    must(second[0].seq > first[-1].seq, "a higher SEQ", second[0].body)
    must([line.fields[4] for line in second if line.name == "drop"][:1] == ["0"], "INDEX 0", second[1].body)


@of("3.2", "portion mode: COUNT seeds a drop")
def _(player):
    with_mode(player, "portion")
    run = player.run(mode="portion", count=3, drops=3)
    must({line.fields[6] for line in run if line.name == "drop"} == {"3"}, "COUNT 3 in each drop", run[-1].body)
    must(run[-1].fields[3:] == ["count"], "halted,…,count", run[-1].body)


@of("3.1", "line mode: no `drop` lines, and `halted,count` after DROPS spacings")
def _(player):
    with_mode(player, "line")
    run = player.run(mode="line", drops=5)
    must(not [line for line in run if line.name == "drop"], "no drop", run[1].body)
    must(run[-1].fields[3:] == ["count"], "halted,…,count", run[-1].body)
    gone = max(int(line.fields[3]) for line in run if line.name == "travel")
    must(gone >= 4 * player.plan.spacing_um, f"travel of about {5 * player.plan.spacing_um} um", gone)


def with_mode(player, mode):
    if mode not in player.plan.modes.split(","):
        raise Skipped(f"the controller has no {mode} mode")


# 4.2: states

@of("4.2", "idle: `go` is refused with `state`")
def _(player):
    refused(player, "go", "state")


@of("4.2", "idle: `halt` is refused with `state`")
def _(player):
    refused(player, "halt", "state")


@of("4.2", "idle: `alive` has no answer")
def _(player):
    mark = player.mark()
    player.never(mark, "refused", 0.6)


@of("4.2", "armed: a second `arm` is refused with `state`, and the first still holds")
def _(player):
    player.arm(drops=2)
    refused(player, player.order(drops=9), "state")
    mark = player.mark()
    player.send("go")
    player.awaited(mark, "halted", "count")
    must(len(player.since(mark, "drop")) == 2 * bin(player.plan.channel_mask).count("1"), "2 drops a channel",
         len(player.since(mark, "drop")))


@of("4.2", "armed: `arm` with a field too few is refused with `state`, which comes first")
def _(player):
    player.arm()
    refused(player, "arm,single", "state")


@of("4.2", "armed: `halt` gives `halted,host` and idle")
def _(player):
    player.arm()
    player.answer("halt", "halted", "host")
    refused(player, "go", "state")


@of("4.2", "armed: nothing moves before `go`")
def _(player):
    mark = player.mark()
    player.arm()
    player.never(mark, "started", 0.5)
    must(not player.since(mark, "drop"), "no drop", player.lately())


def driving(player, **order):
    player.arm(drops=0, **order)
    mark = player.mark()
    player.answer("go", "started")
    player.wait("a drop", lambda: player.since(mark, "drop"), player.plan.run_limit_s)
    return mark


@of("4.2", "running: `arm` and `go` are refused with `state`")
def _(player):
    driving(player)
    refused(player, player.order(), "state")
    refused(player, "go", "state")


@of("4.2", "running: `hello` is answered and the run goes on")
def _(player):
    driving(player)
    mark = player.mark()
    player.answer("hello", "hello")
    player.wait("more drops", lambda: player.since(mark, "drop")[1:], player.plan.run_limit_s)
    must(not player.since(mark, "halted"), "no `halted`", player.lately())


@of("4.2", "running: `halt` gives `halted,host`; asked twice, it is not refused while stopping")
def _(player):
    driving(player)
    mark = player.mark()
    player.send_bytes(2 * (encode("halt") + b"\n"), "halt, halt")
    player.awaited(mark, "halted", "host")
    lines = player.since(mark)
    before = lines[:[line.name for line in lines].index("halted")]
    must(not [line for line in before if line.name == "refused"], "no `refused` before `halted`", player.lately())


@of("3.2", "no `drop` comes after `halted`")
def _(player):
    mark = driving(player)
    player.answer("halt", "halted", "host")
    player.listen(0.5)
    names = [line.name for line in player.since(mark)]
    must("drop" not in names[names.index("halted"):], "no drop", player.lately())


@of("4.4", "DROPS 0: the run goes on until halted")
def _(player):
    mark = driving(player)
    wanted = 2 * player.plan.drops
    player.wait(f"{wanted} drops", lambda: player.since(mark, "drop")[wanted:], player.plan.run_limit_s)
    must(not player.since(mark, "halted"), "no `halted`", player.lately())


# 4.3 and 4.4: refusals

@of("4.3", "a name that no command has is refused with `unknown`")
def _(player):
    refused(player, "dance,1,2", "unknown")


@of("4.3", "a field too many or too few is refused with `syntax`")
def _(player):
    for body in ("hello,1", "go,1", "halt,now", "alive,1", "ack", "ack,1,2", "resend", player.order() + ",1"):
        refused(player, body, "syntax")


@of("4.3", "a number that is none is refused with `syntax`")
def _(player):
    for body in ("ack,x", "ack,-1", "ack,4294967296", "ack,", "resend,1.5", player.order(drops="x"), player.order(mask="-1"),
                 player.order(drops="+5")):
        refused(player, body, "syntax")


@of("4.3", "an unknown MODE is refused with `mode`")
def _(player):
    refused(player, player.order(mode="double"), "mode")


@of("4.4", "spacing, count, speed, channels and drops that cannot be are refused by name")
def _(player):
    bad = [("spacing", player.order(spacing=0)), ("spacing", player.order(spacing=-5)), ("count", player.order(count=0)),
           ("count", player.order(count=2)), ("speed", player.order(speed=0)), ("channels", player.order(mask=0)),
           ("channels", player.order(mask=2**32 - 1)), ("drops", player.order(drops=-1))]
    for code, body in bad:
        refused(player, body, code)
    player.arm()

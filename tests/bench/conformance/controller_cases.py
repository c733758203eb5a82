"""What a host must do, as a controller sees it. Each case names its section of analysis/droplog/README.md."""

import signal
import time

from line import decode, unquote
from report import Failed, case
from second_controller import Controller

CASES = []


def of(section, title, slow=False):
    return case(CASES, section, title, slow)


def must(holds, expected, got):
    if not holds:
        raise Failed(expected, str(got))


def whole_run(player, *misbehave, **controller):
    """A run that ends well in spite of what happened to it."""
    player.controller(*misbehave, **controller)
    player.start()
    status = player.end()
    found = player.read()
    must(status == 0, "exit status 0", f"{status}; log: {found['faults']}")
    must(found["complete"], "a complete log", found["faults"])
    must(found["sound"], "a sound log", found["faults"])
    return found


def bad_run(player, *misbehave, **controller):
    """A run that can't pass: the host says so by its exit status, and the log does not look complete."""
    player.controller(*misbehave, **controller)
    player.start()
    status = player.end()
    must(status != 0, "an exit status that is not 0", f"0, {player.read() if player.log.exists() else 'no log'}")
    if player.log.exists():
        found = player.read()
        must(not (found["complete"] and found["sound"] and found["close_reason"] == "count"),
             "no log that passes for a whole run", found)
    return status


def never_started(player):
    must(not player.sent("go"), "no `go`", player.sent("go"))
    must(player.carried_out() == 0, "motors that stand still", "`started`")


def in_their_boots(player):
    """Each controller line of the log stands behind a `hello` of the boot that made it."""
    made, boot = {(boot, line) for boot, _, line in player.bench.server.controller.history}, None
    for raw in player.log.read_bytes().split(b"\n")[:-1]:
        line = decode(raw)
        boot = unquote(line.fields[4]).decode() if line.name == "hello" else boot
        must(line.kind != "controller" or (boot, raw) in made, f"a line of {boot}", raw)


def halted(player):
    must(player.sent("halt"), "`halt`", "none")
    state = player.bench.server.controller.state
    must(state == "idle", "motors at rest in the end", state)


def stored(player):
    """Every controller line in the log is one that the controller made, each once, in order."""
    made = {line for _, _, line in player.bench.server.controller.history}
    lines = [line for line in player.log.read_bytes().split(b"\n")[:-1] if decode(line).kind == "controller"]
    must(set(lines) <= made, "lines that were sent", next((one for one in lines if one not in made), ""))
    must(len(set(lines)) == len(lines), "every line once", f"{len(lines) - len(set(lines))} twice")
    return lines


# a run without trouble

@of("5.1", "a run: greeted, armed, started, recorded, closed; the log is complete and sound")
def _(player):
    found = whole_run(player)
    must(found["close_reason"] == "count", "closed by count", found["close_reason"])
    must(player.carried_out() == 1, "one start", player.carried_out())
    stored(player)


@of("5.1", "the first command is `hello`, and `arm` waits for its answer")
def _(player):
    whole_run(player)
    names = [fields[0] for _, _, fields in player.sent() if fields[0] not in ("alive", "ack")]
    must(names[0] == "hello" and names.index("arm") > names.index("hello"), "hello before arm", names)


@of("4.2", "`go` only in the state armed, `arm` only in idle")
def _(player):
    whole_run(player)
    wrong = [fields for _, state, fields in player.sent() if fields[0] == "go" and state not in ("armed", "running")
             or fields[0] == "arm" and state not in ("idle", "armed")]
    must(not wrong, "none elsewhere", wrong)


@of("4.5", "`alive` at least every 500 ms from `arm` to `halted`")
def _(player):
    player.controller(pace=0.5)
    player.start()
    player.until("a start", lambda: any(state == "running" for _, state, _ in player.sent()))
    time.sleep(3)
    player.interrupt()
    player.end()
    at = [at for at, state, _ in player.sent() if state in ("armed", "running")]
    alive = [at for at, state, _ in player.sent("alive") if state in ("armed", "running")]
    wanted = int((at[-1] - at[0]) / 0.5)
    must(wanted >= 5 and len(alive) >= wanted, f"{wanted} or more in {at[-1] - at[0]:.1f} s", len(alive))


@of("4.6", "`ack` comes, and only for what the log holds by then")
def _(player):
    whole_run(player)
    must(player.sent("ack"), "acknowledgements", "none")
    must(not player.unkept, "every acknowledged line in the log", player.unkept)


@of("4.6", "all is acknowledged in the end, `halted` too")
def _(player):
    whole_run(player)
    controller = player.bench.server.controller
    halted = max(seq for _, seq, line in controller.history if decode(line).name == "halted")
    must(controller.buffer.acknowledged > halted, f"SEQ {halted} acknowledged", controller.buffer.acknowledged)


@of("4.7", "`@confirmed` stands in the log before the `@sent` of `go`")
def _(player):
    whole_run(player)
    names = [line.name if line.name != "@sent" else unquote(line.fields[1]).split(b"*")[0].decode() for line in player.logged()]
    must("@confirmed" in names and names.index("@confirmed") < names.index("go"), "@confirmed before go",
         [name for name in names if name in ("@confirmed", "go")])


@of("6.2", "`@sent` holds every command but `alive` and `ack`, in order")
def _(player):
    whole_run(player)
    came = [",".join(fields) for _, _, fields in player.sent() if fields[0] not in ("alive", "ack")]
    logged = [unquote(line.fields[1]).rpartition(b"*")[0].decode() for line in player.logged() if line.name == "@sent"]
    must(came == logged, came, logged)


@of("6.1", "the log begins with `@droplog`, and settings come before the run")
def _(player):
    found = whole_run(player)
    must(player.logged()[0].name == "@droplog", "@droplog first", player.logged()[0].name)
    must(found["late_settings"] == 0, "no late settings", found["late_settings"])


@of("6.5", "the reason for closing is sealed: `@ending` before the last `@seal`")
def _(player):
    found = whole_run(player)
    must(found["reason_covered"], "@ending", "none")


# what a later controller may say, and the edges of numbers

@of("2.3", "a line with a name of a later version is stored, and the run passes")
def _(player):
    whole_run(player, "novel@5")
    must(any(line.name == "novel" for line in player.logged()), "the line in the log", "none")


@of("2.3", "fields of a later version are stored, and the run passes")
def _(player):
    found = whole_run(player, "extra")
    must(found["extra_fields"] >= player.plan.drops, "them in the log", found["extra_fields"])


@of("2.1", "CR before LF is taken off and not stored")
def _(player):
    whole_run(player, "crlf")
    must(b"\r" not in player.log.read_bytes(), "no CR in the log", "some")


@of("3.1", "TICK wraps in the middle of a run")
def _(player):
    found = whole_run(player, "tick:4293000000")
    must(found["late"] == 0, "no late line", found["late"])


# damage on the wire

@of("5.2", "0.5 % of bytes flipped or lost both ways: nothing missing, nothing twice")
def _(player):
    found = whole_run(player, "noise:0.005")
    must(found["lines"]["damaged"] > 0, "@damaged lines", found["lines"])
    must(player.sent("resend"), "`resend`", "none")
    stored(player)


@of("5.2", "5 % of lines lost on the wire: asked for again")
def _(player):
    whole_run(player, "swallow:0.05")
    must(player.sent("resend"), "`resend`", "none")
    stored(player)


@of("5.2", "earlier lines that come again unasked are not stored twice")
def _(player):
    whole_run(player, "repeat:0.2")
    stored(player)


@of("5.2", "other bytes under a SEQ that was taken are stored, and the run can't pass")
def _(player):
    player.controller("conflict@5")
    player.start()
    player.end()
    found = player.read()
    must(found["lines"]["conflicting"] == 1, "the conflicting line once in the log", found["lines"])
    must(not found["sound"], "a log that is not sound", found)


@of("5.2", "nothing passes for 1.2 s: the run goes on")
def _(player):
    whole_run(player, "silent@5:1.2")


@of("4.3", "one `refused,crc` that fits no command does not end a run")
def _(player):
    whole_run(player, "spurious:crc")


# controllers that must not be started

@of("5.1", "PROTOCOL 2: not armed")
def _(player):
    bad_run(player, "protocol:2")
    never_started(player)


@of("5.1", "a channel of the order is missing: not armed")
def _(player):
    bad_run(player, channels=0)
    never_started(player)


@of("5.1", "LOST is not 0 at the greeting: not armed")
def _(player):
    bad_run(player, "lost:3")
    never_started(player)


@of("4.3", "`arm` refused for the emergency stop: no `go`, and it says so")
def _(player):
    bad_run(player, "refuse:estop")
    never_started(player)


@of("4.3", "`arm` refused with a code that nobody knows: no `go`, and it says the code")
def _(player):
    bad_run(player, "refuse:moonlight")
    never_started(player)
    must(b"moonlight" in player.told, "the code in what it says", player.told[-200:])


@of("5.1", "lines of an earlier run: given up only after a word about them; a log begins with the answer to `hello`")
def _(player):
    player.controller("backlog:40")
    player.start()
    player.end()
    first = next((line for line in player.logged() if line.kind == "controller"), None)
    must(first is None or (first.name == "hello" and first.seq > 40), "a hello beyond them, or no log", first and first.body)
    words = (b"earlier", b"another run", b"holds", b"still has")
    must(any(word in player.told for word in words), "a word about them", player.told[-300:])


# runs that end badly

@of("5.3", "a reset in mid-run ends it: no `arm` and no `go` after it")
def _(player):
    bad_run(player, "reset@5")
    must(player.carried_out() == 1, "one start in all", player.carried_out())
    boots = {line.fields[4] for line in player.logged() if line.name == "hello"}
    must(len(boots) == 2, "both boots in the log", boots)


@of("4.2", "emergency stop in mid-run: closed with its reason, not started again")
def _(player):
    bad_run(player, "estop@5")
    must(player.read()["close_reason"] == "estop", "closed: estop", player.read()["close_reason"])
    must(player.carried_out() == 1, "one start", player.carried_out())


@of("3.2", "`halted,count` after 5 drops of a longer order is no whole run")
def _(player):
    bad_run(player, "few@5")


@of("3.3", "lines LOST in the controller: the run can't pass")
def _(player):
    bad_run(player, "lose@5:3")


@of("3.2", "INDEX that jumps: the run can't pass")
def _(player):
    bad_run(player, "skip@5")


@of("5.5", "`started` twice without a second `go`: halted, and the run can't pass")
def _(player):
    bad_run(player, "starts@5")
    halted(player)


@of("5.5", "`arm` alone sets the motors in motion: halted, and the run can't pass")
def _(player):
    bad_run(player, "restless")
    halted(player)


@of("5.5", "interrupted: `halt` is sent, the log closed with another reason than count")
def _(player):
    player.controller()
    player.start()
    player.until_drops(4)
    player.interrupt()
    must(player.end() != 0, "an exit status that is not 0", 0)
    must(player.sent("halt"), "`halt`", "none")
    must(player.bench.server.controller.state == "idle", "a controller at rest", player.bench.server.controller.state)
    must(player.read()["close_reason"] not in (None, "count"), "a log closed with its reason", player.read()["close_reason"])


@of("4.5", "stopped like by Ctrl-Z and continued: the controller has halted by itself, and nothing starts again")
def _(player):
    player.controller(pace=1)
    player.start()
    player.until_drops(4)
    player.host.send_signal(signal.SIGSTOP)
    player.until("a controller that halts by itself", lambda: player.bench.server.controller.state == "idle")
    player.host.send_signal(signal.SIGCONT)
    must(player.end() != 0, "an exit status that is not 0", 0)
    must(player.carried_out() == 1 and len(player.sent("go")) == 1, "one start", player.sent("go"))
    reason = player.read()["close_reason"]  # or left open, so that the drops that are left can be made
    must(reason in ("host_silent", None), "closed: host_silent, or not closed", reason)
    stored(player)


@of("5.5", "a controller that does not obey `halt`: the host says that it is not confirmed", slow=True)
def _(player):
    player.controller("deaf:halt")
    player.start()
    player.until_drops(4)
    player.interrupt()
    must(player.end() != 0, "an exit status that is not 0", 0)
    must(len(player.sent("halt")) > 1, "`halt` more than once", player.sent("halt"))


@of("5.5", "a controller that falls silent for good: the host gives up, and tries `halt` first", slow=True)
def _(player):
    bad_run(player, "silent@5")


# going on in a log

@of("5.4", "killed in mid-run and gone on: one start in all, nothing lost, nothing twice")
def _(player):
    player.controller()
    player.start()
    player.until_drops(8)
    player.kill()
    before = len(player.sent("go"))
    player.start(player.plan.resume)
    status = player.end()
    found = player.read()
    must(len(player.sent("go")) == before, "no further `go`", player.sent("go"))
    must(player.carried_out() == 1, "one start", player.carried_out())
    must(found["resumed"] >= 1 and found["complete"] and found["sound"], "a sound log with @resumed", found)
    must(status == 0, "exit status 0", status)
    stored(player)


@of("5.4", "killed, the controller halted meanwhile, gone on: a start for the drops that are left and no more, confirmed anew")
def _(player):
    server = player.controller()
    player.start()
    player.until_drops(8)
    player.kill()
    until = time.monotonic() + 10
    while server.controller.state != "idle" and time.monotonic() < until:
        time.sleep(0.05)
    made = server.controller.drops_said
    before = len(player.sent("arm"))
    player.start(player.plan.resume)
    status = player.end()
    found = player.read()
    arms = [fields for _, _, fields in player.sent("arm")[before:]]
    must(all(arm[6] == str(player.plan.drops - made) for arm in arms), f"DROPS {player.plan.drops - made}", arms)
    must(player.carried_out() <= 2 and server.controller.drops_said <= player.plan.drops, "no drop beyond the order",
         server.controller.drops_said)
    names = [line.name for line in player.logged()]
    must(names.count("started") <= names.count("@confirmed"), "a @confirmed for each start", names)
    must(status != 0 or (found["sound"] and server.controller.drops_said == player.plan.drops), "a sound log of all drops, or no "
         "exit status 0", found)
    stored(player)


@of("5.4", "killed, the controller reset meanwhile, gone on: no `arm`, no `go`, no log that passes")
def _(player):
    server = player.controller()
    player.start()
    player.until_drops(8)
    player.kill()
    before = len(player.sent("go")), len(player.sent("arm"))
    server.controller.start_up(server.now_us())
    player.start(player.plan.resume)
    status = player.end()
    must((len(player.sent("go")), len(player.sent("arm"))) == before, "neither `arm` nor `go`", player.sent()[-6:])
    must(status != 0, "an exit status that is not 0", status)
    must(not player.read()["complete"] or player.read()["close_reason"] != "count", "no log that passes", player.read())


def not_a_line_of(player, other):
    strange = {line for _, _, line in other.history}
    kept = [raw for raw in player.log.read_bytes().split(b"\n")[:-1] if raw in strange]
    must(not kept, "no line of the other controller in the log", kept[:3])
    heard = [(state, fields) for _, state, fields in player.sent()]
    must(other.state == "idle" and not any(line.startswith(b"started") for line in strange), "the other one at rest", heard[-6:])


def another(player, **what):
    """A controller with a past of its own, on the same line."""
    server = player.bench.server
    other = Controller(now_us=server.now_us(), **what)
    for _ in range(200):  # some have the numbers that the host waits for
        other.say("travel", other.booted_us, 0)
    server.plug(other)
    return other


@of("5.3", "another controller answers in mid-run: nothing of it is kept, and the log goes on with its own")
def _(player):
    server = player.controller()
    own = server.controller
    player.start()
    player.until_drops(8)
    other = another(player, firmware="a third controller")
    status = player.end()
    must(status not in (0, None), "an exit status that is not 0", status)
    must(not player.read()["close_reason"], "a log that is not closed", player.read()["close_reason"])
    not_a_line_of(player, other)
    server.plug(own)
    player.start(player.plan.resume)
    player.end()
    found = player.read()
    must(found["complete"] and found["sound"] and found["boots"] == 1, "a sound log of one boot", found)
    stored(player)


@of("5.3", "killed, gone on at another controller of more channels: refused, and the log goes on with its own")
def _(player):
    server = player.controller()
    own = server.controller
    player.start()
    player.until_drops(8)
    player.kill()
    other = another(player, channels=3)
    player.start(player.plan.resume)
    status = player.end()
    must(status not in (0, None), "an exit status that is not 0", status)
    not_a_line_of(player, other)
    server.plug(own)
    player.start(player.plan.resume)
    player.end()
    found = player.read()
    must(found["complete"] and found["sound"] and found["boots"] == 1, "a sound log of one boot", found)
    stored(player)


@of("4.6", "killed, the controller reset and long since on, gone on: no `ack` before `hello` has named the BOOT")
def _(player):
    server = player.controller()
    player.start()
    player.until_drops(8)
    player.kill()
    controller = server.controller
    controller.start_up(server.now_us())
    for _ in range(200):
        controller.say("travel", controller.booted_us, 0)
    player.start(player.plan.resume)
    player.end()
    must(not player.unkept, "no acknowledgement of lines of another boot", player.unkept)
    in_their_boots(player)


@of("5.3", "reset in mid-run, the host killed before it closed, gone on: the motors stay still")
def _(player):
    player.controller("reset@5")
    player.start()
    player.until("the second boot", lambda: player.bench.server.controller.boots == 2)
    time.sleep(0.3)
    if player.host.poll() is None:
        player.kill()
    if not any(line.name == "@close" for line in player.logged()):
        player.start(player.plan.resume)
        player.end()
    must(player.carried_out() == 1, "one start in all", player.carried_out())


@of("4.7", "killed right after the first `go`, gone on: no `go` without a confirmation of its own")
def _(player):
    player.controller()
    player.start()
    player.until("`go`", lambda: player.sent("go"))
    player.kill()
    before = len(player.sent("go"))
    player.start(player.plan.resume)
    player.end()
    must(len(player.sent("go")) == before, "no further `go`", player.sent("go"))
    state = player.bench.server.controller.state
    must(state == "idle", "motors at rest in the end", state)

"""What the second controller may do wrong, or have happen to it, as plans `NAME[@DROPS][:VALUE]`. A plan with @DROPS begins
once that many `drop` lines have been numbered on this boot.

reset@N          it starts anew: another BOOT, SEQ from 0
estop@N guard@N  the button is pressed, the guard opened, and both made good again
silent@N[:S]     nothing passes either way for S seconds; for ever without S
few@N            it says `halted,count` after N drops, whatever was ordered
lose@N:K         the next K ordinary lines find no room
conflict@N       it sends other bytes under the SEQ of the N-th drop
novel@N          it sends a line with a name of a later version
starts@N         it says `started` a second time
skip@N           INDEX jumps by one
repeat:P         an earlier line comes again, unasked, with probability P before each line
noise:P          each byte is flipped or lost with probability P, both ways
swallow:P        each line to the host is lost with probability P
refuse:CODE      every `arm` is refused with CODE
spurious:CODE    `refused,CODE` follows the first `armed`
deaf:NAME        commands of this name are ignored
protocol:N       `hello` says PROTOCOL N
lost:K           K lines were lost before the host came
backlog:K        K lines of an earlier run were sent and never acknowledged
crlf             lines end in CR LF
extra            lines have a field more than this version knows
tick:T           TICK is T at boot
late:US          every third line is US behind
zeros            every number has a leading zero
restless         `arm` alone sets the motors in motion
patient          it never minds that `alive` is missing
"""

import random

from line import decode, encode

PLAN_NAMES = {line.split("@")[0].split(":")[0].split()[0] for paragraph in __doc__.split("\n\n")[1:]
              for line in paragraph.splitlines() if line.strip()} | {"guard"}


class Plan:
    def __init__(self, text):
        head, _, self.value = text.partition(":")
        self.name, _, at = head.partition("@")
        self.at = int(at) if at else None
        self.done = False
        if self.name not in PLAN_NAMES:
            raise SystemExit(f"no misbehaviour {self.name!r}")

    @property
    def number(self):
        return float(self.value)


class Misbehaviour:
    """Hooks that the server calls. Without plans, none of them does anything."""

    def __init__(self, texts, seed=1):
        self.plans = [Plan(text) for text in texts]
        self.chance = random.Random(seed)
        self.silent_until = 0.0

    def of(self, name):
        return next((plan for plan in self.plans if plan.name == name), None)

    def begin(self, controller):
        """Before the host comes."""
        for plan in self.plans:
            if plan.name == "protocol":
                controller.protocol = int(plan.value)
            elif plan.name == "tick":
                controller.tick_start = int(plan.value)
            elif plan.name == "extra":
                controller.more = ("later",)
            elif plan.name in ("late", "zeros"):
                controller.say = self._said_wrong(controller.say, plan)
            elif plan.name == "patient":
                controller.patience_us = 10**12
        if self.of("protocol") or self.of("tick"):
            controller.history.clear()
            controller.start_up(controller.booted_us)
        self._past(controller)

    @staticmethod
    def _said_wrong(say, plan):
        count = [0]

        def said(name, at_us, *fields, must=False):
            count[0] += 1
            if plan.name == "late" and count[0] % 3 == 0 and at_us > plan.number:
                at_us -= int(plan.number)
            if plan.name == "zeros":
                fields = [f"0{one}" if isinstance(one, int) and one >= 0 else one for one in fields]
            say(name, at_us, *fields, must=must)
        return said

    def _past(self, controller):
        lost, backlog = self.of("lost"), self.of("backlog")
        if backlog:
            controller.say("started", controller.booted_us)
            for index in range(int(backlog.value)):
                controller.say("drop", controller.booted_us, 0, index, 0, 1)
            controller.say("halted", controller.booted_us, "host_silent")
            controller.buffer.take_unsent()
            controller.before = len(controller.history)
        if lost:
            controller.buffer.lost = int(lost.value)

    def hears(self, line, controller, now_us):
        """Whether a command is heard at all."""
        name = line.split(b",")[0].split(b"*")[0].decode("ascii", "replace")
        refuse, deaf = self.of("refuse"), self.of("deaf")
        if refuse and name == "arm" and decode(line).kind != "damaged":
            controller.refuse(refuse.value, now_us)
            return False
        return not (deaf and deaf.value == name)

    def answered(self, controller, now_us):
        """After a command was carried out."""
        spurious = self.of("spurious")
        if spurious and not spurious.done and controller.state == "armed":
            spurious.done = True
            controller.refuse(spurious.value, now_us)
        if self.of("restless") and controller.state == "armed":
            controller.do_go(None, now_us, 0)

    def happen(self, controller, now_us, wall_s):
        """Once in each turn of the server: what was planned for as many drops."""
        for plan in self.plans:  # a reset takes the drops of those after it away
            if plan.at is not None and not plan.done and controller.drops_said >= plan.at and controller.state != "armed":
                plan.done = True
                getattr(self, "do_" + plan.name)(plan, controller, now_us, wall_s)

    def do_reset(self, _, controller, now_us, __):
        controller.start_up(now_us)

    def do_estop(self, plan, controller, now_us, _):
        controller.fault(plan.name, now_us)

    do_guard = do_estop

    def do_silent(self, plan, _, __, wall_s):
        self.silent_until = wall_s + (plan.number if plan.value else 1e9)

    def do_few(self, _, controller, now_us, __):
        controller.stop("count", now_us)

    def do_lose(self, plan, controller, _, __):
        controller.buffer.lose_next = int(plan.value)

    def do_conflict(self, plan, controller, _, __):
        line = [decode(line) for boot, _, line in controller.history if boot == controller.boot]
        seq_of = [one.seq for one in line if one.name == "drop"][plan.at - 1]
        self.inserted = [encode(f"drop,{seq_of},{line[seq_of].tick},0,{10_000 + plan.at},5,1")]

    def do_novel(self, _, controller, now_us, __):
        controller.say("novel", now_us, "a", "b%2C")

    def do_starts(self, _, controller, now_us, __):
        controller.say("started", now_us)

    def do_skip(self, _, controller, __, ___):
        controller.events = [(*event[:4], event[4] + 1) if event[2] == "drop" else event for event in controller.events]

    inserted = ()

    def outgoing(self, lines, controller):
        """The bytes that really go to the host for lines that were taken to be sent."""
        out = []
        for line in lines:
            out += self._before() + self._kept(line)
        out += self.inserted
        self.inserted = ()
        end = b"\r\n" if self.of("crlf") else b"\n"
        if self.of("repeat"):
            self.earlier = [line for boot, _, line in controller.history[-400:] if boot == controller.boot]
        return self.spoilt(b"".join(line + end for line in out))

    earlier = ()

    def _before(self):
        repeat = self.of("repeat")
        if not repeat or not self.earlier or self.chance.random() >= repeat.number:
            return []
        return [self.chance.choice(self.earlier)]

    def _kept(self, line):
        swallow = self.of("swallow")
        return [] if swallow and self.chance.random() < swallow.number else [line]

    def spoilt(self, data):
        noise = self.of("noise")
        if not noise:
            return data
        out = bytearray()
        for byte in data:
            chance = self.chance.random() / noise.number
            if chance >= 1:
                out.append(byte)
            elif chance >= 0.5:
                out.append(byte ^ (1 << self.chance.randrange(8)))
        return bytes(out)

"""The second controller on a wire: a pseudo-terminal or standard input and output."""

import json
import os
import pty
import select
import sys
import threading
import time
import tty

from misbehaviour import Misbehaviour
from second_controller import Controller

TURN_S = 0.005
MOST_HEARD = 4096


class Server:
    """Serves one controller. `options` has link, stdio, pace, channels, trace and misbehave (see second_controller.py);
    `on_command(line)` is called for each command before it is carried out."""

    def __init__(self, options, on_command=None):
        self.options, self.on_command = options, on_command or (lambda line: None)
        self.wrong = Misbehaviour(options.misbehave, getattr(options, "seed", 1))
        self.controller = Controller(options.channels)
        self.wrong.begin(self.controller)
        self.commands = []  # (wall seconds, state before, line)
        self.heard, self.pending, self.told = b"", b"", 0
        self.began, self.ended = time.monotonic(), False
        self.trace = open(options.trace, "w", encoding="ascii") if options.trace else None
        self._open()

    def _open(self):
        self.port = None
        if self.options.stdio:
            self.source, self.sink = sys.stdin.fileno(), sys.stdout.fileno()
            return
        self.source, self.slave = pty.openpty()
        self.sink = self.source
        tty.setraw(self.slave)
        os.set_blocking(self.source, False)
        self.port = os.ttyname(self.slave)
        if self.options.link:
            os.symlink(self.port, self.options.link)
        if getattr(self.options, "announce", True):
            print(f"port {self.port}", flush=True)

    def note(self, **what):
        if self.trace:
            self.trace.write(json.dumps({"at": round(self.wall_s(), 6), **what}) + "\n")
            self.trace.flush()

    def wall_s(self):
        return time.monotonic() - self.began

    def now_us(self):
        return int(self.wall_s() * 1e6 * self.options.pace)

    def plug(self, controller):
        """From now on this controller has the line."""
        self.told = len(controller.history)
        self.controller = controller

    def serve(self):
        try:
            while not self.ended:
                self.turn()
        except (KeyboardInterrupt, BrokenPipeError):
            pass
        finally:
            if self.options.link:
                os.unlink(self.options.link)

    def turn(self):
        readable, _, _ = select.select([self.source], [], [], TURN_S)
        silent = self.wall_s() < self.wrong.silent_until
        if readable:
            self.hear(silent)
        now_us, wall_us = self.now_us(), int(self.wall_s() * 1e6)
        self.advance(now_us, wall_us)
        if not silent:
            self.speak()

    def advance(self, now_us, wall_us):
        """Step by step, so that what was planned for a drop comes right after it."""
        while self.controller.due_us() <= now_us:
            self.controller.advance(self.controller.due_us(), wall_us)
            self.wrong.happen(self.controller, self.controller.last_us, self.wall_s())
        self.controller.advance(now_us, wall_us)

    def hear(self, silent):
        try:
            data = os.read(self.source, 4096)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        if not data:
            self.ended = True
        if silent:
            return
        *lines, self.heard = (self.heard + self.wrong.spoilt(data)).split(b"\n")
        self.heard = self.heard[-MOST_HEARD:]
        for line in lines:
            self.obey(line)

    def obey(self, line):
        self.note(heard=line.decode("latin-1"), state=self.controller.state)
        self.on_command(line)
        self.commands.append((self.wall_s(), self.controller.state, line))
        now_us = self.now_us()
        if self.wrong.hears(line, self.controller, now_us):
            self.controller.receive(line, now_us, int(self.wall_s() * 1e6))
            self.wrong.answered(self.controller, now_us)

    def speak(self):
        for boot, seq, line in self.controller.history[self.told:]:
            self.note(boot=boot, seq=seq, line=line.decode())
        self.told = len(self.controller.history)
        self.pending += self.wrong.outgoing(self.controller.buffer.take_unsent(), self.controller)
        while self.pending:
            try:
                self.pending = self.pending[os.write(self.sink, self.pending[:1024]):]
            except BlockingIOError:
                return

    def close(self):
        self.ended = True
        for end in {self.source, self.slave} if self.port else ():
            os.close(end)
        if self.trace:
            self.trace.close()


class InBackground(threading.Thread):
    """A server in a thread of this process."""

    def __init__(self, server):
        super().__init__(daemon=True)
        self.server = server
        self.start()

    def run(self):
        self.server.serve()

    def close(self):
        self.server.ended = True
        self.join()
        self.server.close()

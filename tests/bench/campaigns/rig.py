"""A bench for the fault campaigns: the second controller in this process, drivers beside it under a preloaded disk, one log.

Only the driver's command line and the format's text are used of the product.
"""

import os
import pathlib
import random
import shutil
import subprocess
import sys
import time
import types

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "conformance"))

import second_reader  # noqa: E402, F401
from line import body_of, decode, unquote  # noqa: E402, F401
from served import InBackground, Server  # noqa: E402

PLAN = ["--unit", "U-1", "--spacing-mm", "100", "--speed-mps", "0.5"]
ENDS_S = 75.0
DOCUMENTED = {0, 1, 2, 64, 65, 74}


class Rig:
    def __init__(self, options, folder, misbehave=(), drops=40, pace=20.0, seed=1):
        self.program, self.preload, self.drops = options.program, options.preload, drops
        self.folder = pathlib.Path(folder)
        self.log, self.trace = self.folder / "run.droplog", self.folder / "disk.trace"
        serving = types.SimpleNamespace(link=None, stdio=False, pace=pace, channels=1, trace=None, misbehave=list(misbehave),
                                        seed=seed, announce=False)
        self.server = Server(serving)
        self.bench = InBackground(self.server)
        self.drivers = []  # (how it was started, exit status, the first of its commands, what it said)
        self.acks = []  # (boot, SEQ), as they came
        self.server.on_command = self._hear
        self.did = []

    def _hear(self, line):
        body = body_of(line)
        controller = self.server.controller
        if body and body.startswith("ack,") and int(body[4:]) < controller.buffer.next:  # else it is refused
            self.acks.append((controller.boot, int(body[4:])))

    def note(self, text):
        self.did.append(text)

    def start(self, disk="", resumes=False, key=None):
        """A driver, not waited for: on a new log, or going on with the one that is there."""
        what = ["--resume", self.log] if resumes else ["--log", self.log, "--drops", self.drops, *PLAN]
        environment = dict(os.environ, LD_PRELOAD=str(self.preload), BAD_DISK_TRACE=str(self.trace), BAD_DISK_PLAN=disk,
                           ASAN_OPTIONS="verify_asan_link_order=0:detect_leaks=0")
        self.note(f"{'resume' if resumes else 'run'} {disk}".strip())
        self.first_command = len(self.server.commands)
        with open(self.trace, "a", encoding="ascii") as trace:
            trace.write("process 0 0\n")
        said = open(self.folder / f"said-{len(self.drivers)}.txt", "w+b")
        command = [self.program, "run", "--port", self.server.port, "--yes", *map(str, what)]
        self.driver = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=said, stderr=subprocess.STDOUT, env=environment)
        self.driver.said = said
        self.driver.resumes = resumes
        return self.driver

    def end(self, kill=False):
        """The exit status of the driver; None where it would not end."""
        if kill:
            self.driver.kill()
        try:
            self.driver.wait(ENDS_S)
        except subprocess.TimeoutExpired:
            self.driver.kill()
            self.driver.wait()
            self.note("would not end")
        status = None if self.did[-1] == "would not end" else self.driver.returncode
        time.sleep(0.05)  # what it wrote last is on its way
        self.driver.said.seek(0)
        commands = [body.split(",")[0] for _, _, line in self.server.commands[self.first_command:] if (body := body_of(line))]
        self.drivers.append(types.SimpleNamespace(status=status, resumes=self.driver.resumes, commands=commands,
                                                  said=self.driver.said.read(),
                                                  state=self.server.controller.state))
        self.driver.said.close()
        self.note(f"ended with {status}")
        return status

    def wait_for(self, happened, limit_s):
        """Until something has happened, the driver has ended, or the limit."""
        until = time.monotonic() + limit_s
        while time.monotonic() < until and self.driver.poll() is None and not happened():
            time.sleep(0.002)

    def kill_somewhere(self, chance):
        """Kills the driver at a random instant: after a time, after a command, after a drop."""
        where = chance.choice(["time", "command", "drop", "drop"])
        if where == "time":
            self.wait_for(lambda: False, chance.uniform(0.0, 0.5))
        elif where == "command":
            name = chance.choice(["hello", "arm", "go", "go", "ack", "alive"])
            self.wait_for(lambda: name in [line.split(b"*")[0].split(b",")[0].decode("latin-1") for _, _, line in
                                           self.server.commands[self.first_command:]], 2.0)
            self.wait_for(lambda: False, chance.choice([0.0, 0.005, 0.02, 0.05]))
        else:
            wanted = self.server.controller.drops_said + chance.randrange(1, self.drops)
            self.wait_for(lambda: self.server.controller.drops_said >= wanted, 3.0)
        self.note(f"killed at {where}")
        return self.end(kill=True)

    def logged(self):
        if not self.log.exists():
            return []
        return [decode(line) for line in self.log.read_bytes().split(b"\n")[:-1]]

    def is_closed(self):
        lines = self.logged()
        return bool(lines) and lines[-1].name == "@close"

    def has_lines(self):
        return any(line.kind == "controller" for line in self.logged())

    def close(self):
        if self.driver.poll() is None:
            self.driver.kill()
            self.driver.wait()
        self.bench.close()


def keep(rig, folder, name):
    """What a failed round leaves to look at."""
    target = pathlib.Path(folder) / name
    shutil.copytree(rig.folder, target, dirs_exist_ok=True)
    with open(target / "controller.txt", "w", encoding="latin-1") as file:
        for boot, _, line in rig.server.controller.history:
            file.write(f"{boot} {line.decode('latin-1')}\n")
        for at, state, line in rig.server.commands:
            file.write(f"{at:.3f} {state} > {line.decode('latin-1')}\n")
    return target


def chance_of(seed, round_):
    return random.Random(f"{seed}/{round_}")

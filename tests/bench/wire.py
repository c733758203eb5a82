"""What the whole-program tests of the bench driver share: a droplog reader that owes nothing to the program, a wire
between driver and virtual bench that listens (and spoils bytes where asked), and the processes at its two ends."""

import binascii
import hashlib
import os
import pathlib
import pty
import random
import select
import subprocess
import threading
import time
import tty
import urllib.parse


def body_of(line):
    """The part before *CCCC where the CRC is right, else None. CRC-16/IBM-3740 is binascii's with initial 0xFFFF."""
    line = line.rstrip(b"\r")
    if len(line) < 6 or len(line) > 239 or line[-5:-4] != b"*":
        return None
    if not all(0x20 <= byte < 0x7F for byte in line):
        return None
    return line[:-5] if b"%04X" % binascii.crc_hqx(line[:-5], 0xFFFF) == line[-4:] else None


class Log:
    """A droplog read to its last whole line."""

    def __init__(self, path):
        data = pathlib.Path(path).read_bytes()
        whole, _, self.torn = data.rpartition(b"\n")
        self.lines = whole.split(b"\n") if whole else []
        self.fields = []  # of every line
        self.controller = []  # (boot, SEQ, name, fields)
        boot = None
        for line in self.lines:
            body = body_of(line)
            assert body is not None, f"damaged line in the log: {line!r}"
            fields = body.decode().split(",")
            self.fields.append(fields)
            if fields[0].startswith("@"):
                continue
            if fields[0] == "hello":
                boot = fields[4]
            self.controller.append((boot, int(fields[1]), fields[0], fields))

    def host(self, name):
        return [fields for fields in self.fields if fields[0] == name]

    @property
    def close_reason(self):
        return self.fields[-1][1] if self.fields and self.fields[-1][0] == "@close" else None

    def check_order(self):
        """Every SEQ of a boot once, in order, without a gap."""
        before = None
        for boot, seq, _, _ in self.controller:
            if before and before[0] == boot:
                assert seq == before[1] + 1, f"SEQ {seq} after {before[1]}"
            elif before:
                assert seq == 0, f"boot {boot} begins with SEQ {seq}"
            before = (boot, seq)
        for fields in self.fields:
            assert fields[0] != "beat" or fields[4] == "0", f"LOST is {fields[4]}"

    def check_seals(self):
        link, digest, count = bytes(32), hashlib.sha256(bytes(32)), 0
        for line, fields in zip(self.lines, self.fields):
            if fields[0] == "@seal":
                link = digest.digest()
                assert fields[1:] == [str(count), link.hex()], f"broken seal {line!r}"
                digest, count = hashlib.sha256(link), 0
            elif fields[0] != "@close":
                digest.update(line + b"\n")
                count += 1
        assert count == 0 or self.close_reason is None, "lines after the last seal"

    def check_truth(self, drops_csv, pulses_csv):
        """Every drop and every pulse that happened stands in the log, once, and nothing else does."""
        happened = [row.split(",") for row in pathlib.Path(drops_csv).read_text().split()[1:]]
        drops = sorted(tuple(row[:3]) for row in happened if row[7] == "drop")
        logged = sorted(tuple(fields[3:6]) for _, _, name, fields in self.controller if name == "drop")
        assert drops == logged, f"{len(drops)} drops happened, {len(logged)} are in the log"
        rows = pathlib.Path(pulses_csv).read_text().split()[1:]
        pulses = sorted(tuple(row.split(",")[:4]) for row in rows)
        seen = sorted((boot, *f[1:2], *f[3:5]) for boot, _, name, f in self.controller if name == "pulse")
        assert pulses == seen, f"{len(pulses)} pulses happened, {len(seen)} are in the log"
        return len(drops), len(pulses)


class Wire(threading.Thread):
    """Passes bytes between the driver (on `self.host_port`) and the bench, hears acknowledgements, and flips or drops
    `rate` of all bytes both ways. The bench's port is opened at the driver's first byte."""

    def __init__(self, bench_port, rate=0.0, seed=1):
        super().__init__(daemon=True)
        self.bench_port, self.rate, self.random = bench_port, rate, random.Random(seed)
        self.master, self.slave = pty.openpty()
        tty.setraw(self.slave)
        self.host_port = os.ttyname(self.slave)
        self.bench = None
        self.heard = b""
        self.acknowledged = -1
        self.spoilt = 0
        self.to_host = bytearray()  # all bytes ever delivered towards the driver
        self.ended = False
        self.watch = lambda from_host, body: None  # told of every whole line, before it is passed on
        self.heard_bench = b""

    def spoil(self, data):
        if not self.rate:
            return data
        out = bytearray()
        for byte in data:
            chance = self.random.random()
            self.spoilt += chance < self.rate
            if chance >= self.rate:
                out.append(byte)
            elif chance >= self.rate / 2:
                out.append(byte ^ (1 << self.random.randrange(8)))
        return bytes(out)

    def listen(self, data):
        *lines, self.heard = (self.heard + data).split(b"\n")
        for line in lines:
            body = body_of(line)
            if body and body.startswith(b"ack,"):
                self.acknowledged = max(self.acknowledged, int(body[4:]))
            if body:
                self.watch(True, body)

    def listen_to_bench(self, data):
        *lines, self.heard_bench = (self.heard_bench + data).split(b"\n")
        for line in lines:
            if body_of(line):
                self.watch(False, body_of(line))

    def run(self):
        while not self.ended:
            ends = [self.master] + ([self.bench] if self.bench is not None else [])
            for end in select.select(ends, [], [], 0.05)[0]:
                try:
                    self.pass_on(end)
                except OSError:
                    self.ended = True

    def pass_on(self, end):
        data = os.read(end, 4096)
        if end == self.master:
            self.listen(data)
            if self.bench is None:
                self.bench = os.open(self.bench_port, os.O_RDWR | os.O_NOCTTY)
                tty.setraw(self.bench)
            os.write(self.bench, self.spoil(data))
            return
        self.listen_to_bench(data)
        data = self.spoil(data)
        self.to_host += data
        while data and not self.ended:  # nobody may be reading just now
            if select.select([], [self.master], [], 0.1)[1]:
                data = data[os.write(self.master, data[:512]):]
            elif not self.driver_there():
                return

    driver_there = staticmethod(lambda: True)

    def close(self):
        self.ended = True
        self.join()
        for end in (self.master, self.slave, self.bench):
            if end is not None:
                os.close(end)


class Bench:
    """A virtual bench and a wire to it, in `folder`."""

    def __init__(self, program, scenario, folder, pace=20, seed=1, rate=0.0, options=()):
        self.folder = pathlib.Path(folder)
        self.program = program
        self.process = subprocess.Popen(
            [program, "simulate", "--scenario", scenario, "--pace", str(pace), "--seed", str(seed), "--once",
             "--truth", self.folder / "drops.csv", "--truth-pulses", self.folder / "pulses.csv", *options],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        port = self.process.stdout.readline().decode().split()[-1]
        self.wire = Wire(port, rate, seed)
        self.wire.start()

    def driver(self, *options):
        """A driver on the wire, not waited for."""
        driver = subprocess.Popen([self.program, "run", "--port", self.wire.host_port, "--yes", *map(str, options)],
                                  stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.wire.driver_there = lambda: driver.poll() is None
        return driver

    def close(self, finish=True):
        """With `finish` the bench writes its truth files first: it leaves once its run is delivered."""
        self.wire.close()
        if not finish:
            self.process.terminate()
        try:
            self.process.wait(40)
        except subprocess.TimeoutExpired:
            self.process.terminate()
            self.process.wait()
        self.process.stdout.close()


def settle(wire):
    """Until the wire has passed on what the driver wrote before it died."""
    time.sleep(0.02)
    return wire.acknowledged


def unquote(text):
    return urllib.parse.unquote_to_bytes(text)

#!/usr/bin/env python3
"""How long a pulse line waits for its acknowledgement: from the moment it was written to the port until `ack` of it, or of a
later line, came back. The second controller plays the bench; the recorder writes, syncs and acknowledges as ever.

    tests/benchmarks/acknowledgement_benchmark.py build/release/dropledger --bad-disk build/release/tests/support/libbad_disk.so

Prints one row for the disk as it is and one for each slow one (every sync takes so long). Nothing here fails on a time:
read it, write it down."""
import argparse
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time
import types

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "bench/conformance"))

from line import body_of  # noqa: E402
from served import InBackground, Server  # noqa: E402


class Watch(Server):
    """A bench that notes when each pulse line went out and when it was acknowledged."""

    def __init__(self, pace):
        self.waiting, self.waited_s, self.noted = [], [], 0
        super().__init__(types.SimpleNamespace(link=None, stdio=False, pace=pace, channels=1, trace=None, misbehave=(),
                                               seed=1, announce=False), self.acknowledged)

    def speak(self):
        super().speak()
        if self.pending:
            return
        now = time.monotonic()
        history = self.controller.history
        self.waiting += [(seq, now) for _, seq, line in history[self.noted:] if line.startswith(b"pulse,")]
        self.noted = len(history)

    def acknowledged(self, line):
        now, body = time.monotonic(), body_of(line)
        if not body or not body.startswith("ack,"):
            return
        up_to = int(body[4:])
        self.waited_s += [now - since for seq, since in self.waiting if seq <= up_to]
        self.waiting = [(seq, since) for seq, since in self.waiting if seq > up_to]


def waits_ms(options, sync_ms):
    with tempfile.TemporaryDirectory(dir=options.folder) as folder:
        bench = InBackground(Watch(options.pace))
        environment = dict(os.environ)
        if sync_ms:
            environment |= {"LD_PRELOAD": str(pathlib.Path(options.bad_disk).resolve()), "BAD_DISK_PLAN": f"sync@1+={sync_ms}"}
        command = [options.dropledger, "run", "--port", bench.server.port, "--yes", "--unit", "T-1", "--spacing-mm", "180",
                   "--speed-mps", "1.8", "--drops", str(options.drops), "--log", str(pathlib.Path(folder) / "a.droplog")]
        done = subprocess.run(command, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
        bench.close()
    if done.returncode not in (0, 1, 2) or not bench.server.waited_s:
        sys.exit(f"{' '.join(command)} ended with {done.returncode}: {done.stderr[-600:]}")
    return sorted(1000 * wait for wait in bench.server.waited_s)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("dropledger")
    parser.add_argument("--bad-disk", help="the preload that slows a log's disk down; without it only the disk as it is")
    parser.add_argument("--drops", type=int, default=1000)
    parser.add_argument("--pace", type=float, default=2.0, help="times real time; 1.8 m/s at 180 mm: ten drops a second each")
    parser.add_argument("--folder", help="where the log is written: the disk that is timed")
    options = parser.parse_args()
    print(f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.2f}\n\n| disk | pulses | p50, ms | p99, ms | most, ms |\n"
          "| --- | --- | --- | --- | --- |", flush=True)
    for sync_ms in (0, 20, 100) if options.bad_disk else (0,):
        waits = waits_ms(options, sync_ms)
        p99 = waits[min(len(waits) - 1, len(waits) * 99 // 100)]
        name = f"every sync {sync_ms} ms" if sync_ms else "as it is"
        print(f"| {name} | {len(waits)} | {statistics.median(waits):.1f} | {p99:.1f} | {waits[-1]:.1f} |", flush=True)


main()

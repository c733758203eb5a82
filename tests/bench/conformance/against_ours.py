#!/usr/bin/env python3
"""Runs one part of the kit as the test suite does.

usage: against_ours.py virtual-bench DROPLEDGER SCENARIO    the host player against `dropledger simulate`
       against_ours.py second-controller                    the host player against the second controller, on a pseudo-terminal
       against_ours.py second-controller-on-pipes           the same on standard input and output
       against_ours.py driver DROPLEDGER                    the controller player against `dropledger run`
       against_ours.py noticed                              the host player against controllers that do wrong on purpose
"""

import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).parent
PACE = "10"

# What goes wrong, and the cases that must notice.
NOTICED = {
    "skip@2": ["3.2: INDEX of each channel runs from 0 without a gap to DROPS - 1, then `halted,count`"],
    "few@2": ["3.2: INDEX of each channel runs from 0 without a gap to DROPS - 1, then `halted,count`"],
    "deaf:halt": ["4.2: armed: `halt` gives `halted,host` and idle", "3.2: no `drop` comes after `halted`"],
    "deaf:resend": ["4.6: `resend` brings what is kept again, byte for byte, in order"],
    "deaf:ack": ["4.6: `resend` of what was acknowledged is refused with `gone`, though later lines are kept"],
    "repeat:0.5": ["3.3: each line is sent once unasked, though it is not acknowledged"],
    "swallow:0.3": ["3.1: SEQ is one more with every line, none is damaged, all is printable"],
    "noise:0.01": ["3.1: SEQ is one more with every line, none is damaged, all is printable"],
    "protocol:2": ["3.1: `hello` is answered with PROTOCOL 1, a BOOT, CHANNELS and FIRMWARE"],
    "reset@3": ["3.2: a second start goes on in SEQ, on the same BOOT, with INDEX from 0"],
    "refuse:state": ["4.2: armed: nothing moves before `go`"],
    "late:60000": ["3.1: TICK is at most 50 ms behind the newest line sent"],
    "zeros": ["3.1: no number is written with leading zeros or as -0"],
    "restless": ["4.2: armed: nothing moves before `go`"],
    "patient": ["4.5: armed, 2 s without `alive`: `fault,-1,host_silent` and `halted,host_silent`, not before"],
}


def host_player(*options):
    return subprocess.run([sys.executable, HERE / "host_player.py", *options], timeout=500).returncode


def on_a_port(command, *options):
    """The host player against a program whose first line on standard output ends with the port."""
    bench = subprocess.Popen([str(word) for word in command], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    try:
        return host_player("--port", bench.stdout.readline().decode().split()[-1], *options)
    finally:
        bench.terminate()
        bench.wait()
        bench.stdout.close()


def second_controller(*options):
    return [sys.executable, HERE / "second_controller.py", "--pace", PACE, *options]


def noticed():
    """Each misbehaviour makes the cases fail that are for it."""
    missed = 0
    for plan, wanted in NOTICED.items():
        with tempfile.TemporaryDirectory() as folder:
            only = pathlib.Path(folder) / "only"
            only.write_text("\n".join(wanted), encoding="utf-8")
            status = on_a_port(second_controller("--misbehave", plan), "--only", only, "--deviations", only, "--patience-s", "3",
                               "--run-limit-s", "4")
        print(f"{plan}: {'noticed' if status == 0 else 'NOT NOTICED'}\n")
        missed += status != 0
    return 1 if missed else 0


def main():
    what, *rest = sys.argv[1:]
    if what == "virtual-bench":
        return on_a_port([rest[0], "simulate", "--scenario", rest[1], "--pace", PACE])
    if what == "second-controller":
        return on_a_port(second_controller())
    if what == "second-controller-on-pipes":
        return host_player("--command", f"{sys.executable} {HERE / 'second_controller.py'} --stdio --pace {PACE}")
    if what == "driver":
        run = f"{rest[0]} run --port {{port}} --yes"
        plan = "--unit U-1 --spacing-mm 100 --speed-mps 0.5 --drops 20"
        return subprocess.run([sys.executable, HERE / "controller_player.py", "--run", f"{run} --log {{log}} {plan}", "--resume",
                               f"{run} --resume {{log}}", "--deviations", HERE / "deviations.txt"], timeout=590).returncode
    return noticed() if what == "noticed" else 64


if __name__ == "__main__":
    sys.exit(main() if len(sys.argv) > 1 else 64)

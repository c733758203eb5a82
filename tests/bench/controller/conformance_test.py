#!/usr/bin/env python3
"""The conformance kit's host player against the controller's core in this machine's own code.

usage: conformance_test.py NATIVE_CONTROLLER (pty | pipes)
Runs in real time, with an order that is soon done.
"""

import pathlib
import subprocess
import sys

KIT = pathlib.Path(__file__).resolve().parents[1] / "conformance" / "host_player.py"
ORDER = ["--spacing-um", "50000", "--speed-um-s", "900000", "--channel-mask", "3"]


def main():
    program, how = sys.argv[1:]
    if how == "pipes":
        return subprocess.run([sys.executable, KIT, "--command", f"{program} --stdio", *ORDER], timeout=500).returncode
    bench = subprocess.Popen([program], stdout=subprocess.PIPE)
    try:
        port = bench.stdout.readline().decode().split()[-1]
        return subprocess.run([sys.executable, KIT, "--port", port, *ORDER], timeout=500).returncode
    finally:
        bench.terminate()
        bench.wait()
        bench.stdout.close()


if __name__ == "__main__":
    sys.exit(main())

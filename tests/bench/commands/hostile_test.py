#!/usr/bin/env python3
"""Every hostile file and every text without an end has an answer: an exit status of the house, in bounded memory, and before the limit of processor
time at which the system would end the program (a guard against hanging, thirty times what any of them takes).

Usage: hostile_test.py PROGRAM"""
import os
import resource
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
from hostile_inputs import endless, hostile  # noqa: E402

SECONDS = 60
MEBIBYTES = 512
SANITIZED = os.environ.get("DROPLEDGER_SANITIZED")  # its shadow memory is no memory of ours


def limited():
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if not SANITIZED:
        resource.setrlimit(resource.RLIMIT_AS, (4 * MEBIBYTES << 20, 4 * MEBIBYTES << 20))


def answer(words, given=subprocess.DEVNULL):
    child = subprocess.Popen([sys.argv[1], *words], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                             stdin=given, preexec_fn=limited)
    said = child.stderr.read().decode(errors="replace")
    _, status, used = os.wait4(child.pid, 0)
    child.stderr.close()
    child.returncode = os.waitstatus_to_exitcode(status)
    return child.returncode, used, said


def answer_to_endless(text, words):
    """`text`: a shell command that writes until nobody reads any more."""
    with subprocess.Popen(["sh", "-c", text], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as writer:
        given = answer(words, writer.stdout)
        writer.stdout.close()
    return given


def cases(folder):
    for title, words, statuses, name in hostile(folder):
        yield title, statuses, name, answer(words)
    for title, text, words, statuses in endless(folder):
        yield title, statuses, "", answer_to_endless(text, words)


def main():
    wrong, count = 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for title, statuses, name, (status, used, said) in cases(folder):
            count += 1
            good = status in statuses and (SANITIZED or used.ru_maxrss <= MEBIBYTES * 1024)
            if status in (64, 65) and name not in said:
                good = False
            wrong += not good
            print(f"{'ok   ' if good else 'WRONG'} {title}: status {status}, {used.ru_utime:.2f} s, "
                  f"{used.ru_maxrss // 1024} MiB" + ("" if good else f"\n      {said[:300]}"))
    print(f"{count} hostile inputs, {wrong} without a right answer")
    return 1 if wrong else 0


sys.exit(main())

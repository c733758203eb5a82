#!/usr/bin/env python3
"""Installs the package in a root of its own, uses it as an ordinary user, purges it, and looks for what is left.

ROOT is a Debian of which the package's dependencies are part (chroot; start it with unshare --mount), or an empty folder (plain), whose files then run with
this machine's libraries. usage: use_installed.py ROOT DEB chroot|plain"""
import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys

ROOT, DEB, HOW = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve(), sys.argv[3]
NOBODY = 65534
# What dpkg and the machine themselves keep, and what the test makes.
NOT_LOOKED_AT = {"proc", "sys", "dev", "run", "tmp", "var/log", "var/cache", "var/lib/dpkg", "var/lib/apt"}
COMPLETION = """source "$1"; COMP_WORDS=(dropledger batch o); COMP_CWORD=2; _dropledger; echo "${COMPREPLY[@]}" """
FAKE_PROGRAMMER = '#!/bin/sh\nfor word; do echo "$word"; done\n'


def seen_from_inside(path):
    return path if HOW == "plain" else "/" + str(path.relative_to(ROOT))


def run(*words, allowed=(0,)):
    done = subprocess.run(list(map(str, words)), capture_output=True, text=True, timeout=300)
    assert done.returncode in allowed, (words, done.returncode, done.stdout[-2000:], done.stderr[-2000:])
    return done.stdout


def dpkg(*words):
    if HOW == "chroot":
        return run("chroot", ROOT, "dpkg", *words)
    as_root = [] if os.geteuid() == 0 else ["fakeroot"]
    return run(*as_root, "dpkg", f"--root={ROOT}", "--force-not-root", "--force-bad-path", "--force-depends", *words)


class User:
    """Somebody who owns nothing but a folder of his own."""

    def __init__(self):
        self.home = ROOT / "tmp/home"
        (self.home / "bin").mkdir(parents=True)
        self.home.parent.chmod(0o1777)
        self.words = ["chroot", ROOT] if HOW == "chroot" else []
        if os.geteuid() == 0:
            os.chown(self.home, NOBODY, NOBODY)
            self.words += ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups"]
        paths = f"{seen_from_inside(self.home)}/bin:{seen_from_inside(ROOT / 'usr/bin')}:/usr/bin:/bin"
        self.words += ["env", "-i", "-C", seen_from_inside(self.home), f"HOME={seen_from_inside(self.home)}", f"PATH={paths}", "LC_ALL=C.UTF-8"]

    def run(self, *words, allowed=(0,)):
        return run(*self.words, *words, allowed=allowed)


def files():
    found = set()
    for folder, folders, names in os.walk(ROOT):
        below = pathlib.Path(folder).relative_to(ROOT)
        folders[:] = [one for one in folders if str(below / one) not in NOT_LOOKED_AT]
        found |= {str(below / one) for one in (*names, *folders)}
    return found


def record_and_judge(user):
    """The demo, and a page for which libraries are loaded by name."""
    user.run("dropledger", "demo", "--out", "demo", "--drops", 120, "--pace", 50, allowed=(0, 1, 2))
    made = {one.name: one for one in (user.home / "demo").iterdir()}
    assert {"demo.droplog", "demo.html", "demo.json", "truth.csv"} <= made.keys(), made.keys()
    audit = json.loads(made["demo.json"].read_text())
    assert audit["source"]["complete"] and audit["channels"][0]["ledger"]["drops"] == 120, audit["source"]
    assert made["demo.droplog"].stat().st_uid == (NOBODY if os.geteuid() == 0 else os.geteuid())
    user.run("dropledger", "audit", "demo/demo.droplog", "--sheet", "sheet.pdf", allowed=(0, 1, 2))
    assert (user.home / "sheet.pdf").read_bytes().startswith(b"%PDF-")


def use_what_lies_in_share(user):
    share = ROOT / "usr/share/dropledger"
    scenarios = sorted((share / "scenarios").glob("*.toml"))
    assert len(scenarios) > 15 and len(list((share / "crops").glob("*.toml"))) > 10
    user.run("dropledger", "simulate", "--scenario", seen_from_inside(share / "scenarios/healthy.toml"), "--log", "a.droplog")
    for profile in sorted((share / "profiles").glob("single*.toml")):
        user.run("dropledger", "audit", "a.droplog", "--profile", seen_from_inside(profile), allowed=(0, 1, 2))
    completed = user.run("bash", "-c", COMPLETION, "bash",
                         seen_from_inside(ROOT / "usr/share/bash-completion/completions/dropledger"))
    assert completed.split() == ["open"], completed


def flash(user):
    firmware = ROOT / "usr/share/dropledger/firmware"
    if not firmware.exists():
        print("no firmware in the package: gcc-avr was not there when it was built")
        return
    hex_lines = (firmware / "controller_atmega2560.hex").read_text().split()
    assert hex_lines[-1] == ":00000001FF" and len(hex_lines) > 500
    script = seen_from_inside(firmware / "flash")
    if HOW == "chroot":  # which has no avrdude
        assert "avrdude is not there" in subprocess.run([*user.words, script, "/dev/null"], stderr=subprocess.PIPE, text=True).stderr
    programmer = user.home / "bin/avrdude"
    programmer.write_text(FAKE_PROGRAMMER)
    programmer.chmod(0o755)
    said = user.run(script, "/dev/null", "--yes")
    assert said.split()[-1] == f"flash:w:{seen_from_inside(firmware / 'controller_atmega2560.hex')}:i", said
    assert user.run("sh", "-c", f"echo no | {script} /dev/null", allowed=(2,)).count("avrdude") == 0
    user.run(script, "/dev/nothing", "--yes", allowed=(74,))
    user.run(script, allowed=(64,))


def serve_from_the_menu(user):
    """What the desktop's entry starts: it serves, and keeps its files in the user's own folder."""
    entry = ROOT / "usr/share/applications/dropledger-serve.desktop"
    started = next(line for line in entry.read_text().splitlines() if line.startswith("Exec=")).removeprefix("Exec=")
    script = seen_from_inside(ROOT / started.lstrip("/"))
    with subprocess.Popen([*user.words, script], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as station:
        try:
            assert station.stdout.readline().startswith("http://127.0.0.1:")
            assert (user.home / "Dropledger").is_dir()
        finally:
            station.send_signal(signal.SIGINT)
    assert station.returncode == 0, station.returncode


def main():
    (ROOT / "tmp").mkdir(exist_ok=True)
    if HOW == "chroot":  # terminals that everybody may open; in a mount namespace of our own
        run("mount", "-t", "devpts", "devpts", ROOT / "dev/pts", "-o", "newinstance,ptmxmode=0666")
    if HOW == "plain":
        for folder in ("updates", "info", "triggers"):
            (ROOT / "var/lib/dpkg" / folder).mkdir(parents=True)
        for name in ("status", "available"):
            (ROOT / "var/lib/dpkg" / name).touch()
    shutil.copy(DEB, ROOT / "tmp/package.deb")
    before = files()
    dpkg("--install", seen_from_inside(ROOT / "tmp/package.deb"))
    installed = files() - before
    assert {"usr/bin/dropledger", "usr/share/man/man1/dropledger-batch-open.1.gz"} <= installed, installed
    version = dpkg("-s", "dropledger").split("\nVersion: ")[1].split("\n")[0]
    user = User()
    assert user.run("dropledger", "--version") == f"dropledger {version}\n"
    record_and_judge(user)
    use_what_lies_in_share(user)
    flash(user)
    serve_from_the_menu(user)
    dpkg("--purge", "dropledger")
    left = files() - before
    assert not left, left
    print(f"dropledger {version}: {len(installed)} files and folders installed, used and purged ({HOW})")


main()

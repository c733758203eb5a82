#!/usr/bin/env python3
"""What people keep stays readable: the files of every released version (fixtures/released), in the hands of this program.

The files are copied first: a book is brought up to date where it lies. usage: released_test.py PROGRAM SCENARIO"""
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile
import tomllib
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from schemas import held  # noqa: E402

PROGRAM, TOP = sys.argv[1], pathlib.Path(__file__).resolve().parents[2]
RELEASED = TOP / "fixtures/released"
VERSIONS = sorted(path.name for path in RELEASED.iterdir() if path.is_dir())
SIX_UNITS = pathlib.Path(sys.argv[2]).with_name("six_units.toml")
# Never released; its batch files lack what the plan and the certificate say since.
WITHOUT_BATCHES = ("0.1.0",)
CONTRADICTIONS = ({"within", "outside"}, {"accepted", "not_accepted"})


def run(*words, allowed=(0,)):
    done = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=120)
    assert done.returncode in allowed, (words, done.returncode, done.stdout, done.stderr)
    return done.stdout


def result(*words, allowed=(0,)):
    return held(run(*words, "--json", allowed=allowed))


class Promises:
    """What must be so of each version's set."""

    def setUp(self):
        room = tempfile.TemporaryDirectory()
        self.addCleanup(room.cleanup)
        self.folder = pathlib.Path(room.name) / self.version
        shutil.copytree(RELEASED / self.version, self.folder)
        self.logs = self.folder / "logs"
        self.facts = json.loads((self.folder / "facts.json").read_text())

    def agrees(self, now, then, where):
        self.assertNotIn({now, then}, CONTRADICTIONS, where)

    def test_logs_are_whole_and_nothing_in_them_is_counted_otherwise(self):
        self.assertGreaterEqual(len(self.facts["logs"]), 6)
        for name, then in self.facts["logs"].items():
            run("check", self.logs / name)
            audit = result("audit", self.logs / name, allowed=(0, 1, 2))
            self.assertEqual(audit["source"]["run"], then["run"])
            self.assertEqual([{"unit": one["unit"], "drops": one["ledger"]["drops"], "seeds": one["ledger"]["seeds"]}
                              for one in audit["channels"]], then["units"], name)
            self.agrees(audit["outcome"], then["outcome"], name)

    def test_calibration_records_are_read_and_hold(self):
        log = self.logs / "SU-0004.droplog"
        audit = result("audit", log, "--calibration", self.logs / "CAL-GATE1.toml", allowed=(0, 1, 2))
        self.assertNotEqual(audit["channels"], result("audit", log, allowed=(0, 1, 2))["channels"])
        names = ("efficiency.toml", "flight.toml", "CAL-GATE1.toml")
        entered = result("book", "add", *(self.logs / name for name in names), "--book", self.folder / "new.book")
        self.assertEqual(entered["calibrations"], 3)

    def test_settings_run_a_bench(self):
        port, log, settings = self.folder / "port", self.folder / "run.droplog", self.folder / "machine.toml"
        with subprocess.Popen([PROGRAM, "simulate", "--scenario", SIX_UNITS, "--link", port, "--pace", "50", "--once"],
                              stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as bench:
            try:
                self.assertTrue(bench.stdout.readline())
                run("run", "--port", port, "--settings", settings, "--drops", 20, "--log", log, "--yes")
                bench.wait(timeout=60)
            finally:
                bench.kill()
        audit = result("audit", log, allowed=(0, 1, 2))
        named = [one["unit"] for one in tomllib.loads(settings.read_text())["channel"]]
        self.assertEqual([one["unit"] for one in audit["channels"]], named)
        self.assertEqual({one["ledger"]["drops"] for one in audit["channels"]}, {20})

    def test_batches_are_shown_and_certificates_hold(self):
        if self.version in WITHOUT_BATCHES:
            self.skipTest("batch files and certificates are promised from 0.2.0 on")
        state = result("batch", "show", self.logs / "may.batch.json", allowed=(0, 1, 2))
        self.assertEqual(state["decision"], self.facts["book"]["batches"]["may"])
        for certificate in ("may.certificate.json", "may.pdf"):
            found = result("batch", "verify", self.folder / certificate, "--logs", self.logs, "--public-key",
                           self.facts["public_key"], "--today", self.facts["today"], "--rehearsal")
            self.assertTrue(found["holds"], found["failures"])
            self.assertEqual(found["decision"], "accepted")

    def test_books_are_brought_up_to_date_and_say_the_same(self):
        book, then = self.logs / "bench.book", self.facts["book"]
        listed = result("book", "list", "--book", book)
        self.assertEqual({one["file"]: one["outcome"] for one in listed["runs"]}, then["runs"])
        self.assertEqual([one["id"] for one in listed["calibrations"]], then["calibrations"])
        self.assertEqual({one["batch"]: one["decision"] for one in listed["batches"]}, then["batches"])
        self.assertIn("disc changed", json.dumps(listed["units"]))
        again = self.logs / "new.book"
        (self.logs / "new.book.notes").write_text((self.logs / "bench.book.notes").read_text())
        rebuilt = result("book", "rebuild", self.logs, "--book", again, allowed=(0, 2))
        self.assertEqual(rebuilt["runs"], len(then["runs"]))
        for sentence in rebuilt["left_out"]:
            self.assertIn(self.version, WITHOUT_BATCHES, sentence)
            self.assertIn("may.batch.json", sentence)
        for one in result("book", "list", "--book", again)["runs"]:
            self.agrees(one["outcome"], then["runs"][one["file"]], one["file"])


for name in VERSIONS:
    globals()[f"Version{name}"] = type(f"Version{name}", (Promises, unittest.TestCase), {"version": name})


class ThisVersion(unittest.TestCase):
    def test_has_its_set(self):
        self.assertIn(run("--version").split()[1], VERSIONS)
        self.assertIn("0.1.0", VERSIONS)


unittest.main(argv=sys.argv[:1])

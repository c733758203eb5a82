#!/usr/bin/env python3
"""Shows that each rule of the judge can be broken: a good run is judged, then its log, trace or memory is tampered with.

usage: judge_test.py DROPLEDGER PRELOAD
"""

import pathlib
import sys
import tempfile
import types
import unittest

from judge import judge
from rig import Rig, decode

PROGRAM, PRELOAD = sys.argv[1], pathlib.Path(sys.argv[2]).resolve()


class Judge(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        options = types.SimpleNamespace(program=PROGRAM, preload=PRELOAD)
        cls.rig = Rig(options, cls.folder.name, drops=10)
        cls.rig.start()
        cls.rig.end()
        cls.log, cls.trace = cls.rig.log.read_bytes(), cls.rig.trace.read_text()

    @classmethod
    def tearDownClass(cls):
        cls.rig.close()
        cls.folder.cleanup()

    def tearDown(self):
        self.rig.log.write_bytes(self.log)
        self.rig.trace.write_text(self.trace)

    def must_break(self, rule):
        faults = judge(self.rig)
        self.assertTrue(any(fault.startswith(rule) for fault in faults), faults)

    def a_drop(self):
        return next(line for line in self.log.split(b"\n") if decode(line).name == "drop") + b"\n"

    def test_finds_nothing_in_a_good_run(self):
        self.assertEqual(judge(self.rig), [])
        self.assertIn("ack ", self.trace)

    def test_an_acknowledged_line_that_is_gone(self):
        self.rig.log.write_bytes(self.log.replace(self.a_drop(), b""))
        self.must_break("acknowledged lines are there")

    def test_a_line_twice(self):
        self.rig.log.write_bytes(self.log.replace(self.a_drop(), 2 * self.a_drop()))
        self.must_break("acknowledged lines are there")

    def test_a_line_that_was_never_sent(self):
        from line import encode
        drop = decode(self.a_drop()[:-1]).fields
        forged = encode(",".join(drop[:-1] + ["7"])) + b"\n"
        self.rig.log.write_bytes(self.log.replace(self.a_drop(), forged))
        self.must_break("nothing was invented")

    def test_an_acknowledgement_before_the_sync(self):
        rows = self.trace.split("\n")
        first = next(n for n, row in enumerate(rows) if row.startswith("ack "))
        before = max(n for n in range(first) if rows[n].startswith("sync 0"))
        self.rig.trace.write_text("\n".join(row for n, row in enumerate(rows) if n != before))
        self.must_break("sync precedes ack")

    def test_a_sync_that_failed_is_none(self):
        self.rig.trace.write_text(self.trace.replace("sync 0 ", "sync -1 "))
        self.must_break("sync precedes ack")

    def test_a_start_that_nobody_confirmed(self):
        confirmed = next(line for line in self.log.split(b"\n") if decode(line).name == "@confirmed") + b"\n"
        self.rig.log.write_bytes(self.log.replace(confirmed, b""))
        self.must_break("no start without confirmation")

    def with_history(self, change):
        """What the judge finds where the controller made other lines."""
        controller = self.rig.server.controller
        made = list(controller.history)
        controller.history = change(made)
        self.must_break("no start without confirmation")
        controller.history = made

    def test_a_start_before_the_one_before_has_halted(self):
        self.with_history(lambda made: [one for line in made for one in [line] * (1 + (decode(line[2]).name == "started"))])

    def test_drops_beyond_the_order(self):
        self.with_history(lambda made: made + [line for line in made if decode(line[2]).name == "drop"])

    def test_an_unasked_start_that_nobody_halts(self):
        started = next(line for line in self.log.split(b"\n") if decode(line).name == "started") + b"\n"
        self.rig.log.write_bytes(self.log.replace(started, 2 * started))
        self.must_break("what starts unasked is halted")

    def test_a_good_word_for_a_bad_log(self):
        self.rig.log.write_bytes(self.log[:-1])
        self.must_break("a good word means a good log")

    def test_a_status_that_no_manual_knows(self):
        self.rig.drivers[0].status = 70
        self.must_break("statuses are documented")
        self.rig.drivers[0].status = 0

    def test_motors_left_turning(self):
        self.rig.drivers[0].state = "running"
        self.must_break("motors stand still")
        self.rig.drivers[0].state = "idle"


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])

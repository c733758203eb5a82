#!/usr/bin/env python3
"""Calibrations and histories that an issuer bends, replayed from his side: an efficiency is worked out again from the figures
and logs that its record names, and a book that knows the batches lets none be left out."""
import pathlib
import re
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
import issuer  # noqa: E402

PROGRAM, SCENARIO = sys.argv[1:3]


class Records(issuer.Case):
    program, scenario = PROGRAM, SCENARIO

    def test_a_record_of_the_benchs_gate_holds_whichever_unit_hangs_on_it(self):
        record, _ = self.me.calibrated()
        text = record.read_text()
        self.assertNotIn("unit =", text)
        self.assertIn("[efficiency.figures]", text)
        _, certificate = self.certified(record=record)
        self.assertIn("TWO (gate 1, bench bench-1, whichever unit hangs on it, crop chicory) follows from its logs",
                      self.remarks(certificate))

    def test_an_efficiency_that_its_figures_do_not_give_is_refused(self):
        record, _ = self.me.calibrated()
        record.write_text(re.sub(r"(?m)^value = .*", "value = 0.97", record.read_text()))
        record.write_text(re.sub(r"(?m)^low = .*", "low = 0.95", record.read_text()))
        file, opened = self.me.open("spring", issuer.SERIALS)
        refused = self.me.add(file, self.me.log(opened["chosen"][0]), record=record, status=65).stderr
        self.assertIn("worked out again from", refused)

    def test_figures_that_look_right_and_are_not_the_logs_are_refused(self):
        record, log = self.me.calibrated()
        file, opened = self.me.open("spring", issuer.SERIALS)
        # The record of another, better log, with this log's name and hash put in
        other, _ = self.me.calibrated("BETTER", self.me.log("CAL-UNIT", name="BETTER.droplog", drops=800,
                                                            started="2026-01-03T12:00:00Z"))
        bent = other.read_text().replace("BETTER.droplog", log.name)
        bent = re.sub(r"sha256 = '?\"?[0-9a-f]{64}'?\"?", f"sha256 = '{issuer.hashlib.sha256(log.read_bytes()).hexdigest()}'",
                      bent)
        other.write_text(bent)
        refused = self.me.add(file, self.me.log(opened["chosen"][0]), record=other, status=65).stderr
        self.assertIn("counted again", refused)

    def test_a_bent_record_in_a_chain_written_by_hand_does_not_verify(self):
        record, log = self.me.calibrated()
        file, _, _ = self.batch(record=record)
        self.me.run("batch", "decide", file, *self.me.signed())
        bodies = self.me.chain(file)
        both = int(re.search(r"both = (\d+)", record.read_text())[1])
        changed = record.read_text().replace(f"both = {both}", f"both = {both - 1}")
        record.write_text(changed)
        used = next(body for body in bodies if body["kind"] == "add")["calibrations"][0]
        used["sha256"] = issuer.hashlib.sha256(changed.encode()).hexdigest()
        used["figures"] = used["figures"].replace(f"{both} seeds", f"{both - 1} seeds")
        self.me.write_chain(file, bodies)
        self.assertIn("efficiency_differs", self.me.certificate(file, status=1))

    def test_the_logs_of_a_calibration_lie_with_the_evidence(self):
        record, log = self.me.calibrated()
        _, certificate = self.certified(record=record)
        self.assertTrue(self.me.verified(certificate)["holds"])
        text = log.read_text()
        log.write_text(text + "\n")
        self.assertIn("calibration_input_changed", self.me.codes(certificate))
        log.unlink()
        self.assertEqual(self.me.codes(certificate), {"calibration_input_missing"})

    def test_a_history_that_leaves_a_batch_out_or_names_one_twice_is_refused(self):
        files = []
        for number in range(3):
            serials = [f"H{number}-{unit}" for unit in range(8)]
            file, opened = self.me.open(f"lot{number}", serials, plan=("--aql", 10, "--level", "I"))
            self.me.add(file, *[self.me.log(unit, fill=1.0, drops=240) for unit in opened["chosen"]])
            self.me.run("batch", "decide", file, *self.me.signed())
            files.append(file)
        book = self.me.top / "bench.book"
        self.me.run("book", "add", *files, "--book", book)
        def opened(*history, status=64):
            words = ("--book", book, *(word for file in history for word in ("--history", file)))
            return self.me.open("next", issuer.SERIALS, *words, plan=("--aql", 10, "--level", "I"), status=status)
        self.assertIn("lot1 is left out", opened(files[0], files[2]))
        self.assertIn("named twice", opened(*files, files[2]))
        self.assertIn("comes before", opened(files[1], files[0], files[2]))
        _, state = opened(*files, status=0)
        self.assertEqual(state["plan"]["severity"], "normal")


unittest.main(argv=sys.argv[:1] + sys.argv[3:])

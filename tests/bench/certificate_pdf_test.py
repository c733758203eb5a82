#!/usr/bin/env python3
"""A small batch from logs of the virtual bench to a printed certificate that verifies; everything is invented."""
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
import invented  # noqa: E402
from schemas import held  # noqa: E402

DROPLEDGER, HEALTHY = sys.argv.pop(1), pathlib.Path(sys.argv.pop(1))
RECORD = invented.record("CAL-B1-JAN")
PROFILE = invented.profile()


def run(*words, status=0):
    done = subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=120)
    assert done.returncode == status, (words, done.returncode, done.stdout, done.stderr)
    return done


class Printed(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.room = tempfile.TemporaryDirectory()
        top = pathlib.Path(cls.room.name)
        cls.logs, cls.json, cls.pdf = top / "logs", top / "c.json", top / "c.pdf"
        cls.logs.mkdir()
        (cls.logs / "short-test.toml").write_text(PROFILE)
        (cls.logs / "CAL-B1-JAN.toml").write_text(RECORD)
        key, batch = top / "bench.key", top / "spring.batch.json"
        run("batch", "key", key)
        opened = run("batch", "open", batch, "--serials", "SU-001..SU-040", "--profile", cls.logs / "short-test.toml",
                     "--n", 5, "--accept", 1, "--seed", 7, "--rehearsal", "--at", "2026-01-04T08:00:00Z", "--key", key, "--json")
        for seed, unit in enumerate(held(opened.stdout)["chosen"], 1):
            scenario = top / "scenario.toml"
            scenario.write_text(HEALTHY.read_text().replace("U-0101", unit).replace("seed = 20260101", f"seed = {seed}"))
            log = cls.logs / f"{unit}.droplog"
            run("simulate", "--scenario", scenario, "--log", log, "--drops", 400, "--key", key, "--started",
                f"2026-01-05T0{seed}:00:00Z")
            run("batch", "add", batch, log, "--calibration", cls.logs / "CAL-B1-JAN.toml", "--key", key, "--at",
                "2026-01-06T08:00:00Z")
        run("batch", "decide", batch, "--key", key, "--at", "2026-01-06T09:00:00Z")
        run("batch", "certificate", batch, "--key", key, "--at", "2026-01-06T10:00:00Z", "--logs", cls.logs, "--out", cls.json,
            "--pdf", cls.pdf, "--valid-until", "2031-12-31")
        shutil.copy(batch, cls.logs)

    @classmethod
    def tearDownClass(cls):
        cls.room.cleanup()

    def verify(self, pdf, status=0):
        return run("batch", "verify", pdf, "--logs", self.logs, "--today", "2026-06-01", "--rehearsal", "--json",
                   status=status)

    def changed(self, old, new):
        self.assertIn(old, self.pdf.read_bytes())
        other = pathlib.Path(self.room.name) / "other.pdf"
        other.write_bytes(self.pdf.read_bytes().replace(old, new, 1))
        return other

    def test_the_pdf_verifies_like_the_certificate(self):
        found = held(self.verify(self.pdf).stdout)
        self.assertTrue(found["holds"])
        self.assertIs(found["is_pdf"], True)
        self.assertIs(held(self.verify(self.json).stdout)["is_pdf"], False)

    def test_printing_the_certificate_gives_the_same_pdf(self):
        again = pathlib.Path(self.room.name) / "again.pdf"
        run("batch", "print", self.json, "--out", again)
        self.assertEqual(again.read_bytes(), self.pdf.read_bytes())

    def test_other_pages_do_not_hold(self):
        other = self.changed(b"/MediaBox [ 0 0 595 842 ]", b"/MediaBox [ 0 0 595 841 ]")
        found = held(self.verify(other, status=1).stdout)
        self.assertEqual([failure["code"] for failure in found["failures"]], ["pages_differ"])

    def test_another_attachment_does_not_hold(self):
        other = self.changed(b'"nonconforming":0', b'"nonconforming":1')
        found = held(self.verify(other, status=1).stdout)
        self.assertIn("bad_signature", [failure["code"] for failure in found["failures"]])
        self.verify(self.changed(b"/Type /Filespec", b"/Type /Filespex"), status=65)

    @unittest.skipUnless(shutil.which("pdftotext"), "poppler-utils is not installed")
    def test_people_read_what_was_decided(self):
        text = subprocess.run(["pdftotext", "-layout", self.pdf, "-"], capture_output=True, timeout=60).stdout.decode()
        text = " ".join(text.split())
        for words in ("SIMULATED, a rehearsal. Batch spring: accepted", "TYPED, WITHOUT A BUYER'S PART", "Of 40 units in the batch, 5 were chosen", "miss index M at most", "CAL-B1-JAN"):
            self.assertIn(words, text)


if __name__ == "__main__":
    unittest.main()

#!/usr/bin/env python3
"""The printed certificate as its readers' tools see it: poppler finds the batch and gives the signed JSON back byte
for byte."""
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

SAMPLE, DROPLEDGER = sys.argv.pop(1), sys.argv.pop(1)
if not all(shutil.which(tool) for tool in ("pdfdetach", "pdftotext", "pdfinfo", "pdftoppm")):
    print("poppler-utils is not installed: nothing was tested")
    sys.exit(77)


def run(*words, cwd=None):
    return subprocess.run([str(word) for word in words], capture_output=True, timeout=60, cwd=cwd)


class Print(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.path = pathlib.Path(self.folder.name)
        self.json, self.pdf = self.path / "c.json", self.path / "c.pdf"

    def print_sample(self, tested):
        self.json.write_bytes(run(SAMPLE, tested).stdout)
        done = run(DROPLEDGER, "batch", "print", self.json, "--out", self.pdf)
        self.assertEqual(done.returncode, 0, done.stderr)

    def text(self):
        return run("pdftotext", "-layout", self.pdf, "-").stdout.decode()

    def test_the_attachment_is_the_signed_file(self):
        self.print_sample(50)
        (self.path / "out").mkdir()
        self.assertEqual(run("pdfdetach", "-saveall", self.pdf, cwd=self.path / "out").returncode, 0)
        files = list((self.path / "out").iterdir())
        self.assertEqual([file.name for file in files], ["SPRING-07.certificate.json"])
        self.assertEqual(files[0].read_bytes(), self.json.read_bytes())

    def test_the_text_can_be_searched(self):
        self.print_sample(50)
        text = self.text()
        for part in ("SPRING-07", "accepted", "SU-0007", "single-fine", "level II", "chance of acceptance",
                     "What this certificate does not say", "seed label", "dropledger batch verify", "TAKEN OUT",
                     "CAL-2", "bench bench-1", "Annex: logs and keys", "Annex: the profile, whole", "page 1 of 5", "page 5 of 5", "Invented Works", "Producer's risk", "Consumer's risk", "ISO 7256-1",
                     "reproduced in full only", "are the issuer's word", "SU-0001 to SU-0280", "Results against each limit"):
            self.assertIn(part, text)

    def test_it_is_tagged_and_says_its_language(self):
        self.print_sample(50)
        info = run("pdfinfo", self.pdf).stdout.decode()
        self.assertRegex(info, r"Tagged: +yes")
        structure = run("pdfinfo", "-struct", self.pdf).stdout.decode()
        for element in ("Document", "H1", "H2", "LBody", "Table", "TH", "TD"):
            self.assertRegex(structure, rf"(?m)^ *{element}\b")
        self.assertIn(b"/Lang (en-GB)", self.pdf.read_bytes())

    def test_no_table_leaves_few_rows_alone_and_no_name_is_parted(self):
        for tested in range(46, 60, 3):
            self.print_sample(tested)
            for page in self.text().split("\f")[:-1]:
                rows = [line for line in page.splitlines() if line.startswith("SU-")]
                self.assertTrue(not rows or len(rows) >= 4, (tested, page))
            text = self.text()
            for number in (1, tested):
                self.assertIn(f"R-{number:05}.droplog", text)

    def test_every_page_of_a_long_table_has_its_head(self):
        self.print_sample(200)
        text = self.text()
        pages = text.split("\f")[:-1]
        self.assertGreater(len(pages), 3)
        heads = {"SU-": ("unit log date", "magnitude at most"), "R-": ("number log SHA-256",)}
        for page in pages:
            lines = [line.split() for line in page.splitlines() if line.strip()]
            for start, head in heads.items():
                first = next((i for i, words in enumerate(lines) if len(words) > 2 and (
                    words[0].startswith(start) if start == "SU-" else words[1].startswith(start) and len(words[2]) > 40)), None)
                if first is not None:
                    self.assertIn(" ".join(lines[first - 1][:3]), head)
        for unit in range(200):
            self.assertIn(f"SU-{7 + 3 * unit:04}", text)

    def test_readers_find_nothing_wrong_with_the_file(self):
        self.print_sample(13)
        for tool in (["pdfinfo", self.pdf], ["pdftoppm", "-r", "40", "-png", self.pdf, self.path / "page"]):
            done = run(*tool)
            self.assertEqual((done.returncode, done.stderr), (0, b""))
        dates = run("pdfinfo", "-rawdates", self.pdf).stdout.decode()
        self.assertIn("D:20260201100000Z", dates.split("CreationDate:")[1].split("\n")[0])

    def test_a_print_can_be_printed_again(self):
        self.print_sample(13)
        again = self.path / "again.pdf"
        self.assertEqual(run(DROPLEDGER, "batch", "print", self.pdf, "--out", again).returncode, 0)
        self.assertEqual(again.read_bytes(), self.pdf.read_bytes())

    def test_what_is_not_signed_is_not_printed(self):
        self.print_sample(13)
        self.pdf.unlink()
        good = self.json.read_bytes()
        for bad in (good.replace(b'"accepted"', b'"rejected"'), good + b"\n", good[:-2], b"{}", b"", b"%PDF-1.5\n%%EOF\n"):
            self.json.write_bytes(bad)
            done = run(DROPLEDGER, "batch", "print", self.json, "--out", self.pdf)
            self.assertEqual(done.returncode, 65, bad[:40])
            self.assertTrue(done.stderr.startswith(b"dropledger: "), done.stderr)
            self.assertFalse(self.pdf.exists())


if __name__ == "__main__":
    unittest.main()

#!/usr/bin/env python3
"""A batch of 280 units from `open` to a certificate that verifies, and what forged, mixed-up, truncated and expired
evidence is answered with. Units, seed lot and faults are invented; the virtual bench writes the logs."""
import json
import os
import pathlib
import shutil
import stat
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
import invented  # noqa: E402
from schemas import held  # noqa: E402

DROPLEDGER, HEALTHY = sys.argv[1], pathlib.Path(sys.argv[2])
SERIALS = [f"SU-{number:04}" for number in range(1, 281)]
BAD = set(SERIALS[::20])  # 14 of 280, 5 %
PROFILE = invented.profile()
RECORD = invented.record("CAL-B1-JAN")


def run(*words, status=0):
    done = subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=120)
    assert done.returncode == status, (words, done.returncode, done.stdout, done.stderr)
    return done


def result(*words, status=0):
    return held(run(*words, "--json", status=status).stdout)


class Bench:
    """A folder with a key, a profile, a calibration and the logs of a virtual bench; its clock goes on by itself."""

    def __init__(self, folder):
        self.folder = folder
        self.key = folder.parent / "bench.key"
        self.calibration = folder / "CAL-B1-JAN.toml"
        self.seed = 0
        self.minutes = 0
        folder.mkdir()
        (folder / "short-test.toml").write_text(PROFILE)
        self.calibration.write_text(RECORD)
        self.public_key = run("batch", "key", self.key).stdout.strip()

    def later(self):
        self.minutes += 15
        return f"2026-01-{5 + self.minutes // 1440:02}T{self.minutes // 60 % 24:02}:{self.minutes % 60:02}:00Z"

    def signed(self):
        return "--key", self.key, "--at", self.later()

    def log(self, units, name, drops=200, key=True, started=None):
        """One log with a channel a unit."""
        head, channel = HEALTHY.read_text().split("[[channel]]")
        self.seed += 1
        text = head.replace("seed = 20260101", f"seed = {self.seed}")
        for row, unit in enumerate(units):
            part = channel.replace("U-0101", unit).replace("row = 1", f"row = {row + 1}")
            text += "[[channel]]" + part + ("fill = 0.75\n" if unit in BAD else "")
        scenario = self.folder.parent / "scenario.toml"
        scenario.write_text(text)
        log = self.folder / name
        run("simulate", "--scenario", scenario, "--log", log, "--drops", drops,
            *(["--key", self.key] if key else []), "--started", started or self.later())
        return log


class Batch(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.room = tempfile.TemporaryDirectory()
        top = pathlib.Path(cls.room.name)
        cls.bench = Bench(top / "logs")
        cls.serials = top / "serials.csv"
        cls.serials.write_text("unit,place\n" + "".join(f"{serial},shelf\n" for serial in SERIALS))
        cls.file = top / "spring.batch.json"
        cls.certificate = top / "spring.certificate.json"
        cls.certify()

    @classmethod
    def tearDownClass(cls):
        cls.room.cleanup()

    @classmethod
    def add(cls, *logs, status=0, more=()):
        return run("batch", "add", cls.file, *logs, "--calibration", cls.bench.calibration,
                   *cls.bench.signed(), *more, status=status)

    @classmethod
    def certify(cls):
        """The whole way; the assertions on it stand here because every test needs it."""
        bench = cls.bench
        opened = result("batch", "open", cls.file, "--lot", 280, "--serials-file", cls.serials, "--profile",
                        bench.folder / "short-test.toml", "--aql", 4.0, "--level", "II", "--seed", 20260104, "--rehearsal", *bench.signed())
        cls.opening = opened["opening"]
        plan, chosen = opened["plan"], opened["chosen"]
        assert (plan["letter"], plan["n"], plan["accept"], plan["reject"]) == ("G", 32, 3, 4), plan
        assert len(set(chosen)) == 32 and set(chosen) <= set(SERIALS)
        assert run("batch", "decide", cls.file, *bench.signed(), status=2).stdout.count("open: units are missing") == 1

        logs = [bench.log(chosen[:4], "four-at-once.droplog")]
        logs += [bench.log([unit], f"{unit}.droplog") for unit in chosen[4:31]]
        cls.add(*logs)
        cls.last = chosen[31]
        cls.rules(chosen)

        state = result("batch", "show", cls.file)
        for unit in state["standing"]["undecided"]:  # a few hundred drops more decide
            cls.add(bench.log([unit], f"{unit}-again.droplog", drops=600))
        decided = result("batch", "decide", cls.file, *bench.signed())
        expected = sorted(BAD & set(chosen))
        assert sorted(decided["standing"]["nonconforming"]) == expected and len(expected) <= 3, expected
        assert decided["decision"] == "accepted"
        prediction = decided["statistics"]["share_outside"]
        assert prediction["low"] <= len(BAD) / 280 <= prediction["high"], prediction
        run("batch", "certificate", cls.file, *bench.signed(), "--logs", bench.folder, "--out", cls.certificate,
            "--valid-until", "2031-12-31")
        shutil.copy(cls.file, bench.folder)  # for the buyer

    @classmethod
    def rules(cls, chosen):
        bench = cls.bench
        other = next(unit for unit in SERIALS if unit not in chosen)
        refused = [(bench.log([other], "other.droplog"), "was not chosen"),
                   (bench.folder / f"{chosen[5]}.droplog", "in the batch already"),
                   (bench.log([chosen[5]], "second.droplog"), "has been tested already")]
        for log, words in refused:
            assert words in cls.add(log, status=64).stderr, words
        # without its calibration, and long after it
        late = bench.log([cls.last], "late.droplog", started="2027-02-01T08:00:00Z")
        assert "had expired" in cls.add(late, status=64).stderr
        assert "none of a gate's counting" in run("batch", "add", cls.file, late, *bench.signed(), status=64).stderr
        unsigned = bench.log([cls.last], "unsigned.droplog", key=False)
        assert "it is not signed" in cls.add(unsigned, status=64).stderr
        unsigned.unlink()
        # recorded with the lid open, made void, run again
        cls.add(bench.log([cls.last], "lid.droplog"))
        run("batch", "void", cls.file, "lid.droplog", "--cause", "guard_or_lid_open", "--reason", "the lid stood open",
            *bench.signed())
        cls.add(bench.log([cls.last], f"{cls.last}.droplog"))
        for name in ("other", "second", "late"):
            (bench.folder / f"{name}.droplog").unlink()

    def copy(self):
        """Folder and certificate to be spoilt."""
        top = pathlib.Path(tempfile.mkdtemp(dir=self.room.name))
        shutil.copytree(self.bench.folder, top / "logs")
        shutil.copy(self.certificate, top / "certificate.json")
        return top / "logs", top / "certificate.json"

    def codes(self, folder, certificate, *more):
        found = result("batch", "verify", certificate, "--logs", folder, "--today", "2026-06-01", "--rehearsal", *more,
                       status=1)
        self.assertFalse(found["holds"])
        return {(failure["code"], failure["where"]) for failure in found["failures"]}

    def test_the_certificate_holds(self):
        found = result("batch", "verify", self.certificate, "--logs", self.bench.folder, "--public-key",
                       self.bench.public_key, "--today", "2026-06-01", "--serials-file", self.serials, "--rehearsal",
                       "--opening", self.opening)
        self.assertTrue(found["holds"])
        self.assertEqual((found["batch"], found["decision"]), ("spring", "accepted"))
        certificate = json.loads(self.certificate.read_text())
        self.assertEqual(len({run["unit"] for run in certificate["runs"]}), 32)
        void = [run["taken_out"] for run in certificate["runs"] if run["taken_out"]]
        self.assertEqual([(one["cause"], one["text"]) for one in void], [("guard_or_lid_open", "the lid stood open")])
        self.assertEqual([one.split(":")[0] for one in found["not_checked"]],
                         ["how often the seed of the choice was drawn or picked", "whether the issuer took it back since", "whether the runs took place"])
        self.assertTrue(all(run["calibrations"] == ["CAL-B1-JAN"] for run in certificate["runs"]))

    def test_a_pack_verifies_in_another_place_with_the_public_keys_alone(self):
        top = pathlib.Path(tempfile.mkdtemp(dir=self.room.name))
        made = result("batch", "pack", self.certificate, "--logs", self.bench.folder, "--out", top / "pack")
        self.assertEqual(made["files"], len(list((top / "pack").iterdir())) - 1)
        sums = subprocess.run(["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=top / "pack", timeout=60)
        self.assertEqual(sums.returncode, 0)
        (top / "pack").rename(top / "elsewhere")
        pack = top / "elsewhere"
        words = ("batch", "verify", pack / self.certificate.name, "--logs", pack, "--serials-file", pack / "serials.txt",
                 "--public-key", self.bench.public_key, "--rehearsal", "--today", "2026-06-01")
        self.assertTrue(result(*words)["holds"])
        run("batch", "pack", self.certificate, "--logs", self.bench.folder, "--out", pack, status=64)
        next(pack.glob("*.droplog")).unlink()
        self.assertFalse(result(*words, status=1)["holds"])
        run("batch", "pack", self.certificate, "--logs", pack, "--out", top / "half", status=74)
        self.assertFalse((top / "half").exists())

    def test_other_evidence_is_refused_each_with_its_reason(self):
        folder, certificate = self.copy()
        text = certificate.read_text()
        certificate.write_text(text.replace('"nonconforming":', '"nonconforming": '))
        self.assertIn(("not_canonical", "certificate"), self.codes(folder, certificate))
        certificate.write_text(text.replace('"size":280', '"size":281'))
        self.assertIn(("bad_signature", "certificate"), self.codes(folder, certificate))
        certificate.write_text(text)
        codes = {code for code, _ in self.codes(folder, certificate, "--public-key", "5" * 64)}
        self.assertEqual(codes, {"other_key", "log_other_key", "entry_other_key"})
        weak = run("batch", "verify", certificate, "--logs", folder, "--public-key", "01" + "0" * 62, status=64)
        self.assertIn("anyone can sign", weak.stderr)
        expired = result("batch", "verify", certificate, "--logs", folder, "--today", "2032-01-01", "--rehearsal",
                         status=1)
        self.assertEqual([failure["code"] for failure in expired["failures"]], ["expired"])
        self.assertIn("it was valid until 2031-12-31, today is 2032-01-01", expired["failures"][0]["what"])

    def test_other_files_are_refused_each_with_its_reason(self):
        folder, certificate = self.copy()
        names = sorted(path.name for path in folder.glob("SU-*.droplog"))
        (folder / names[0]).rename(folder / "aside")
        (folder / names[1]).rename(folder / names[0])
        (folder / "aside").rename(folder / names[1])
        cut = folder / names[2]
        cut.write_bytes(cut.read_bytes()[:-2000])
        changed = bytearray((folder / names[3]).read_bytes())
        changed[len(changed) // 2] ^= 1
        (folder / names[3]).write_bytes(changed)
        (folder / names[4]).unlink()
        calibration = folder / self.bench.calibration.name
        calibration.write_text(RECORD.replace("0.996", "0.995"))
        codes = self.codes(folder, certificate)
        self.assertLessEqual({("log_mixed_up", names[0]), ("log_mixed_up", names[1]), ("log_truncated", names[2]),
                              ("log_changed", names[3]), ("seal_broken", names[3]), ("log_missing", names[4]),
                              ("calibration_changed", calibration.name)}, codes)

    def test_nothing_is_issued_on_evidence_that_fails(self):
        folder, _ = self.copy()
        (folder / f"{self.last}.droplog").unlink()
        out = folder / "certificate.json"
        failed = result("batch", "certificate", self.file, *self.bench.signed(), "--logs", folder, "--out", out,
                        status=1)
        self.assertEqual([failure["code"] for failure in failed["failures"]], ["log_missing"])
        self.assertFalse(out.exists())

    def test_a_key_is_private(self):
        self.assertEqual(stat.S_IMODE(os.stat(self.bench.key).st_mode), 0o600)
        secret = self.bench.key.read_text().split("\n")[1]
        shown = run("batch", "key", self.bench.key, "--show").stdout
        self.assertEqual(shown.strip(), self.bench.public_key)
        self.assertNotIn(secret, shown + self.certificate.read_text())
        run("batch", "key", self.bench.key, status=64)
        open_key = pathlib.Path(self.room.name) / "open.key"
        run("batch", "key", open_key)
        open_key.chmod(0o644)
        refused = run("simulate", "--scenario", HEALTHY, "--log", open_key.with_suffix(".droplog"), "--key", open_key, status=74)
        self.assertIn("chmod 600", refused.stderr)

    def test_a_batch_of_bad_units_is_not_accepted(self):
        bench, top = self.bench, pathlib.Path(self.room.name)
        file = top / "bad.batch.json"
        bad = sorted(BAD)
        listed = top / "bad.txt"
        listed.write_text("\n".join(bad[:4]) + "\n")
        chosen = result("batch", "open", file, "--serials-file", listed, "--profile", bench.folder / "short-test.toml",
                        "--n", 2, "--accept", 0, "--rehearsal", "--resubmits", self.file, *bench.signed())["chosen"]
        run("batch", "add", file, bench.log(chosen[:1], "bad.droplog"), "--calibration", bench.calibration, *bench.signed())
        run("batch", "decide", file, *bench.signed(), status=1)  # though one unit is still to be tested
        out = top / "bad.certificate.json"
        words = ("batch", "certificate", file, *bench.signed(), "--logs", bench.folder, "--out", out)
        self.assertIn("not accepted", run(*words, status=64).stderr)
        folder, _ = self.copy()  # the other batch's runs of the same unit do not lie beside it
        for log in folder.glob("SU-*.droplog"):
            log.unlink()
        for log in ("four-at-once", "lid"):
            (folder / f"{log}.droplog").unlink()
        shutil.copy(file, folder)
        run(*[folder if word == bench.folder else word for word in words], "--not-accepted")
        found = result("batch", "verify", out, "--logs", folder, "--rehearsal", "--today", "2026-06-01")
        self.assertEqual((found["holds"], found["decision"]), (True, "not_accepted"))
        history = top / "next.batch.json"
        opened = result("batch", "open", history, "--serials", "X-1..X-50", "--profile", "single", "--aql", 4.0, "--history",
                        self.file, "--history", file, "--key", bench.key)
        self.assertEqual(opened["plan"]["severity"], "normal")
        self.assertIn("1 earlier batches", opened["plan"]["severity_reason"])
        (bench.folder / "bad.droplog").unlink()

    def test_ten_adds_at_once_lose_none(self):
        bench, top = self.bench, pathlib.Path(self.room.name)
        file = top / "ten.batch.json"
        serials = [f"T-{number}" for number in range(10)]
        listed = top / "ten.txt"
        listed.write_text("\n".join(serials) + "\n")
        run("batch", "open", file, "--serials-file", listed, "--profile", bench.folder / "short-test.toml", "--n", 10,
            "--accept", 1, "--rehearsal", *bench.signed())
        logs = [bench.log([serial], f"{serial}.droplog") for serial in serials]
        signed = list(map(str, bench.signed()))
        adds = [subprocess.Popen([DROPLEDGER, "batch", "add", file, log, "--calibration", bench.calibration, *signed],
                                 stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) for log in logs]
        for one in adds:
            _, said = one.communicate(timeout=120)
            self.assertEqual(one.returncode, 0, said)
        state = result("batch", "show", file)
        self.assertEqual(sorted(one["unit"] for one in state["runs"]), serials)
        self.assertEqual(sorted(path.name for path in top.iterdir() if path.name.startswith(".")), [])
        for log in logs:
            log.unlink()


unittest.main(argv=sys.argv[:1])

"""An issuer of certificates with a bench of his own, honest and otherwise: what the program's commands, a text editor and
his key let him do. Shares no code with what judges him. Units, faults and times are invented."""
import datetime
import hashlib
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1] / "conformance"))
sys.path.insert(0, str(HERE.parents[2] / "support"))
import ed25519  # noqa: E402
import invented  # noqa: E402
from schemas import held  # noqa: E402

PROFILE = invented.profile("short", least_drops=100, limit=0.12)
RECORD = invented.record("CAL-1")


SERIALS = [f"SU-{number:04}" for number in range(1, 9)]
BAD = 0.70  # of the cells filled: far outside


def stamp(time):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ")


def crc(body):
    """CRC-16/IBM-3740 of a line's body, as four hex digits."""
    value = 0xFFFF
    for byte in body.encode("ascii"):
        value ^= byte << 8
        for _ in range(8):
            value = (value << 1 ^ (0x1021 if value & 0x8000 else 0)) & 0xFFFF
    return f"{value:04X}"


def private_key(file):
    return bytes.fromhex(file.read_text().splitlines()[1])


def signature(secret, message):
    """Ed25519, RFC 8032, section 5.1.6."""
    digest = hashlib.sha512(secret).digest()
    scalar = int.from_bytes(digest[:32], "little") & (2**254 - 8) | 2**254
    public = ed25519.packed(ed25519.times(scalar, ed25519.BASE))
    nonce = int.from_bytes(hashlib.sha512(digest[32:] + message).digest(), "little") % ed25519.ORDER
    commitment = ed25519.packed(ed25519.times(nonce, ed25519.BASE))
    challenge = int.from_bytes(hashlib.sha512(commitment + public + message).digest(), "little") % ed25519.ORDER
    return public, commitment + ((nonce + challenge * scalar) % ed25519.ORDER).to_bytes(32, "little")


def sealed_anew(text, secret, change):
    """A log whose line bodies went through `change` (a list of bodies to a list of bodies), with checks, seals and
    signature made for them: what a holder of the key can write."""
    bodies = change([line[:-5] for line in text.splitlines()])
    last, block, lines, count = bytes(32), hashlib.sha256(bytes(32)), [], 0
    for body in bodies:
        if body.startswith("@seal,"):
            last = block.digest()
            body = f"@seal,{count},{last.hex()}"
            block, count = hashlib.sha256(last), 0
        elif body.startswith("@close,"):
            public, signed = signature(secret, last)
            body = f"@close,{body.split(',')[1]},{public.hex()},{signed.hex()}"
        line = f"{body}*{crc(body)}\n"
        if not body.startswith("@seal,"):
            block.update(line.encode("ascii"))
            count += 1
        lines.append(line)
    return "".join(lines)


class Fraction(str):
    """A number as it stands in a file."""


def read_json(text):
    return json.loads(text, parse_float=Fraction)


def canonical(value):
    """RFC 8785; fractions keep the digits that they were read with."""
    if isinstance(value, dict):
        return "{" + ",".join(f"{json.dumps(key)}:{canonical(value[key])}" for key in sorted(value)) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(canonical, value)) + "]"
    return str(value) if isinstance(value, Fraction) else json.dumps(value, ensure_ascii=False)


class Issuer:
    """A folder with a key, a profile, a calibration, batch files and the logs of a bench that is simulated."""

    def __init__(self, program, scenario, top):
        self.program, self.top, self.logs = program, pathlib.Path(top), pathlib.Path(top) / "logs"
        self.scenario = pathlib.Path(scenario).read_text()
        self.key = self.top / "bench.key"
        self.now = datetime.datetime(2026, 1, 5, 8, 0, 0)
        self.seed = 100
        self.logs.mkdir(parents=True)
        (self.top / "short.toml").write_text(PROFILE)
        self.record = self.logs / "CAL-1.toml"
        self.record.write_text(RECORD)
        self.public_key = self.run("batch", "key", self.key).stdout.strip()

    def run(self, *words, status=0):
        done = subprocess.run([self.program, *map(str, words)], capture_output=True, text=True, timeout=120)
        assert done.returncode == status, (words, done.returncode, done.stdout, done.stderr)
        return done

    def result(self, *words, status=0):
        return held(self.run(*words, "--json", status=status).stdout)

    def later(self, minutes=10):
        self.now += datetime.timedelta(minutes=minutes)
        return stamp(self.now)

    def signed(self):
        return "--key", self.key, "--at", self.later()

    def open(self, name, serials, *more, n=3, accept=0, plan=None, status=0):
        file = self.top / f"{name}.batch.json"
        listed = self.top / f"{name}.txt"
        listed.write_text("\n".join(serials) + "\n")
        words = ("batch", "open", file, "--serials-file", listed, "--profile", self.top / "short.toml",
                 *(plan or ("--n", n, "--accept", accept)), "--rehearsal", *self.signed(), *more)
        if status:
            return self.run(*words, status=status).stderr
        return file, self.result(*words)

    def log(self, unit, name=None, fill=0.985, seed=None, drops=160, started=None, key=None, speed=None):
        """One run of one unit; the bench is free again a few minutes later."""
        self.seed += 1
        scenario = self.top / "scenario.toml"
        scenario.write_text(self.scenario.replace("U-0101", unit) + f"fill = {fill}\n")
        log = self.logs / (name or f"{unit}-{self.seed}.droplog")
        self.run("simulate", "--scenario", scenario, "--log", log, "--drops", drops, "--seed", seed or self.seed, "--key",
                 key or self.key, "--started", started or self.later(), *(["--speed-mps", speed] if speed else []))
        return log

    def add(self, file, *logs, more=(), status=0, record=None):
        return self.run("batch", "add", file, *logs, "--calibration", record or self.record, *self.signed(), *more,
                        status=status)

    def certificate(self, file, *more, status=0):
        out = self.top / (file.name.split(".")[0] + ".certificate.json")
        words = ("batch", "certificate", file, "--logs", self.logs, "--out", out, *self.signed(), *more)
        if status == 64:
            return self.run(*words, status=status).stderr
        found = self.result(*words, status=status)
        return out if status == 0 else {failure["code"] for failure in found["failures"]}

    def evidence(self, file):
        """Puts the batch file where a buyer finds it."""
        (self.logs / file.name).write_bytes(file.read_bytes())

    def verified(self, certificate, *more, status=0, today="2026-06-01", rehearsal=True):
        return self.result("batch", "verify", certificate, "--logs", self.logs, "--today", today,
                           *(["--rehearsal"] if rehearsal else []), *more, status=status)

    def codes(self, certificate, *more, **how):
        found = self.verified(certificate, *more, status=1, **how)
        assert not found["holds"]
        return {failure["code"] for failure in found["failures"]}

    # What a text editor and the key can do beside the program.

    def remade(self, log, change):
        log.write_text(sealed_anew(log.read_text(), private_key(self.key), change))
        return log

    def chain(self, file):
        """The bodies of a batch file's entries."""
        return [read_json(line.rstrip(","))["body"] for line in file.read_text().splitlines() if line.startswith('{"body"')]

    def write_chain(self, file, bodies):
        previous, lines = "0" * 64, []
        for body in bodies:
            text = canonical({**body, "previous": previous})
            public, signed = signature(private_key(self.key), text.encode())
            line = f'{{"body":{text},"public_key":"{public.hex()}","signature":"{signed.hex()}"}}'
            lines.append(line)
            previous = hashlib.sha256(line.encode()).hexdigest()
        file.write_text('{"schema":"dropledger/batch-file/2","entries":[\n' + ",\n".join(lines) + "\n]}\n")

    def forged(self, certificate, change):
        """The certificate with something changed, signed anew."""
        value = read_json(certificate.read_text())
        change(value)
        del value["signature"]
        _, signed = signature(private_key(self.key), canonical(value).encode())
        value["signature"] = signed.hex()
        out = certificate.with_name("forged.json")
        out.write_text(canonical(value))
        return out

    def calibrated(self, name="TWO", log=None):
        """A record of the bench's gate, from a log of a unit that is of no batch, as the program writes it."""
        log = log or self.log("CAL-UNIT", name=f"{name}.droplog", drops=400, started="2026-01-03T08:00:00Z")
        record = self.logs / f"{name}.toml"
        self.run("calibrate", "efficiency", log, "--seen-by", "second", "--write", record, "--id", name, "--date",
                 "2026-01-03", "--expires", "2030-12-31")
        return record, log


class Case(unittest.TestCase):
    program = scenario = None

    def setUp(self):
        self.room = tempfile.TemporaryDirectory()
        self.addCleanup(self.room.cleanup)
        self.me = Issuer(self.program, self.scenario, pathlib.Path(self.room.name) / "works")

    def batch(self, *more, fills=None, n=3, accept=0, record=None):
        """A batch whose chosen units are tested; `fills`: of the first ones, by their place in the choice."""
        file, opened = self.me.open("spring", SERIALS, *more, n=n, accept=accept)
        logs = [self.me.log(unit, fill=fill) for unit, fill in zip(opened["chosen"], (fills or []) + [0.985] * n)]
        self.me.add(file, *logs, record=record)
        return file, opened["chosen"], logs

    def certified(self, *more, **how):
        file, _, _ = self.batch(*more, **how)
        return self.issued(file)

    def issued(self, file):
        self.me.run("batch", "decide", file, *self.me.signed())
        certificate = self.me.certificate(file)
        self.me.evidence(file)
        return file, certificate

    def remarks(self, certificate):
        return " ".join(self.me.verified(certificate)["remarks"])

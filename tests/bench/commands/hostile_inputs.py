"""Files made to exhaust or end their reader: nested, endless, or with numbers that cannot be. Each is (words of the
command, exit statuses that are an answer); FILE in the words stands for the file. Written apart from the product.

hostile(folder) yields (title, words, statuses, what a refusal must name); endless(folder) yields (title, the shell
command whose output never ends, words that read it from -, statuses)."""
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "analysis/audit"))
from nasty_logs import sealed  # noqa: E402

DEEP = 32_500
REFUSED = {65}
ANSWERED = {0, 1, 2, 65}


def nested_toml():
    yield "arrays", "a = " + "[" * DEEP + "]" * DEEP + "\n"
    yield "tables in a line", "a = " + "{a = " * DEEP + "1" + "}" * DEEP + "\n"
    yield "a dotted key", "a." * DEEP + "a = 1\n"
    yield "a dotted header", "[" + "a." * DEEP + "a]\n"
    yield "a dotted list", "[[" + "a." * DEEP + "a]]\n"
    yield "an endless text", 'a = """' + "x" * 3_000_000
    yield "a million keys", "".join(f"k{i} = 1\n" for i in range(200_000))


def toml_readers(spacings):
    yield "profile", ["audit", "--spacings", spacings, "--spacing-mm", "180", "--profile", "FILE"]
    yield "mapping", ["field", spacings, "--mapping", "FILE"]
    yield "scenario", ["simulate", "--scenario", "FILE", "--log", "/dev/null"]
    yield "settings", ["run", "--settings", "FILE", "--log", "FILE.droplog"]


def logs():
    """A header of one channel, with one setting beyond all measure."""
    beyond = 9_000_000_000_000_000_000
    for key in ("cells", "row", "lead_us", "gate1_fall_us", "gate1_dead_us"):
        yield key, log({}, {key: beyond}, [])
    for key in ("spacing_um", "count", "speed_um_s", "rate_per_m_milli"):
        yield key, log({key: beyond}, {}, [])
    for key in ("cells", "row"):
        yield f"{key} within four bytes", log({}, {key: 2_000_000_000}, [])


def log(settings, channel, lines):
    of_run = {"mode": "single", "spacing_um": 100_000, "count": 1, "speed_um_s": 250_000} | settings
    of_channel = {"unit": "U", "gate0_place": "below", "gate1_place": "below"} | channel
    head = ["@droplog,1,00000000-0000-4000-8000-000000000001,2026-01-01T00:00:00Z"]
    head += [f"@set,{key},{value}" for key, value in of_run.items()]
    head += [f"@channel,0,{key},{value}" for key, value in of_channel.items()]
    return b"".join(sealed(line) for line in head + ["hello,0,0,1,b1,1,fw"] + lines)


def far_gates():
    """Eight lines: no pulse of one gate within a second of the other's, though the settings promise a long flight."""
    pulses = [(0, 0), (100_000, 0), (200_000, 0), (3_000_000, 1), (3_100_000, 1), (3_200_000, 1)]
    lines = [f"pulse,{i + 1},{time},0,{gate},700,500" for i, (time, gate) in enumerate(pulses)]
    return log({}, {"gate0_fall_us": 3_000_000, "gate1_fall_us": 0}, lines)


def many_rows(count, column):
    rows = [f"{i if column == 'pass' else 1},{i if column == 'row' else 1},{drop},{drop},{i},1,{(i + drop) % 3 > 0:d}"
            for i in range(count) for drop in range(3)]
    return "pass,row,drop,east_m,north_m,target,seen\n" + "\n".join(rows) + "\n"


def units(sizes):
    return "unit,n,misses\n" + "".join(f"U{i},{n},{n // 20 + i}\n" for i, n in enumerate(sizes))


def tables():
    yield "units of 32,768", units([32_768] * 20), ["batch", "units", "FILE"], {0}
    yield "units of a million", units([1_000_000 + 1000 * i for i in range(50)]), ["batch", "units", "FILE"], {0}
    yield "units of a thousand million", units([10**9] * 3), ["batch", "units", "FILE"], {0}
    yield "units of a million million", units([10**12] * 3), ["batch", "units", "FILE"], REFUSED
    yield "units beyond counting", units([9 * 10**18] * 3), ["batch", "units", "FILE"], REFUSED
    yield "20,000 rows", many_rows(20_000, "row"), ["field", "FILE"], REFUSED
    yield "100,000 passes", many_rows(100_000, "pass"), ["field", "FILE"], REFUSED
    yield "15,000 passes", many_rows(15_000, "pass"), ["field", "FILE"], ANSWERED
    yield "one endless line", "x," * 20_000_000, ["field", "FILE"], REFUSED
    yield "open quotes", "pass,row\n" + '"\n""\n' * 500_000, ["field", "FILE"], REFUSED
    yield "open quotes of a list", "spacing_mm\n" + '"x\n""\n' * 500_000, [
        "audit", "--spacings", "FILE", "--spacing-mm", "180"], REFUSED
    yield "an endless line of a list", "spacing_mm\n" + "1" * 50_000_000, [
        "audit", "--spacings", "FILE", "--spacing-mm", "180"], REFUSED
    yield "leads beyond measure", "speed_mps,error_mm,u_mm,direction,lead_us\n" + "".join(
        f"{s},1e11,1,1,{9 * 10**18}\n" for s in (1, 2, 3)), ["calibrate", "lead", "--csv", "FILE"], {64, 65}


def json_files():
    arrays = "[" * 200_000 + "]" * 200_000
    yield "arrays", '{"schema": ' + arrays + "}"
    yield "objects", '{"schema":' * 200_000
    yield "an endless text", '{"schema": "' + "x" * 10_000_000


def hostile(folder):
    folder = Path(folder)

    def file(name, content):
        path = folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)

    def named(words, path):
        return [word.replace("FILE", path) for word in words]

    spacings = file("spacings.csv", "spacing_mm\n180\n181\n")
    for kind, text in nested_toml():
        path = file("nested.toml", text)
        for reader, words in toml_readers(spacings):
            yield f"{reader}: {kind}", named(words, path), REFUSED, "nested.toml"
    huge = folder / "huge.toml"
    huge.touch()
    with huge.open("r+b") as out:
        out.truncate(1 << 30)
    for reader, words in toml_readers(spacings):
        yield f"{reader} of a gibibyte", named(words, str(huge)), REFUSED, "huge.toml"
    for key, content in logs():
        yield f"log with {key}", ["audit", file("one.droplog", content)], REFUSED, f"setting {key.split()[0]}"
    yield "gates three seconds apart", ["calibrate", "efficiency", file("far.droplog", far_gates())], ANSWERED, ""
    for title, text, words, statuses in tables():
        yield title, named(words, file("table.csv", text)), statuses, "table.csv"
    for kind, text in json_files():
        path = file("hostile.json", text)
        yield f"batch file: {kind}", ["batch", "show", path], REFUSED, "hostile.json"
        yield f"certificate to print: {kind}", ["batch", "print", path, "--out", path + ".pdf"], REFUSED, "hostile.json"
        yield f"certificate: {kind}", ["batch", "verify", path, "--logs", str(folder)], {1, 65}, ""
    yield "a hand count beyond counting", ["calibrate", "efficiency", "--dropped", str(9 * 10**18), "--seen", "5"], {64}, "hand count"


def readers_of_standard_input(folder):
    """What may be read from -, each as a whole command."""
    log, spacings = folder / "whole.droplog", folder / "spacings.csv"
    for name in ("check", "audit", "calibrate efficiency", "calibrate classifier", "calibrate lead", "calibrate gauge", "field",
                 "batch units", "batch variables", "batch show", "batch trend"):
        yield name, [*name.split(), "-"]
    yield "book", ["book", "add", "-", "--book", folder / "new.book"]
    yield "spacings", ["audit", "--spacings", "-", "--spacing-mm", "180"]
    yield "calibration", ["audit", log, "--calibration", "-"]
    yield "mapping", ["field", spacings, "--mapping", "-"]
    yield "a log of landings", ["calibrate", "flight", "--log", "-", "--csv", spacings]
    yield "landings", ["calibrate", "flight", "--csv", "-"]
    yield "leads", ["calibrate", "lead", "--csv", "-"]
    yield "serials", ["batch", "open", folder / "new.batch.json", "--serials-file", "-", "--profile", "single", "--aql", "1.0",
                      "--key", folder / "bench.key"]
    yield "certificate to print", ["batch", "print", "-", "--out", folder / "new.pdf"]
    yield "certificate", ["batch", "verify", "-", "--logs", folder]
    yield "settings", ["run", "--settings", "-", "--port", "/dev/null"]
    yield "scenario", ["simulate", "--scenario", "-", "--log", folder / "new.droplog"]


def endless(folder):
    folder = Path(folder)
    pulses = [f"pulse,{i + 1},{100_000 * i},0,1,700,500" for i in range(20)]
    (folder / "whole.droplog").write_bytes(log({}, {"gate1_fall_us": 0}, pulses))
    (folder / "spacings.csv").write_text("spacing_mm\n180\n181\n")
    key = folder / "bench.key"
    key.touch(0o600)
    key.write_text("dropledger bench key, Ed25519, private: who has it can sign in your name\n" + "5" * 64 + "\n")
    for reader, words in readers_of_standard_input(folder):
        for title, text in (("lines", "yes"), ("a line", "cat /dev/zero")):
            yield f"endless {title}: {reader}", text, list(map(str, words)), {64, 65}
    header = "pass,row,drop,east_m,north_m,target,seen"
    for title, text, words in (
            ("rows of a field", f"echo {header}; yes 1,1,1,0,0,1,1", ["field", "-"]),
            ("spacings", "echo spacing_mm; yes 180", ["audit", "--spacings", "-", "--spacing-mm", "180"]),
            ("units", "echo unit,n,misses; yes U1,100,1", ["batch", "units", "-"]),
            ("values", "echo value; yes 1.5", ["batch", "variables", "-", "--upper", "2"]),
            ("serials", "yes SU-1", ["batch", "open", str(folder / "new.batch.json"), "--serials-file", "-", "--profile", "single",
                                     "--aql", "1.0", "--key", str(folder / "bench.key")])):
        yield f"endless good {title}", text, words, {65}

"""One line of the format, from analysis/droplog/README.md alone: sections 2 and 3.1. Shares no code with the product."""

import dataclasses
import re
import urllib.parse

LONGEST = 240  # bytes with the LF
MOST_DIGITS = 18
GREATEST_SIGNED = 9 * 10**17
GREATEST_TIME_US = 10**18 - 1


def _shifted(crc):
    for _ in range(8):
        crc = ((crc << 1) ^ 0x1021) & 0xFFFF if crc & 0x8000 else crc << 1
    return crc


_TABLE = [_shifted(byte << 8) for byte in range(256)]


def crc16(data):
    """CRC-16/IBM-3740: polynomial 0x1021, initial 0xFFFF, not reflected, no final xor."""
    crc = 0xFFFF
    for byte in data:
        crc = ((crc << 8) & 0xFFFF) ^ _TABLE[(crc >> 8) ^ byte]
    return crc


def encode(body):
    """The line of a body, with its check and without LF."""
    data = body.encode("ascii")
    line = data + b"*%04X" % crc16(data)
    assert 0 < len(data) and len(line) + 1 <= LONGEST, body
    return line


def quote(text):
    data = text if isinstance(text, bytes) else text.encode()
    return "".join(chr(b) if 0x20 <= b < 0x7F and chr(b) not in ",*%" else f"%{b:02X}" for b in data)


def unquote(text):
    return urllib.parse.unquote_to_bytes(text)


# Shapes of fields: u8, u16, u32; s signed; c a channel or -1; t text, not empty; a anything; n a time; t? may be missing.
CONTROLLER = {
    "hello": ["u32", "t", "u32", "t"], "travel": ["s"], "drop": ["u8", "u32", "s", "u32"],
    "pulse": ["u8", "u16", "u32", "u16"], "beat": ["u32", "u32"], "fault": ["c", "t"], "armed": [], "started": [],
    "halted": ["t?"], "refused": ["t"],
}
HOST = {
    "@droplog": ["a", "a", "a"], "@set": ["a", "a"], "@channel": ["u8", "a", "a"], "@sent": ["a"], "@confirmed": ["n"],
    "@at": ["u32", "n"], "@note": ["a"], "@damaged": ["a"], "@resumed": ["n"], "@seal": ["a", "a"], "@ending": ["a"],
    "@close": ["a", "a", "a"],
}
_LIMITS = {"u8": (0, 0xFF), "u16": (0, 0xFFFF), "u32": (0, 0xFFFFFFFF), "s": (-GREATEST_SIGNED, GREATEST_SIGNED),
           "c": (-1, 0xFF), "n": (-GREATEST_TIME_US, GREATEST_TIME_US)}
_NUMBER = re.compile(r"(-?)([0-9]{1,%d})" % MOST_DIGITS)


def number(text, low, high):
    """The number that a field states, or None."""
    found = _NUMBER.fullmatch(text)
    if not found or (found[1] and low >= 0):
        return None
    value = int(text)
    return value if low <= value <= high else None


def fits(text, shape):
    if shape in ("t", "t?"):
        return text != ""
    return shape == "a" or number(text, *_LIMITS[shape]) is not None


@dataclasses.dataclass
class Line:
    """`kind` is damaged, host or controller; `known` says whether the name is of this version."""

    kind: str = "damaged"
    known: bool = False
    body: str = ""
    fields: list = dataclasses.field(default_factory=list)
    seq: int = 0
    tick: int = 0
    extra: bool = False

    @property
    def name(self):
        return self.fields[0] if self.fields else ""


def body_of(line):
    """The body of a line without its LF where length, bytes and check are right, else None."""
    line = line[:-1] if line.endswith(b"\r") else line
    if not 6 <= len(line) < LONGEST or any(not 0x20 <= byte < 0x7F for byte in line):
        return None
    body, check = line[:-5], line[-5:]
    return body.decode() if check == b"*%04X" % crc16(body) else None


def _shaped(fields, first, shapes):
    present = fields[first:]
    needed = [shape for shape in shapes if not shape.endswith("?")]
    return len(present) >= len(needed) and all(map(fits, present, shapes))


def decode(line):
    body = body_of(line)
    if body is None or body.startswith(","):
        return Line()
    fields = body.split(",")
    if fields[0].startswith("@"):
        shapes = HOST.get(fields[0])
        other_version = fields[0] == "@droplog" and len(fields) > 1 and fields[1] not in ("", "1")
        if shapes is not None and not other_version and not _shaped(fields, 1, shapes):
            return Line()
        return Line("host", shapes is not None, body, fields, extra=shapes is not None and len(fields) - 1 > len(shapes))
    return _decode_controller(body, fields)


def _decode_controller(body, fields):
    shapes = CONTROLLER.get(fields[0])
    numbered = len(fields) > 2 and fits(fields[1], "u32") and fits(fields[2], "u32")
    if shapes is None:
        if not numbered:
            return Line("host", False, body, fields)  # takes no part in the sequence
        return Line("controller", False, body, fields, int(fields[1]), int(fields[2]))
    if not numbered or not _shaped(fields, 3, shapes):
        return Line()
    return Line("controller", True, body, fields, int(fields[1]), int(fields[2]), len(fields) - 3 > len(shapes))

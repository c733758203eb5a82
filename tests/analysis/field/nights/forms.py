"""The forms in which machines write their tables: each takes the rows of a good table and gives the text of another form.

Rows are lists of texts in the order of `night.HEADER`. Written from the trade: what units, terminals and spreadsheets do."""
import datetime

from night import HEADER

TIME, PASS, ROW, DROP, LAT, LON, TARGET, SEEN, ALERT = range(9)


def joined(rows, header=HEADER, separator=",", end="\n"):
    return end.join(separator.join(one) for one in [header, *rows]) + end


def changed(rows, column, change):
    return [[change(one[i]) if i == column else one[i] for i in range(len(one))] for one in rows]


def clock(text, form):
    return datetime.datetime.fromtimestamp(float(text), datetime.timezone.utc).strftime(form)


def as_utf8(text):
    return text.encode()


# Read as they are: the audit must come out the same. Values: bytes of the table.
SAME = {
    "plain": lambda rows: as_utf8(joined(rows)),
    "UTF-16 with its mark": lambda rows: joined(rows).encode("utf-16"),
    "UTF-16 big end first, no mark": lambda rows: joined(rows).encode("utf-16-be"),
    "title lines": lambda rows: as_utf8("Seed report; machine 7\n\nWritten on 14.04.2026, 8 rows\n" + joined(rows)),
    "Latin-1 title": lambda rows: "Gro\u00dfer Acker\n".encode("latin-1") + joined(rows).encode("latin-1"),
    "upper case": lambda rows: as_utf8(joined(rows, [name.upper() for name in HEADER])),
    "trailing separators": lambda rows: as_utf8(joined(rows).replace("\n", ",\n")),
    "trailing separators below the header": lambda rows: as_utf8(joined([one + ["", ""] for one in rows])),
    "semicolons and decimal commas": lambda rows: as_utf8(
        joined([[cell.replace(".", ",") for cell in one] for one in rows], separator=";")),
    "tabulators": lambda rows: as_utf8(joined(rows, separator="\t")),
    "Windows line ends": lambda rows: as_utf8(joined(rows, end="\r\n")),
    "days first": lambda rows: as_utf8(joined(changed(rows, TIME, lambda text: clock(text, "%d.%m.%Y %H:%M:%S")))),
    "milliseconds since 1970": lambda rows: as_utf8(joined(changed(rows, TIME, lambda text: f"{float(text) * 1000:.0f}"))),
    "no date": lambda rows: as_utf8(joined(changed(rows, TIME, lambda text: clock(text, "%H:%M:%S")))),
    "alerts in words": lambda rows: as_utf8(joined(changed(rows, ALERT, lambda text: "yes" if text == "1" else "no"))),
    "alerts by the machine's own word": lambda rows: as_utf8(joined(changed(
        rows, ALERT, lambda text: "E17" if text == "1" else ""))),
    "seen in words": lambda rows: as_utf8(joined(changed(rows, SEEN, lambda text: "no" if text == "0" else "yes"))),
    "alerts with codes": lambda rows: as_utf8(joined(changed(rows, ALERT, lambda text: "17" if text == "1" else ""))),
    "unreadable times": lambda rows: as_utf8(joined(
        [[("soon" if i % 97 == 0 else one[TIME]), *one[1:]] for i, one in enumerate(rows)])),
    "from the last row to the first": lambda rows: as_utf8(joined(rows[::-1])),
    "names of rows": lambda rows: as_utf8(joined(changed(rows, ROW, lambda text: f"A{text}"))),
    "names of passes": lambda rows: as_utf8(joined(changed(rows, PASS, lambda text: f"F1-{text}"))),
}


def without_fix(rows):
    return [[*one[:LAT], "0", "0", *one[TARGET:]] if i % 211 == 0 else one for i, one in enumerate(rows)]


def with_jumps(rows):
    return [[*one[:LAT], f"{float(one[LAT]) + 0.3:.8f}", *one[LON:]] if i % 211 == 0 else one
            for i, one in enumerate(rows)]


# Places that cannot be cost the place, not the drop: counted, and the alerts judged alike.
PLACES = {"0,0 where there was no fix": without_fix, "jumps that no machine drives": with_jumps}


def swapped(rows):
    """Of a field further east, where either way round is a place on earth."""
    east = 10.0 - round(float(rows[0][LON]))
    return [[*one[:LAT], f"{float(one[LON]) + east:.8f}", one[LAT], *one[TARGET:]] for one in rows]


def tramlined(rows):
    """Every third pass of row 2 is closed: nothing commanded, nothing seen."""
    return [[*one[:TARGET], "0", "0", "0"] if one[ROW] == "2" and int(one[PASS]) % 3 == 0 else one for one in rows]


def from_one_end(rows):
    """On every second pass the numbers count down."""
    most = {}
    for one in rows:
        most[one[PASS]] = max(most.get(one[PASS], 0), int(one[DROP]))
    return [[*one[:DROP], str(most[one[PASS]] - int(one[DROP])) if int(one[PASS]) % 2 == 0 else one[DROP], *one[LAT:]]
            for one in rows]


def silent(one):
    return one[SEEN] == "0"


# Tables that may mean two things: refused with 65 and a question; the words that answer it, where any do.
ASKED = {
    "targets all 0": (lambda rows: changed(rows, TARGET, lambda _: "0"), "target", []),
    "blank seen on the silent drops": (
        lambda rows: [[*one[:SEEN], "", one[ALERT]] if silent(one) else one for one in rows],
        "--blank-means none", ["--blank-means", "none"]),
    "every second drop": (lambda rows: [one for one in rows if int(one[DROP]) % 2 == 0], "--drop-step",
                          ["--drop-step", "2"]),
    "silent rows left out": (lambda rows: [one for one in rows if not silent(one)], "--lacking-drops",
                             ["--lacking-drops", "silent"]),
    "written twice": (lambda rows: rows + rows, "stands already", ["--accept", "duplicates"]),
    "swapped lat and lon": (swapped, "swapped", ["--accept", "swapped", "--accept", "spacing"]),
    "a word at every alert": (lambda rows: changed(rows, ALERT, lambda text: "miss" if text == "1" else "normal"), "alert",
                              []),
    "an alert where all is well": (lambda rows: changed(rows, ALERT, lambda text: "0" if text == "1" else "1"),
                                   "all is well", ["--accept", "alerts"]),
    "drops numbered from one end of the field": (from_one_end, "numbered from one end", ["--accept", "times"]),
    "times in days": (lambda rows: changed(rows, TIME, lambda text: f"{float(text) / 86400 + 25569:.8f}"), "[units]",
                      ["--accept", "times"]),
    "seen above target": (lambda rows: changed(rows, SEEN, lambda _: "3"), "more seeds are seen", []),
    "coarse places": (lambda rows: [[*one[:LAT], f"{float(one[LAT]):.4f}", f"{float(one[LON]):.4f}", *one[TARGET:]]
                                    for one in rows], "coarse", ["--accept", "coarse-places"]),
}

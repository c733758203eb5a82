#!/usr/bin/python3
"""What `dropledger audit` prints and draws, held against its promises on virtual runs of every mode.

The JSON fits audit.schema.json; the page is well-formed XML, its ids are unique, its inner links lead somewhere, it
asks for nothing from a network; and its estimates are those of the JSON, rounded.

usage: check_outputs.py PROGRAM SCENARIO_FOLDER    exit 0 all hold, 1 some do not
"""
import json
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "support"))
from schemas import misfits, schema_of  # noqa: E402

SCENARIOS = ["healthy", "double_feeding", "portion_short", "line_clumpy", "six_units"]
SPACINGS = "spacing_mm\n" + "\n".join(str(180 + 7 * (i % 5) - 14 + (180 if i % 9 == 0 else 0)) for i in range(80)) + "\n"


def page_problems(page):
    try:
        root = ElementTree.fromstring(page.split("\n", 1)[1])
    except ElementTree.ParseError as problem:
        return [f"page is not well-formed: {problem}"], None
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    problems = [f"id {name} stands twice" for name in set(ids) if ids.count(name) > 1]
    for element in root.iter():
        for key in ("href", "src", "for"):
            target = element.get(key)
            if target and target.lstrip("#") not in ids:
                problems.append(f"{element.tag} leads to {target}, which is not on the page")
    for reference in re.findall(r"url\(#([\w-]+)\)", page):
        if reference not in ids:
            problems.append(f"pattern {reference} is not on the page")
    if re.search(r"https?:|@import|src=", page):
        problems.append("the page asks for something outside itself")
    return problems, root


def shown_values(root):
    """(value, decimals) of every first number cell of the tables of quantities."""
    shown = []
    for table in root.iter("table"):
        if table.get("class") != "stack full":
            continue
        for row in table.iter("tr"):
            cells = [cell for cell in row if cell.get("class") == "n"]
            text = "".join(cells[0].itertext()) if cells else ""
            if match := re.match("^(\u2212?[0-9.]+)(\u00a0%)?", text):
                digits = match[1].replace("\u2212", "-")
                shown.append((float(digits) / (100 if match[2] else 1), len(digits.partition(".")[2]) + (2 if match[2] else 0)))
    return shown


def estimates(value):
    if isinstance(value, dict):
        if {"value", "low", "high", "method"} <= value.keys():
            yield value["value"]
        for inner in value.values():
            yield from estimates(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from estimates(inner)


def number_problems(root, audit):
    known = list(estimates(audit["channels"]))
    shown = shown_values(root)
    problems = [] if len(shown) >= 4 else [f"only {len(shown)} numbers on the page"]
    for value, decimals in shown:
        if not any(abs(value - one) <= 0.5000001 * 10.0**-decimals for one in known):
            problems.append(f"the page shows {value}, which no estimate of the JSON rounds to")
    return problems


def audit_of(program, folder, name, arguments):
    page = folder / f"{name}.html"
    done = subprocess.run([program, "audit", *arguments, "--json", "--html", str(page)], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1, 2):
        return None, "", f"exit {done.returncode}: {done.stderr}"
    return json.loads(done.stdout), page.read_text(encoding="utf-8"), ""


def problems_of(program, folder, name, arguments, schema):
    audit, page, failure = audit_of(program, folder, name, arguments)
    if failure:
        return [failure]
    problems = misfits(audit, schema, schema)
    on_page, root = page_problems(page)
    problems += on_page
    return problems + (number_problems(root, audit) if root is not None else [])


def main():
    program, scenarios = sys.argv[1:3]
    schema = schema_of("audit")
    failed = False
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cases = {}
        for scenario in SCENARIOS:
            log = folder / f"{scenario}.droplog"
            subprocess.run([program, "simulate", "--scenario", f"{scenarios}/{scenario}.toml", "--log", str(log)],
                           check=True, capture_output=True)
            cases[scenario] = [str(log)]
        tape = folder / "tape.csv"
        tape.write_text(SPACINGS, encoding="utf-8")
        cases["spacings"] = ["--spacings", str(tape), "--spacing-mm", "180"]
        for case, arguments in cases.items():
            problems = problems_of(program, folder, case, arguments, schema)
            failed |= bool(problems)
            print(f"{case}: {'holds' if not problems else len(problems)}")
            for problem in problems[:20]:
                print(f"  {problem}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

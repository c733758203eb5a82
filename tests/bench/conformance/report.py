"""What both players report: each case with its section, what was sent, what the text wants, what came."""

import dataclasses
import json
import textwrap

KEPT = 12  # lines of the conversation that a failed case shows


class Failed(Exception):
    def __init__(self, expected, got):
        super().__init__(f"expected {expected}, got {got}")
        self.expected, self.got = expected, got


class Skipped(Exception):
    """The case needs what this run cannot give."""


@dataclasses.dataclass
class Case:
    section: str
    title: str
    play: object
    slow: bool = False


@dataclasses.dataclass
class Outcome:
    section: str
    title: str
    verdict: str  # pass, FAIL, skipped, deviates
    expected: str = ""
    got: str = ""
    conversation: list = dataclasses.field(default_factory=list)


def case(cases, section, title, slow=False):
    """Enters the decorated function as a case."""
    def enter(play):
        cases.append(Case(section, title, play, slow))
        return play
    return enter


def names_in(path):
    """A file of cases, `SECTION: TITLE` a line; `#` begins a remark."""
    if not path:
        return set()
    with open(path, encoding="utf-8") as file:
        return {line.strip() for line in file if line.strip() and not line.startswith("#")}


def play(cases, stage, known=frozenset(), say=print):
    """Plays each case on `stage(case)`, a context manager that yields what the case is given; returns the outcomes."""
    outcomes = []
    for one in cases:
        outcome = Outcome(one.section, one.title, "pass")
        try:
            with stage(outcome) as player:
                one.play(player)
        except Failed as failure:
            outcome.verdict, outcome.expected, outcome.got = "FAIL", failure.expected, failure.got
        except Skipped as reason:
            outcome.verdict, outcome.got = "skipped", str(reason)
        _hold_against(outcome, known)
        say(line_of(outcome))
        outcomes.append(outcome)
    return outcomes


def _hold_against(outcome, known):
    if f"{outcome.section}: {outcome.title}" not in known:
        return
    if outcome.verdict == "FAIL":
        outcome.verdict = "deviates"
    elif outcome.verdict == "pass":
        outcome.verdict, outcome.expected, outcome.got = "FAIL", "the known deviation", "conformance: strike it off the list"


def line_of(outcome):
    text = f"{outcome.verdict:9} {outcome.section:5} {outcome.title}"
    if outcome.verdict == "skipped":
        return f"{text} ({outcome.got})"
    if outcome.verdict not in ("FAIL", "deviates"):
        return text
    said = textwrap.indent("\n".join(outcome.conversation[-KEPT:]), " " * 20)
    return f"{text}\n{'expected':>18}  {outcome.expected}\n{'got':>18}  {outcome.got}\n" + (
        f"{'conversation':>18}\n{said}" if said else "")


def summary(outcomes, device):
    count = {verdict: sum(one.verdict == verdict for one in outcomes) for verdict in ("pass", "FAIL", "deviates", "skipped")}
    return (f"{device}: {len(outcomes)} cases: {count['pass']} passed, {count['FAIL']} failed, {count['deviates']} known "
            f"deviations, {count['skipped']} skipped")


def finish(outcomes, device, json_path=None):
    """Prints the summary, writes the report as JSON where asked; returns the exit status."""
    print(summary(outcomes, device))
    if json_path:
        with open(json_path, "w", encoding="utf-8") as file:
            json.dump({"device": device, "cases": [dataclasses.asdict(one) for one in outcomes]}, file, indent=1)
    nothing_shown = not any(one.verdict in ("pass", "deviates") for one in outcomes)
    return 1 if nothing_shown or any(one.verdict == "FAIL" for one in outcomes) else 0

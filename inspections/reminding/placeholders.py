"""A fleet's own words with names in braces. A strict list, and nothing else is ever evaluated.

``{fleet}`` stands for what its name says; ``{{`` and ``}}`` for a brace. Anything else in braces is
a fault that says where it is and what would be right.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

KNOWN = {
    "fleet": "the name of the fleet",
    "name": "the name of who is written to",
    "date": "the day of the message",
    "count": "how many things are to be done",
    "late": "how many of them are late",
    "boats": "the boats in the message",
}
PIECE = re.compile(r"\{\{|\}\}|\{([^{}\n]*)\}|[{}]")
LONGEST = {"subject": 120, "opening": 1000, "closing": 1000}


@dataclass(frozen=True)
class Fault:
    """What is wrong with a text, where (line and column from 1), and what to do."""

    line: int
    column: int
    sentence: str

    def __str__(self) -> str:
        return f"Line {self.line}, column {self.column}: {self.sentence}"


def faults(text: str, piece: str) -> list[Fault]:
    """Return all that is wrong with a text for that piece of a message."""
    found = [fault for match in PIECE.finditer(text) if (fault := _fault(text, match))]
    if piece == "subject" and "\n" in text.strip():
        found.append(Fault(1, text.strip().index("\n") + 1, "A subject is one line."))
    if len(text) > LONGEST[piece]:
        words = f"It has {len(text)} characters; {LONGEST[piece]} is the most here."
        found.append(Fault(*_where(text, LONGEST[piece]), words))
    return found


def fill(text: str, values: Mapping[str, object]) -> str:
    """Return the text with its names replaced. Raises ValueError where ``faults`` finds one."""

    def put(match: re.Match) -> str:
        if match[0] in ("{{", "}}"):
            return match[0][0]
        if fault := _fault(text, match):
            raise ValueError(str(fault))
        return str(values[match[1]])

    return PIECE.sub(put, text)


def _fault(text: str, match: re.Match) -> Fault | None:
    if match[0] in ("{{", "}}") or match[1] in KNOWN:
        return None
    where = _where(text, match.start())
    if match[1] is None:
        double = match[0] * 2
        return Fault(*where, f"A single {match[0]}: write {double} for the brace itself.")
    known = ", ".join(f"{{{name}}}" for name in KNOWN)
    return Fault(*where, f"There is no {match[0]} to put in. What can be put in: {known}.")


def _where(text: str, at: int) -> tuple[int, int]:
    before = text[:at]
    return before.count("\n") + 1, at - (before.rfind("\n") + 1) + 1

"""The signs of a fleet as the page "Signs and limits" shows them, by where each is seen."""

import datetime as dt
from dataclasses import dataclass

from ..criteria import Criteria, Sign
from ..criteria.changes import may_change
from ..criteria.words import Answer, answers, tools


@dataclass(frozen=True)
class SignLine:
    """One sign with its verdicts, its tools, and since when its rule is the fleet's own."""

    sign: Sign
    answers: list[Answer]
    tools: str
    own_since: dt.date | None
    may_change: bool


@dataclass(frozen=True)
class Group:
    """The signs seen at one place. ``anchor``: its name in the address of the page."""

    where: str
    anchor: str
    lines: list[SignLine]


def groups(criteria: Criteria, own_since: dict[str, dt.date]) -> list[Group]:
    """Return every sign once, in the order of the book."""
    by_where: dict[str, list[SignLine]] = {}
    for sign in criteria.signs:
        line = SignLine(
            sign,
            answers(sign),
            ", ".join(tools(sign)),
            own_since.get(sign.code),
            may_change(sign),
        )
        by_where.setdefault(sign.where, []).append(line)
    return [
        Group(where[:1].upper() + where[1:], f"at-{number}", lines)
        for number, (where, lines) in enumerate(by_where.items(), 1)
    ]

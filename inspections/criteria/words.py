"""A sign in words: what it leads to and when, its limit, and what an inspector looks with."""

import re
from dataclasses import dataclass

from inspections.criteria.sign import Measure, Sign

REFERENCES = {"wire": "of the single wire", "pin": "of the pin", "thread": "of the thread"}

# A rigger looks at what is suspect within this time, unless the sign is one that always refers.
REFER_DAYS = 14

# What the words of "where to look" name; "light brown" is a colour and no lamp.
_TOOLS = {
    "rag": r"rag\b",
    "light": r"light\b(?! brown)",
    "loupe": r"loupe",
    "penetrant": r"penetrant",
    "mirror": r"mirror",
    "brush": r"brush",
    "polish": r"[Pp]olish",
    "straight edge": r"straight edge",
    "callipers": r"[Cc]allipers",
    "spike": r"spike",
    "gloves": r"gloves",
}


@dataclass(frozen=True)
class Answer:
    """One verdict a sign can lead to: `when` it does, and within how many days to look again."""

    value: str
    when: str
    again_days: int | None


def value_word(value: str) -> str:
    return value.replace("_", " ")


def answers(sign: Sign) -> list[Answer]:
    """The verdicts of a sign, its worst first, each with what turns it into that one."""
    pairs = _PAIRS[sign.rule](sign)
    return [Answer(value, when, again_days(sign, value)) for value, when in pairs]


def again_days(sign: Sign, value: str) -> int | None:
    """Days until the next look after that verdict, None where it asks for none."""
    if value not in ("watch", "refer"):
        return None
    own = value == "watch" or sign.outcome == "refer"
    return (sign.again_days if own else None) or REFER_DAYS


def _plain(sign: Sign) -> list[tuple[str, str]]:
    return [(sign.outcome, "")]


def _measured(sign: Sign) -> list[tuple[str, str]]:
    if not sign.has_limit:
        return [("refer", "always: no limit is set, so it is not assessed")]
    return [
        (sign.outcome, limit(sign.measure)),
        (sign.milder, "otherwise"),
        (sign.unknown, "if it was not measured"),
    ]


def _remedied(sign: Sign) -> list[tuple[str, str]]:
    back = ", or comes back" if sign.returns else ""
    return [
        (sign.outcome, f"if it does not come away{back}"),
        (sign.milder, "if it comes away" + (", the first time" if sign.returns else "")),
        (sign.unknown, "if nobody says whether it comes away"),
    ]


def _growing(sign: Sign) -> list[tuple[str, str]]:
    return [
        (sign.outcome, "if there is more than before"),
        (sign.milder, "the first time, or no more than before"),
        (sign.unknown, "if it was seen before and cannot be compared"),
    ]


_PAIRS = {"plain": _plain, "measured": _measured, "remedy": _remedied, "growth": _growing}


def meaning(sign: Sign) -> str:
    """What a sign leads to in one line, with what turns it into something milder."""
    worst, milder = value_word(sign.outcome), value_word(sign.milder)
    if sign.rule == "plain":
        return worst
    if sign.rule == "growth":
        return f"{milder} the first time, {worst} if there is more than before"
    if sign.rule == "remedy":
        back = " or comes back" if sign.returns else ""
        return f"{milder} if it comes away, {worst} if it does not{back}"
    return f"{worst} {limit(sign.measure)}, else {milder}"


def limit(measure: Measure) -> str:
    """The fleet's limit as words, e.g. `from 1 mm` or `under 1.5 times the diameter of the pin`."""
    if measure.limit is None:
        return "at a limit the fleet has not set"
    side = "under" if measure.worse == "less" else "from" if measure.at_limit else "over"
    if measure.worse == "less" and measure.at_limit:
        side = "at or under"
    return f"{side} {amount(measure)}"


def amount(measure: Measure) -> str:
    """The number of the limit with its unit, or `not set`."""
    if measure.limit is None:
        return "not set"
    if measure.of:
        return f"{measure.limit:g} times the diameter {REFERENCES[measure.of]}"
    unit = measure.unit.removesuffix("s") if measure.limit == 1 else measure.unit
    return f"{measure.limit:g} {unit}".rstrip()


def tools(sign: Sign) -> list[str]:
    """What to look and measure with, as its own words name it."""
    named = [tool for tool, word in _TOOLS.items() if re.search(rf"\b{word}", sign.look)]
    if sign.measure and sign.measure.unit == "mm" and "callipers" not in named:
        named.append("rule")
    return named

"""One finding, read by its own sign: the four rules of a sign (see `criteria.sign`)."""

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from inspections.criteria import RANK, Criteria, Measure, Sign
from inspections.criteria.words import REFER_DAYS, again_days
from inspections.verdicts.facts import SPOT_WORDS, FindingFacts, PartFacts

VALUE_WORDS = {
    "keep": "Keep, noted",
    "not_seen": "Not seen",
    "not_assessed": "Not assessed",
    "watch": "Watch",
    "refer": "A rigger to look",
    "make_good": "Make good before sailing",
    "replace": "Replace: not to be loaded",
}

HOLD_WORDS = {
    "": "",
    "offshore": "Held from going offshore. ",
    "sailing": "Held: the boat does not sail. ",
}

# The verdict value and, in a few words, why it is that one.
Answer = tuple[str, str]


@dataclass(frozen=True)
class Reading:
    """One finding read by its sign. `brief`: the finding in a few words; `hold`: what it stops."""

    value: str
    spot: str
    code: str
    brief: str
    sentence: str
    again_by: dt.date | None
    hold: str


def day(date: dt.date) -> str:
    """Return a date as people write it, ``3 Jun 2026``."""
    return f"{date.day} {date:%b %Y}"


def read(
    part: PartFacts,
    finding: FindingFacts,
    previous: Iterable[FindingFacts],
    criteria: Criteria,
    on: dt.date,
) -> Reading:
    """Read one finding on a part; ValueError when its sign is unknown or belongs to the boat."""
    sign = criteria.sign(finding.sign)
    if not sign.kinds:
        raise ValueError(f"Sign '{sign.code}' belongs to the boat, not to a part of a stay.")
    day = finding.on or on
    value, why = _weigh(part, sign, finding, _earlier(finding, previous, day), criteria, day)
    brief = f"{SPOT_WORDS[finding.spot].capitalize()}: {lowered(sign.label)}"
    due = again_by(value, sign, on)
    return Reading(
        value=value,
        spot=finding.spot,
        code=sign.code,
        brief=brief,
        sentence=sentence(f"{brief}{why}", value, due, sign),
        again_by=due,
        hold="sailing" if RANK[value] >= RANK["make_good"] else sign.hold,
    )


def again_by(value: str, sign: Sign, on: dt.date) -> dt.date | None:
    """The day by which to look again, for a verdict that asks for it."""
    days = again_days(sign, value)
    return None if days is None else on + dt.timedelta(days=days)


def sentence(what: str, value: str, due: dt.date | None, sign: Sign) -> str:
    """The reason as it is shown: what was found, what it means, what to do, whose rule it is."""
    until = f" by {day(due)}" if due else ""
    stop = "" if RANK[value] >= RANK["make_good"] else HOLD_WORDS[sign.hold]
    action = f" {sign.action}" if sign.action and value != "replace" else ""
    return f"{what}. {stop}{VALUE_WORDS[value]}{until}.{action} ({sign.source})"


def lowered(label: str) -> str:
    """A label inside a sentence: first letter small, unless it is a name such as "T-end"."""
    return label if label[1:2] in ("-", "") else label[0].lower() + label[1:]


def _weigh(
    part: PartFacts,
    sign: Sign,
    finding: FindingFacts,
    earlier: Sequence[FindingFacts],
    criteria: Criteria,
    day: dt.date,
) -> Answer:
    """The sign's own verdict, unless the fleet has no criteria by which to give one.

    What was seen goes before what is on record: a crack along the barrel of a terminal recorded as
    mechanical is still a crack, and the record is what wants correcting.
    """
    if part.kind not in sign.kinds:
        return "refer", f" (a sign of a {sign.kinds[0]}, recorded at a {part.kind})"
    known = part.construction
    if not sign.has_limit:
        return "refer", f": no limit is set for {known or sign.where}, so it is not assessed"
    if not sign.fits_construction(known) and not criteria.assesses(part.kind, known):
        return "refer", f": there are no criteria for {known}, so it is not assessed"
    value, why = _RULES[sign.rule](part, sign, finding, earlier, day)
    return value, why + _against_record(part, sign, finding.spot)


def _against_record(part: PartFacts, sign: Sign, spot: str) -> str:
    if not sign.fits_construction(part.construction):
        return f" (recorded as {part.construction}: correct the record)"
    fitted = part.terminals_at(spot)
    if not sign.fits_terminals(fitted):
        return f" (terminal recorded as {' and '.join(fitted)}: correct the record)"
    return ""


def _plain(
    _part: PartFacts, sign: Sign, _finding: FindingFacts, _earlier: object, _day: dt.date
) -> Answer:
    return sign.outcome, ""


def _measured(
    part: PartFacts, sign: Sign, finding: FindingFacts, _earlier: object, _day: dt.date
) -> Answer:
    measure = sign.measure
    if finding.measure is None:
        return sign.unknown, ", not measured: judged on the safe side"
    found = f", {amount(finding.measure, measure.unit)}"
    limit = measure.limit_in_units(part.reference_mm(measure.of))
    if limit is None:
        return sign.unknown, f"{found}; the {_REFERENCES[measure.of]} is not on record: judged safe"
    value = sign.outcome if measure.reached(finding.measure, limit) else sign.milder
    return value, f"{found} (limit {amount(limit, measure.unit)}{_share(measure)})"


def _remedied(
    _part: PartFacts,
    sign: Sign,
    finding: FindingFacts,
    earlier: Sequence[FindingFacts],
    day: dt.date,
) -> Answer:
    if finding.cleaned is False:
        return sign.outcome, ", does not come away"
    back = [each for each in earlier if _was_dealt_with(each, sign, day)] if sign.returns else []
    if back:
        return sign.outcome, f", has come back{_first_noted(back)}"
    if finding.cleaned:
        return sign.milder, ", came away when cleaned"
    return sign.unknown, "" if sign.unknown == "keep" else ", not said whether it comes away"


def _was_dealt_with(earlier: FindingFacts, sign: Sign, day: dt.date) -> bool:
    """Whether an earlier finding was cleaned, or left longer than the time given to clean it.

    A rigger who comes within that time to clean what the crew reported does not find it "back".
    """
    if earlier.cleaned is not None or earlier.on is None:
        return True
    return (day - earlier.on).days > (sign.again_days or REFER_DAYS)


def _growing(
    _part: PartFacts,
    sign: Sign,
    finding: FindingFacts,
    earlier: Sequence[FindingFacts],
    _day: dt.date,
) -> Answer:
    unit = sign.measure.unit if sign.measure else ""
    now = "" if finding.measure is None else f", {amount(finding.measure, unit)}"
    if not earlier:
        return sign.milder, f"{now}, first time"
    counted = [each.measure for each in earlier if each.measure is not None]
    if finding.measure is None or not counted:
        return sign.unknown, f"{now}, seen before and not counted each time: growth cannot be told"
    fewest = min(counted)
    value = sign.outcome if finding.measure > fewest else sign.milder
    return value, f"{now} after {amount(fewest, unit)}{_first_noted(earlier)}"


_RULES: dict[str, Callable[..., Answer]] = {
    "plain": _plain,
    "measured": _measured,
    "remedy": _remedied,
    "growth": _growing,
}

_REFERENCES = {
    "": "limit",
    "wire": "diameter of the single wire",
    "pin": "diameter of the pin",
    "thread": "diameter of the thread",
}


def amount(value: float, unit: str) -> str:
    number = f"{round(value, 3):g}"
    return f"{number} {unit.removesuffix('s') if number == '1' else unit}".strip()


def _share(measure: Measure) -> str:
    """How the limit comes about, e.g. ": 0.1 x diameter of the single wire"."""
    return f": {measure.limit:g} x {_REFERENCES[measure.of]}" if measure.of else ""


def _first_noted(earlier: Sequence[FindingFacts]) -> str:
    dates = [each.on for each in earlier if each.on]
    return f" (first noted {day(min(dates))})" if dates else ""


def _earlier(
    finding: FindingFacts, previous: Iterable[FindingFacts], day: dt.date
) -> list[FindingFacts]:
    """The same sign at the same spot, seen before that day."""
    return [
        each
        for each in previous
        if each.sign == finding.sign
        and each.spot == finding.spot
        and (each.on is None or each.on < day)
    ]

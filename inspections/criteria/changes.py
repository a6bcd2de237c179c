"""What a fleet may change of a sign, what differs between two criteria, and what is looser."""

from collections.abc import Iterable
from dataclasses import dataclass

from inspections.criteria.book import DEFAULT, Criteria
from inspections.criteria.sign import RANK, Sign
from inspections.criteria.words import amount, value_word

# Verdicts that somebody can decide on; "not seen" and "not assessed" follow from the inspection.
DECIDED = ("keep", "watch", "refer", "make_good", "replace")


@dataclass(frozen=True)
class Difference:
    """One thing that differs of one sign. `looser`: the new rule lets more pass, or for longer."""

    code: str
    label: str
    what: str
    before: str
    after: str
    looser: bool = False


def allowed_outcomes(sign: Sign) -> tuple[str, ...]:
    """The verdicts a fleet may give a sign: the book's own, or stricter."""
    least = RANK[DEFAULT.get(sign.code, sign).outcome]
    return tuple(value for value in DECIDED if RANK[value] >= least)


def may_change(sign: Sign) -> bool:
    """False for a sign that condemns by its mere presence: nothing of it can be set."""
    return sign.rule == "measured" or sign.again_days is not None or len(allowed_outcomes(sign)) > 1


def differences(before: Criteria, after: Criteria) -> list[Difference]:
    """What differs of the signs in both, in the order of the book."""
    return [
        each
        for sign in after.signs
        if sign.code in before
        for each in of_sign(before[sign.code], sign)
    ]


def of_sign(before: Sign, after: Sign) -> Iterable[Difference]:
    """What differs between two versions of one sign: verdict, limit, days."""
    named = before.code, after.label
    if before.outcome != after.outcome:
        words = value_word(before.outcome), value_word(after.outcome)
        yield Difference(*named, "verdict", *words, RANK[after.outcome] < RANK[before.outcome])
    if before.measure and after.measure and before.measure.limit != after.measure.limit:
        words = amount(before.measure), amount(after.measure)
        yield Difference(*named, "limit", *words, _looser_limit(before, after))
    if before.again_days != after.again_days:
        old, new = before.again_days, after.again_days
        yield Difference(*named, "look again", _days(old), _days(new), bool(old and new > old))


def _looser_limit(before: Sign, after: Sign) -> bool:
    """A first limit is looser too: without one everything went to a rigger."""
    old, new = before.measure.limit, after.measure.limit
    if old is None or new is None:
        return old is None
    return new > old if after.measure.worse == "more" else new < old


def _days(days: int | None) -> str:
    if days is None:
        return "not asked for"
    return f"after {days} day{'' if days == 1 else 's'}"

"""The outlook of one boat and its parts, date by date and look by look, as rows of words."""

from collections.abc import Iterable

from fleet.templatetags.wording import percent

from .models import BoatOutlook, PartOutlook
from .planning.spots import LEVELS
from .steps.wording import LOOKS

WHEN = {
    "now": "today",
    "season": "by the end of next season",
    "1y": "within a year",
    "2y": "within 2 years",
    "3y": "within 3 years",
    "5y": "within 5 years",
}
FOUND = {"deck": "deck check", "aloft": "aloft", "mast_down": "mast down"}
SHORT = {
    "now": "Today",
    "season": "Next season",
    "1y": "1 y",
    "2y": "2 y",
    "3y": "3 y",
    "5y": "5 y",
}


def of_boat(outlook: BoatOutlook) -> list[dict[str, object]]:
    """Return when, day, chance and its bounds: standing condemned by then; found by each look."""
    stands = [(WHEN[name], *rest) for name, *rest in outlook.chances]
    found = [(f"found at the next {LOOKS[level]}", *rest) for level, *rest in outlook.found]
    return [
        {"when": when, "day": day, "chance": mean, "low": low, "high": high}
        for when, day, mean, low, high in stands + found
    ]


def of_parts(parts: Iterable) -> list[dict[str, object]]:
    """Return the parts with their chances in the order of ``heads``, and the years they have left.

    Parts of one kind that are alike in all of it, to the digits shown, share a row.
    """
    rows: dict[str, dict[str, object]] = {}
    for part in parts:
        if not getattr(part, "outlook", None) or part.condemned_on is not None:
            continue
        chances, left = _chances(part.outlook), _left(part.outlook)
        row = {"kind": part.get_kind_display(), "chances": chances, "left": left, "stays": []}
        rows.setdefault(repr(list(row.values())), row)["stays"].append(part.stay.label)
    return list(rows.values())


def heads() -> list[str]:
    return [*SHORT.values(), *(f"Found, {FOUND[level]}" for level in LEVELS)]


def _chances(outlook: PartOutlook) -> list[str]:
    by_when = {"now": outlook.chance_now, "1y": outlook.chance_1y, "5y": outlook.chance_5y}
    by_when |= outlook.later
    chances = [by_when.get(name) for name in SHORT]
    return [percent(chance) for chance in chances + [outlook.found.get(each) for each in LEVELS]]


def _left(outlook: PartOutlook) -> list[dict[str, object]]:
    """Return years until 10, 50 and 90 % of such parts are condemned; beyond: what was watched."""
    return [
        {
            "years": None if years is None else f"{years:.1f}",
            "beyond": years is None or years > outlook.watched_for,
        }
        for years in outlook.remaining
    ]

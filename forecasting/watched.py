"""What becomes of a watch, and how often to look, in the words of the pages."""

from fleet.models import Fleet

from .condition.posterior import Condition
from .models import ConditionRun, FailingRate, LookInterval
from .steps.schedule import intervals

SHOWN_MONTHS = (1, 3, 6, 12, 24, 36)
LONGEST_MONTHS = 100  # an interval beyond this is said as "or more"
SEEN_FROM = {"deck": "lower ends", "aloft": "wires and upper ends"}
LOOKS = {"deck": "Looking from deck", "aloft": "Inspecting aloft"}


def told(fleet: Fleet) -> dict:
    """Return what the pages say of watches, of looking and of failing in service.

    run: the newest reading, refused or not; in_force: the one used; fate: what it tells; looks:
    one row a base and level; failing: how often what stands condemned breaks.
    """
    runs = ConditionRun.objects.of(fleet)
    in_force = runs.in_force().first()
    return {
        "run": runs.first(),
        "in_force": in_force,
        "fate": fate(in_force) if in_force else None,
        "looks": looks(fleet),
        "failing": FailingRate.objects.of(fleet).first(),
    }


def fate(run: ConditionRun) -> dict:
    """Return the chances after a watch, and what they rest on, each between its bounds."""
    found = Condition.from_dict(run.result["condition"])
    months, chance = run.result["months"], run.result["chance"]
    at = [months.index(month) for month in SHOWN_MONTHS]
    return {
        "sentence": sentence(run),
        "rows": [
            {"months": months[i], "low": chance[0][i], "middle": chance[1][i], "high": chance[2][i]}
            for i in at
        ],
        "delay": [12 * years for years in found.band(0)],
        "detection": found.band(1),
        "false_watch": found.band(2),
        "own_share": found.own_share,
    }


def sentence(run: ConditionRun) -> str:
    """Return by when a watched spot is condemnable at one chance in four, in months."""
    soonest, middle, latest = run.result["quarter"]
    if middle is None:
        return "Fewer than one watched spot in four becomes condemnable within ten years."
    return (
        f"One watched spot in four becomes condemnable within {months_words(middle)} "
        f"({_between(soonest, latest)})."
    )


def months_words(months: float) -> str:
    whole = max(round(months), 1)
    return "1 month" if whole == 1 else f"{whole} months"


def _between(low: float | None, high: float | None) -> str:
    if high is None:
        return f"{months_words(low)} or more"
    first, last = max(round(low), 1), max(round(high), 1)
    return months_words(last) if first == last else f"{first} to {months_words(last)}"


def looks(fleet: Fleet) -> list[dict]:
    """Return one row a base and level: what costs least, between what bounds, and the rule."""
    rule = intervals(fleet)
    found = LookInterval.objects.of(fleet).select_related("base__ground")
    return [
        {
            "base": row.base,
            "stays": SEEN_FROM[row.level],
            "words": look_words(row),
            "sure": sure_words(row),
            "rule": rule[row.level],
            "defects": row.defects,
            "cost_minor": row.cost_minor,
        }
        for row in found
    ]


def look_words(row: LookInterval) -> str:
    """Return how often to look by cost alone, in months: within 2 % of the least, as drawn."""
    low, high = max(round(row.flat_from), 1), round(row.flat_until)
    if not row.bounded or high > LONGEST_MONTHS:
        return f"{LOOKS[row.level]} every {low} months or more costs least"
    if high <= low:
        return f"{LOOKS[row.level]} every {months_words(low)} costs least"
    return f"{LOOKS[row.level]} every {low} to {high} months costs least"


def sure_words(row: LookInterval) -> str:
    """Return between what months the least lies nine times in ten, blank where it has no end."""
    if not row.bounded or row.high > LONGEST_MONTHS:
        return ""
    low, high = max(round(row.low), 1), round(row.high)
    return months_words(low) if high <= low else f"{low} to {high} months"

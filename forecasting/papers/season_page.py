"""The page for the annual meeting: the year in numbers, then every boat: inspected, late, held."""

import datetime as dt
from collections import defaultdict

from django.db.models import Max, Q

from fleet.models import Boat, Fleet, Installation
from fleet.templatetags.wording import day
from inspections.due import LOOKS, Due, due, months_after
from inspections.models import Demand, Inspection, Reminder
from inspections.spans import span_words

from .masthead import CAUTION
from .press import press

Level, Removal = Inspection.Level, Installation.Removal
HELD = Reminder.Kind.HELD
LEVELS = (Level.DECK, Level.ALOFT, Level.MAST_DOWN)
NOTE = (
    "Inspected: the last inspection of the whole boat at that level. A deeper one counts for those "
    "above it, so a boat is late only where none of them is in time."
)


def season_page(fleet: Fleet) -> bytes:
    """Return the PDF."""
    return press("season-page", contents(fleet), fleet.today())


def contents(fleet: Fleet) -> dict:
    """Return what the paper says, as words."""
    today = fleet.today()
    since = a_year_before(today)
    boats = list(Boat.objects.of(fleet).standing(today).select_related("base"))
    looked, found = last_looks(boats), by_boat(due(fleet, today))
    rows = [row(boat, looked[boat.pk], found[boat.pk], today) for boat in boats]
    rows.sort(key=lambda each: (each["base"], each["boat"]))
    return {
        "title": f"The rigs of {fleet.name}, year to {day(today)}",
        "answer": answer(rows, looked, boats, since),
        "fleet": fleet.name,
        "as_of": day(today),
        "caution": CAUTION,
        "numbers": numbers(fleet, since, today),
        "boats": rows,
        "several": len({each["base"] for each in rows}) > 1,
        "note": NOTE,
    }


def a_year_before(today: dt.date) -> dt.date:
    """Return the day after the same date of last year: with today, one whole year."""
    return months_after(today, -12) + dt.timedelta(days=1)


def last_looks(boats: list[Boat]) -> dict[int, dict[str, dt.date]]:
    """Return boat id -> level -> the day of its last whole look."""
    rows = Inspection.objects.whole().filter(boat__in=boats).order_by()
    found = defaultdict(dict)
    for boat, level, last in rows.values_list("boat", "level").annotate(last=Max("on")):
        found[boat][level] = last
    return found


def by_boat(dues: list[Due]) -> dict[int, list[Due]]:
    found = defaultdict(list)
    for each in dues:
        found[each.boat.pk].append(each)
    return found


def row(boat: Boat, looked: dict[str, dt.date], dues: list[Due], today: dt.date) -> dict:
    late = [each for each in dues if each.on < today and each.kind in LOOKS]
    held = [held_words(each) for each in dues if each.kind == HELD]
    return {
        "base": boat.base.name,
        "boat": boat.name,
        "looks": [day(looked.get(level)) or "none" for level in LEVELS],
        "late": "; ".join(late_words(each, today) for each in late),
        "held": held[0] if held else "",
    }


def held_words(each: Due) -> str:
    """Return since when, and the first sentence of why: the page of held boats has the rest."""
    return f"since {day(each.on)}: {each.reason.split('. ')[0].rstrip('.')}"


def late_words(each: Due, today: dt.date) -> str:
    return f"{Reminder.Kind(each.kind).label}, {span_words((today - each.on).days)}"


def answer(rows: list[dict], looked: dict, boats: list[Boat], since: dt.date) -> str:
    if not rows:
        return "No boat is in the fleet now."
    seen = sum(any(on >= since for on in looked[boat.pk].values()) for boat in boats)
    late, held = (sum(bool(each[name]) for each in rows) for name in ("late", "held"))
    return (
        f"{seen} of {len(rows)} boat{'' if len(rows) == 1 else 's'} inspected within the year, "
        f"{late or 'none'} late for a look, {held or 'none'} held."
    )


def numbers(fleet: Fleet, since: dt.date, today: dt.date) -> list[list[str]]:
    """Return the year in numbers, each with its words."""
    looks = Inspection.objects.of(fleet).whole().filter(on__range=(since, today))
    parts = Installation.objects.of(fleet)
    off = parts.filter(removed_on__range=(since, today))
    gone = Q(condemned_on__range=(since, today)) | Q(
        condemned_on=None, removal_reason=Removal.CONDEMNED, removed_on__range=(since, today)
    )
    demands = Demand.objects.of(fleet)
    fitted = parts.filter(fitted_on__range=(since, today), fitted_certainty="day")
    rows = [
        *((f"whole inspections, {level.label}", looks.filter(level=level)) for level in LEVELS),
        ("parts condemned", parts.filter(gone)),
        ("parts that let go in use", off.filter(removal_reason=Removal.FAILED)),
        ("parts fitted, by invoice or log", fitted),
        ("demands of others waiting", demands.waiting()),
        ("demands accepted", demands.filter(state="accepted", closed_on__range=(since, today))),
    ]
    return [[str(found.count()), words] for words, found in rows]

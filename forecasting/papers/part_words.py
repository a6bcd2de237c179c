"""One part as words for a paper: what it is, how old, who says so, when last seen, verdict."""

import datetime as dt
from collections.abc import Sequence

from django.db.models import Max, QuerySet

from fleet.models import Boat, Installation
from fleet.templatetags.wording import SPOT_WORDS, age, day
from inspections.judgement import standing_verdicts
from inspections.models import Inspection, PartVerdict, SpotState, VerdictValue

from .. import reads

MEASURE = "measure before ordering"
SPOTS = {"wire": ("lower", "run", "upper"), "turnbuckle": ("whole",), "chainplate": ("whole",)}
ORDER = {kind: place for place, kind in enumerate(SPOTS)}
SCREW = (("thread", "thread"), ("hand", "hand"))
OF_A_WIRE = (("mast_end", "mast end"), ("adjuster", "setting"))
YEAR_DAYS = 365.25


def parts_of(boat: Boat) -> list[Installation]:
    """Return the parts up, by mast and stay, each with its ``verdict`` and ``good`` set.

    ``good``: spot -> the day it was last seen good.
    """
    return with_record(reads.parts_up(boat))


def with_record(rows: QuerySet[Installation]) -> list[Installation]:
    """Return parts of one boat or many as ``parts_of`` does, in as many queries for any number."""
    parts = sorted(rows, key=lambda p: (p.stay.boat_id, p.stay.mast, p.stay_id, ORDER[p.kind]))
    keys = rows.order_by().values("pk")
    verdicts, seen = standing_verdicts.of_parts(keys), last_seen_good(keys)
    for part in parts:
        part.verdict = verdicts.get(part.pk)
        part.good = {spot: seen[part.pk, spot] for spot in SPOTS[part.kind]
                     if (part.pk, spot) in seen}  # fmt: skip
    return parts


def last_seen_good(parts: QuerySet) -> dict[tuple[int, str], dt.date]:
    """Return (part, spot) -> the latest day an inspection saw it good. ``parts``: their keys."""
    verdicts = PartVerdict.objects.filter(installation__in=parts)
    seen = {}
    for spot in ("lower", "run", "upper", "whole"):
        good = verdicts.filter(**{spot: SpotState.GOOD}).order_by().values_list("installation")
        latest = good.annotate(last=Max("inspection__on"))
        seen |= {(part, spot): on for part, on in latest}
    return seen


def least_seen(part: Installation) -> dt.date | None:
    """Return the day by which all of the part was last seen good; None if a spot never was."""
    days = [part.good.get(spot) for spot in SPOTS[part.kind]]
    return None if None in days else min(days)


def name(part: Installation) -> str:
    wire = part.kind == Installation.Kind.WIRE
    return part.stay.label if wire else f"{part.stay.label}: {part.get_kind_display()}"


def size(part: Installation) -> dict[str, str]:
    """Return what one orders by, each either on record or to be measured first.

    Thread, mast end and setting are blank where they are not known; ``open`` then names them.
    """
    facts = {"diameter": millimetres(part.diameter_mm), "pin": millimetres(part.pin_mm)}
    if part.kind == Installation.Kind.CHAINPLATE:
        return facts
    facts |= {"screw": screw(part)}
    if part.kind == Installation.Kind.TURNBUCKLE:
        return facts | {"open": unknown(part, SCREW)}
    return facts | {
        "mast_end": part.mast_end,
        "adjuster": part.adjuster,
        "open": unknown(part, (*SCREW, *OF_A_WIRE)),
        "construction": words(part.get_construction_display(), part.alloy),
        "length": millimetres(part.length_mm),
        "lower": part.get_lower_terminal_display() or MEASURE,
        "upper": part.get_upper_terminal_display() or MEASURE,
    }


def screw(part: Installation) -> str:
    """Return thread and hand as far as they are known, e.g. ``M16, right-hand``."""
    return ", ".join(filter(None, [part.thread, part.get_hand_display()]))


def unknown(part: Installation, names: Sequence[tuple[str, str]]) -> str:
    """Return ``measure before ordering: thread, mast end``; blank where all is known."""
    lacks = [label for name, label in names if not getattr(part, name)]
    return f"{MEASURE}: {', '.join(lacks)}" if lacks else ""


def words(construction: str, alloy: str) -> str:
    return ", ".join(filter(None, [construction, alloy])) if construction else MEASURE


def millimetres(value: float | None) -> str:
    return f"{value:,.10g}" if value else MEASURE


def fitted(part: Installation) -> str:
    """Return the day of fitting as surely as it is known."""
    on, certainty = part.fitted_on, part.fitted_certainty
    if on is None or certainty == Installation.Certainty.UNKNOWN:
        return "unknown"
    if certainty == Installation.Certainty.DAY:
        return day(on)
    return str(on.year) if certainty == Installation.Certainty.YEAR else f"about {on.year}"


def age_words(part: Installation, today: dt.date) -> str:
    """Return the age; for an unknown day what the forecast takes for it, said as such."""
    outlook = getattr(part, "outlook", None)
    if part.fitted_certainty == Installation.Certainty.UNKNOWN or part.fitted_on is None:
        taken = outlook.age if outlook else None
        return f"unknown; taken as {age(taken)}" if taken is not None else "unknown"
    return age((today - part.fitted_on).days / YEAR_DAYS)


def seen_words(part: Installation) -> str:
    """Return when each spot was last seen good, spots of one day together."""
    by_day: dict[dt.date | None, list[str]] = {}
    for spot in SPOTS[part.kind]:
        by_day.setdefault(part.good.get(spot), []).append(SPOT_WORDS[spot])
    if len(by_day) == 1:
        return day(next(iter(by_day))) or "never"
    dated = sorted(by_day.items(), key=lambda item: item[0] or dt.date.min, reverse=True)
    return "; ".join(f"{', '.join(spots)} {day(on) or 'never'}" for on, spots in dated)


def _void(part: Installation) -> bool:
    """Whether it was seen good after the look in force: then an event voids that later look."""
    look = part.verdict.inspection
    unseen = part.verdict.value == VerdictValue.NOT_SEEN
    return unseen and any(on > look.on for on in part.good.values())


def verdict(part: Installation) -> dict[str, str]:
    """Return the verdict in force: code, word, and since when or until when."""
    if part.condemned_on:
        value, note = VerdictValue.REPLACE, f"since {day(part.condemned_on)}"
    elif part.verdict is None or _void(part):
        word = "not looked at since the event" if part.good else "never looked at"
        return {"code": "not_seen", "word": word, "note": ""}
    else:
        value, again = VerdictValue(part.verdict.value), part.verdict.again_by
        look: Inspection = part.verdict.inspection
        note = f"again by {day(again)}" if again else f"{day(look.on)}, {look.competence}"
    return {"code": value.value, "word": value.label, "note": note}

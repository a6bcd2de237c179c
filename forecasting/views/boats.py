"""The boats of a fleet, and one of them."""

from collections import Counter

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django_tables2 import RequestConfig

from fleet.access import member
from fleet.models import Base, Boat, Fleet, Stay
from fleet.rig_drawing import RigStay, draw
from inspections.followups import Recommendation
from inspections.judgement import standing_verdicts
from inspections.models import HandIn, Hold, Inspection, VerdictValue
from inspections.wording import look_words, told_apart

from .. import chance_rows, reads, watched, yard_told
from ..filters import BoatFilter
from ..models import ConditionRun
from ..steps.wording import boat_words
from ..tables import BoatTable
from .outlook import standing_of_forecast


@member()
def boats(request: HttpRequest) -> HttpResponse:
    today = request.fleet.today()
    everything = reads.boats(request.fleet, today)
    narrowed = BoatFilter(request.GET, queryset=everything, request=request)
    table = BoatTable(narrowed.qs.select_related("fleet"), order_by=("state",))
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    context = {
        "table": table,
        "filter": narrowed,
        "boats": everything.count(),
        "has_base": Base.objects.of(request.fleet).exists(),
        "held": everything.filter(held=True).count(),
        "late": everything.filter(inspect_by__date__lte=today).count(),
        "run": reads.wire_model(request.fleet),
    }
    return render(request, "forecasting/boats.html", context)


@member()
def boat(request: HttpRequest, pk: int) -> HttpResponse:
    boats = Boat.objects.of(request.fleet).select_related("base__ground", "outlook", "inspect_by")
    boat = get_object_or_404(boats, pk=pk)
    parts = list(reads.parts_up(boat))
    verdicts = standing_verdicts.of_parts(part.pk for part in parts)
    for part in parts:
        part.verdict = verdicts.get(part.pk)
        part.sights, part.watched = sights(part), watched_spots(part)
    wires = [part for part in parts if part.kind == part.Kind.WIRE]
    context = {
        "boat": boat,
        "holds": Hold.objects.filter(boat=boat).standing(),
        "notes": HandIn.objects.filter(boat=boat).unanswered(),
        "changes": boat.changes.select_related("by")[:20],
        "wires": sorted(wires, key=urgency),
        "fittings": sorted((p for p in parts if p not in wires), key=urgency),
        "views": rig_views(boat, wires),
        "drivers": drivers(boat, wires),
        **chances(boat, parts),
        "watched": watch_sentence(request.fleet, parts),
        **work_ahead(boat),
        **followed_up(boat),
        "inspections": latest_looks(boat),
        "earlier": reads.earlier_parts(boat),
        "seasons": boat.seasons.select_related("ground").order_by("-year"),
        "run": reads.wire_model(request.fleet),
        **standing_of_forecast(request, Boat.objects.filter(pk=boat.pk)),
        "gone": boat.left is not None and boat.left <= request.fleet.today(),
    }
    return render(request, "forecasting/boat.html", context)


def work_ahead(boat: Boat) -> dict[str, object]:
    """Return whether it is on the refit list, and its weeks on the boards of the yard."""
    return {"has_jobs": boat.refit_jobs.exists(), "yard": yard_told.of_boat(boat)}


def followed_up(boat: Boat) -> dict[str, object]:
    """Return the last stepping, and how many recommendations of others are open."""
    advice = Recommendation.objects.open().filter(report__boat=boat)
    return {"stepping": boat.steppings.first(), "advice": advice.count()}


def latest_looks(boat: Boat) -> list[Inspection]:
    looks = list(told_apart(Inspection.objects.filter(boat=boat))[:12])
    for look in looks:
        look.words = look_words(look)
    return looks


def urgency(part) -> tuple:
    """Order parts by what to do first: condemned, then by chance within a year."""
    outlook = getattr(part, "outlook", None)
    return (part.condemned_on is None, -outlook.chance_1y if outlook else 0, part.pk)


SPOT_WORDS = {"lower": "lower end", "run": "wire", "upper": "upper end", "whole": "all of it"}
SPOTS = {"wire": ("lower", "run", "upper"), "turnbuckle": ("whole",), "chainplate": ("whole",)}


def chances(boat: Boat, parts: list) -> dict[str, list]:
    """Return the boat's and its parts' chances by date, nothing without an outlook."""
    if not hasattr(boat, "outlook"):
        return {}
    return {
        "chances": chance_rows.of_boat(boat.outlook),
        "part_chances": chance_rows.of_parts(sorted(parts, key=urgency)),
        "heads": chance_rows.heads(),
    }


def drivers(boat: Boat, wires: list) -> list[str]:
    """Return what moves the life of this boat's wires, those of most of them first, then itself."""
    life = boat.outlook.life if hasattr(boat, "outlook") else []
    itself = [boat_words(life)] if life else []
    said = Counter(words for wire in wires if hasattr(wire, "outlook")
                   for words in wire.outlook.drivers)  # fmt: skip
    return [words for words, _ in said.most_common(3)] + itself


def sights(part) -> list[tuple[str, str]]:
    """Return (spots in words, date in ISO 8601 or nothing) for when each was last seen good."""
    outlook = getattr(part, "outlook", None)
    dates = outlook.last_good if outlook else {}
    by_date: dict[str, list[str]] = {}
    for spot in SPOTS[part.kind]:
        by_date.setdefault(dates.get(spot, ""), []).append(SPOT_WORDS[spot])
    if len(by_date) == 1:
        return [("" if dates else "never", next(iter(by_date)))]
    return [(", ".join(words), date) for date, words in sorted(by_date.items(), reverse=True)]


def watched_spots(part) -> list[tuple[str, str]]:
    """Return (spot in words, date in ISO 8601) for each spot that has been judged *watch*."""
    outlook = getattr(part, "outlook", None)
    spots = outlook.watched if outlook and not part.condemned_on else {}
    return [(SPOT_WORDS[spot], spots[spot]) for spot in SPOTS[part.kind] if spot in spots]


def watch_sentence(fleet: Fleet, parts: list) -> str:
    """Return what becomes of a watched spot, where one stands on this boat and the record tells."""
    if not any(part.watched for part in parts):
        return ""
    runs = ConditionRun.objects.of(fleet)
    in_force, newest = runs.in_force().first(), runs.first()
    if in_force:
        return watched.sentence(in_force)
    return f"What becomes of a watch is not told yet: {newest.sentence}" if newest else ""


def rig_views(boat: Boat, wires: list) -> tuple:
    by_stay = {wire.stay_id: wire for wire in wires}
    stays = [rig_stay(stay, by_stay.get(stay.pk)) for stay in Stay.objects.filter(boat=boat)]
    return draw(stays, rig=boat.rig, fractional=boat.fractional, spreader_pairs=boat.spreader_pairs)


def rig_stay(stay: Stay, wire) -> RigStay:
    verdict = getattr(wire, "verdict", None)
    value = verdict.value if verdict else VerdictValue.NOT_SEEN.value
    if wire is not None and wire.condemned_on:
        value = VerdictValue.REPLACE.value
    outlook = getattr(wire, "outlook", None)
    return RigStay(
        name=stay.name,
        side=stay.side,
        mast=stay.mast,
        verdict=value,
        words=VerdictValue(value).label if wire else "nothing fitted",
        href=f"#part-{wire.pk}" if wire else "#parts",
        label=stay.label,
        top_seen=bool(outlook and outlook.last_good.get("upper")),
    )

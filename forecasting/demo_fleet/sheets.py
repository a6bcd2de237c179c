"""The rows of the spreadsheets a fleet would have kept, in words, sheet by sheet."""

from collections.abc import Iterator
from datetime import date
from random import Random
from typing import Any

from inspections.criteria import DEFAULT

from . import prices, words
from .boats import Boat
from .dating import papers
from .generate import FleetRecord, Record
from .parts import Look, Noted, Part
from .truth import SPOTS

Rows = list[tuple[Any, ...]]

ENDED_AT_A_SPOT = ("condemned", "failed_in_service", "looked_poor")
HEADERS = {
    "grounds": "ground | corrosivity | EN factor",
    "bases": "base | ground | off season begins | off season ends | rigger hours",
    "boats": "boat | base | design | rig | fractional | spreader pairs | length m | build year | "
    "joined | left | planned exit | history complete since | service | mast down in off season | "
    "owned by | paid by | owner | owner email",
    "parts": "boat | mast | stay | side | part | inside foil | construction | alloy | "
    "diameter mm | pin to pin mm | lower terminal | upper terminal | pin mm | fitted | "
    "date certainty | invoice | batch | fitter | removed | removal reason | place",
    "use": "boat | season | ground | miles | mast down | service",
    "inspections": "boat | date | level | person | competence | method | stays looked at | note",
    "findings": "boat | date | level | person | mast | stay | side | part | place | sign | "
    "measure | cleaned | note | made good on | made good by",
    "prices": "item | construction | diameter mm | price | hours",
}


def sheets(fleet: FleetRecord) -> dict[str, Rows]:
    """All sheets of one fleet, each with its header row first."""
    bodies = {
        "grounds": _grounds(fleet),
        "bases": _bases(fleet),
        "boats": [_boat_row(fleet, record.boat) for record in fleet.records],
        "parts": [row for record in fleet.records for row in _part_rows(fleet, record)],
        "use": [row for record in fleet.records for row in _use_rows(record.boat)],
        "inspections": [row for record in fleet.records for row in _look_rows(record)],
        "findings": [row for record in fleet.records for row in _finding_rows(record)],
        "prices": _prices(fleet),
    }
    return {
        name: [tuple(HEADERS[name].split(" | ")), *(_blanks(row) for row in rows)]
        for name, rows in bodies.items()
    }


def _blanks(row: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(None if cell == "" else cell for cell in row)


def _grounds(fleet: FleetRecord) -> Rows:
    rows = [(base.ground, base.corrosivity, base.en_factor) for base in fleet.plan.bases]
    return list(dict.fromkeys(rows))  # several bases may share a ground


def _bases(fleet: FleetRecord) -> Rows:
    return [
        (base.name, base.ground, *base.off_season, base.rigger_hours) for base in fleet.plan.bases
    ]


def _boat_row(fleet: FleetRecord, boat: Boat) -> tuple[Any, ...]:
    design, plan = boat.design, fleet.plan
    since = boat.record_since if boat.says_complete_since or not boat.surveyed else None
    return (
        boat.name, boat.base.name, design.name, design.rig, _yes(design.fractional),
        design.spreader_pairs, design.length_m, date.fromordinal(boat.built).year,
        _day(boat.joined), _day(boat.left), _day(boat.planned_exit), _day(since), boat.service,
        _yes(boat.unstepped),
        boat.owned_by if boat.owned_by != plan.boats_owned_by else None,
        boat.paid_by if boat.paid_by != plan.rigging_paid_by else None,
        boat.owner, boat.email,
    )  # fmt: skip


def _part_rows(fleet: FleetRecord, record: Record) -> Iterator[tuple[Any, ...]]:
    boat = record.boat
    dated = papers(boat, Random(f"{fleet.seed}/papers/{boat.name}"))
    keys = [stay.key for stay in boat.design.stays()]
    kinds = list(SPOTS)
    parts = sorted(
        record.parts, key=lambda p: (keys.index(p.stay.key), kinds.index(p.kind), p.fitted)
    )
    for part in parts:
        yield boat.name, *_part_row(part, *dated(part))


def _part_row(part: Part, fitted: date | int | None, certainty: str) -> tuple[Any, ...]:
    proven = certainty == "day"
    ended = part.ended_at if part.reason in ENDED_AT_A_SPOT else ""
    return (
        *_place_of(part), _yes(part.stay.in_foil) if part.kind == "wire" else None,
        words.CONSTRUCTIONS[part.construction], part.alloy, part.mm, part.length_mm,
        words.TERMINALS[part.lower], words.TERMINALS[part.upper], part.pin_mm,
        fitted, words.CERTAINTIES[certainty],
        *((part.invoice, part.batch, part.fitter) if proven else (None, None, None)),
        _day(part.removed), words.REMOVALS[part.reason], words.place(ended),
    )  # fmt: skip


def _place_of(part: Part) -> tuple[str | None, ...]:
    mast, name, side = part.stay.key
    return "mizzen" if mast == "mizzen" else None, words.STAYS[name], side, part.kind


def _use_rows(boat: Boat) -> Iterator[tuple[Any, ...]]:
    first = date.fromordinal(boat.record_since).year
    for year in range(first, date.fromordinal(boat.end).year + 1):
        season = boat.seasons[year]
        away = season.base.ground if season.base is not boat.base else None
        down = _yes(season.unstepped)
        yield boat.name, year, away, season.noted_miles, down, season.service


def _look_rows(record: Record) -> Iterator[tuple[Any, ...]]:
    keys = [stay.key for stay in record.boat.design.stays()]
    for look in record.looks:
        some = [words.stay(key) for key in keys if look.only and key in look.only]
        yield (
            *_look_key(record, look), look.visit.competence, look.visit.method,
            "; ".join(some), look.visit.note,
        )  # fmt: skip


def _look_key(record: Record, look: Look) -> tuple[Any, ...]:
    visit = look.visit
    return record.boat.name, _day(look.day), words.LEVELS[visit.level], visit.person


def _finding_rows(record: Record) -> Iterator[tuple[Any, ...]]:
    for look in record.looks:
        for row in look.noted:
            yield *_look_key(record, look), *_finding_row(row)


def _finding_row(row: Noted) -> tuple[Any, ...]:
    where = _place_of(row.part) if row.part else (None, None, None, None)
    sign = "not seen" if row.sign == "not_seen" else DEFAULT[row.sign].label
    cleaned = None if row.cleaned is None else _yes(row.cleaned)
    return (
        *where, words.place(row.place), sign, row.measure, cleaned, row.note, _day(row.done),
        row.done_by,
    )  # fmt: skip


def _prices(fleet: FleetRecord) -> Rows:
    parts = [part for record in fleet.records for part in record.parts if part.kind == "wire"]
    made = tuple(dict.fromkeys(sorted(part.construction for part in parts)))
    dearer = 1.0 if fleet.plan.kind == "charter" else 1.12
    listed = prices.rows(dearer, made)
    return [
        (prices.ITEMS[item], words.CONSTRUCTIONS[made], mm, price, hours)
        for item, made, mm, price, hours in listed
    ]


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _day(ordinal: int | None) -> date | None:
    return None if ordinal is None else date.fromordinal(ordinal)

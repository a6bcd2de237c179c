"""Lives read straight from the simulated record, as the sheets would show it, without a database.

A second reading, written apart from ``forecasting.life_data``: for trying many seeds, and for
showing what a wrong reading would find.
"""

import math
from collections.abc import Iterator
from datetime import date
from random import Random

from forecasting.demo_fleet.dating import papers
from forecasting.demo_fleet.generate import FleetRecord, Record
from forecasting.demo_fleet.parts import Look, Part, reach
from forecasting.demo_fleet.truth import DAYS, SEVERITY, SPOTS
from forecasting.survival.lives import Life, Lives

GUESSED_MILES = 2500.0
NAMED_SPOT = ("failed_in_service", "looked_poor")


def read(fleet: FleetRecord, kind: str, *, deaths: tuple[str, ...] = ()) -> Lives:
    """Lives of a kind of part, spot by spot. ``deaths``: removal reasons wrongly read as deaths."""
    return Lives.of([life for each in fleet.records for life in _boat(fleet, each, kind, deaths)])


def _boat(fleet: FleetRecord, record: Record, kind: str, deaths: tuple[str, ...]) -> Iterator[Life]:
    dated = papers(record.boat, Random(f"{fleet.seed}/papers/{record.boat.name}"))
    for part in record.parts:
        when, certainty = dated(part)
        if part.kind != kind or not part.fresh or part.construction == "galvanised":
            continue
        if certainty in ("day", "year"):
            day = when.toordinal() if certainty == "day" else date(when, 7, 1).toordinal()
            yield from _spots(record, part, day, deaths)


def _spots(record: Record, part: Part, fitted: int, deaths: tuple[str, ...]) -> Iterator[Life]:
    entry = max(record.boat.record_since - fitted, 0)
    good = dict.fromkeys(part.goes, entry)
    died = dict.fromkeys(part.goes, math.inf)
    for look in _looks(record, part):
        for spot in _seen(look, part):
            if part.condemned == look.day and part.goes[spot] <= look.day:
                died[spot] = look.day - fitted
            else:
                good[spot] = look.day - fitted
    if part.reason in NAMED_SPOT and any(look.day >= part.removed for look in record.looks):
        died[part.ended_at] = part.removed - fitted
    if part.reason in deaths:
        died[SPOTS[part.kind][0]] = part.removed - fitted
    for spot in SPOTS[part.kind]:
        if entry <= good[spot] < died[spot]:
            yield Life(
                entry=entry / DAYS,
                good=good[spot] / DAYS,
                condemned=died[spot] / DAYS,
                cluster=(record.boat.base.name, record.boat.name),
                covariates=_covariates(record, part, spot),
            )


def _looks(record: Record, part: Part) -> Iterator[Look]:
    """Looks at the part up to the one that condemned it."""
    last = part.condemned or part.removed or 10**7
    for look in record.looks:
        included = look.only is None or part.stay.key in look.only
        if included and part.fitted <= look.day <= last:
            yield look


def _seen(look: Look, part: Part) -> list[str]:
    open_signs = ("not_seen", "not_sure")
    unseen = {row.place for row in look.noted if row.part is part and row.sign in open_signs}
    return [spot for spot in reach(look.visit.level, part) if spot not in unseen]


def _covariates(record: Record, part: Part, spot: str) -> dict[str, float]:
    boat = record.boat
    first = date.fromordinal(max(part.fitted, boat.record_since)).year
    last = date.fromordinal(part.removed or boat.end).year
    seasons = [boat.seasons[year] for year in range(first, last + 1)]
    miles = [math.log2(max(s.noted_miles or GUESSED_MILES, 200) / 3000) for s in seasons]
    use = {
        "severity": _mean([SEVERITY[season.base.corrosivity] for season in seasons]),
        "log2_miles": _mean(miles),
        "unstepped": _mean([season.unstepped for season in seasons]),
        "charter": float(boat.service == "charter"),
    }
    if part.kind != "wire":
        return use
    made = {"rod": part.construction == "rod", "mechanical": part.lower == "mechanical"}
    spots = {"run": spot == "run", "upper": spot == "upper"}
    return {name: float(value) for name, value in (spots | use | made).items()}


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)

"""The outlook as rows: of every part, of every boat, and by when to look at each boat."""

import datetime as dt
from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd

from fleet.models import Fleet, Installation
from inspections.due import months_after
from inspections.models import InspectBy

from ..life_data import Records
from ..life_data.covariates import COLUMNS
from ..life_data.records import SPOTS
from ..models import BoatOutlook, ModelRun, PartOutlook
from ..planning.outlook import Chance
from . import wording
from .prospects import (
    IN_1_YEAR,
    IN_2_YEARS,
    IN_3_YEARS,
    IN_5_YEARS,
    NOW,
    SEASON_END,
    Prospects,
)
from .schedule import LEVELS, day_after, intervals, look_hours
from .watches import first_watched

LONGEST_WAIT = 100.0  # years: a renewal further off is none
COMPREHENSIVE = ("aloft", "mast_down")
TOLD_APART = 0.3  # share of the variance between boats that a boat's own record takes away
LATER = {"season": SEASON_END, "2y": IN_2_YEARS, "3y": IN_3_YEARS}
DATES = {"now": NOW, "season": SEASON_END, "1y": IN_1_YEAR, **LATER, "5y": IN_5_YEARS}


def part_rows(
    prospects: Prospects, runs: Mapping[str, ModelRun], records: Records
) -> Iterator[PartOutlook]:
    """Yield the outlook of every part; condemned ones apart, with chance 1."""
    chances, parts = prospects.outlook.part_condemned, prospects.afloat.parts
    units = {kind: wording.unit_drivers(model) for kind, model in prospects.models.items()}
    covariates = _covariates(prospects)
    ahead = _further_ahead(prospects, runs)
    nearest = next_looks(prospects)
    found = _found_next(prospects, nearest)
    renewals = list(_renewals(prospects, runs))
    boats = prospects.outlook.boat_of_part
    watched = first_watched(records, parts["part"].tolist())
    for p, part in enumerate(parts.itertuples()):
        level, on = nearest[boats[p]]
        renew_by, why = renewals[p]
        yield PartOutlook(
            boat_id=part.boat,
            installation_id=part.part,
            run=runs[part.kind],
            as_of=prospects.as_of,
            age=_known_age(part),
            last_good=_last_good(part),
            watched={} if part.condemned else watched.get(part.part, {}),
            condemned=part.condemned,
            chance_now=float(chances.mean[p, NOW]),
            chance_next=float(found[p]),
            next_level=level,
            next_on=on,
            **_chance("1y", chances, p, IN_1_YEAR),
            **_chance("5y", chances, p, IN_5_YEARS),
            **ahead[p],
            renew_by=renew_by,
            renew_reason=why,
            drivers=wording.driver_words(covariates[p], units[part.kind]),
        )


def _chance(name: str, chances, p: int, horizon: int) -> dict[str, float]:
    return {
        f"chance_{name}": float(chances.mean[p, horizon]),
        f"chance_{name}_low": float(chances.low[p, horizon]),
        f"chance_{name}_high": float(chances.high[p, horizon]),
    }


def _further_ahead(prospects: Prospects, runs: Mapping[str, ModelRun]) -> list[dict[str, object]]:
    """Return for each part its chances at the further dates and looks, and what remains."""
    chances = prospects.outlook
    later = {name: chances.part_condemned.mean[:, at].tolist() for name, at in LATER.items()}
    found = {level: chances.part_found[level].mean.tolist() for level in LEVELS}
    remaining = np.where(np.isfinite(chances.remaining), chances.remaining, np.nan)
    oldest = {kind: run.inputs["oldest_age"] for kind, run in runs.items()}
    watched = prospects.afloat.parts["kind"].map(oldest).to_numpy(dtype=float)
    watched = np.maximum(watched - prospects.deciding_age, 0.0)
    return [
        {
            "later": {name: values[p] for name, values in later.items()},
            "found": {level: values[p] for level, values in found.items()},
            "remaining": [None if np.isnan(years) else years for years in remaining[p].tolist()],
            "watched_for": float(watched[p]),
        }
        for p in range(len(remaining))
    ]


def _known_age(part) -> float | None:
    if part.certainty == Installation.Certainty.UNKNOWN:
        return None
    return (part.oldest + part.youngest) / 2


def _last_good(part) -> dict[str, str]:
    days = {spot: getattr(part, spot, pd.NaT) for spot in SPOTS[part.kind]}
    return {spot: day.date().isoformat() for spot, day in days.items() if not pd.isna(day)}


def _covariates(prospects: Prospects) -> list[dict[str, float]]:
    table = prospects.afloat.table
    first_spots = table.X[table.part_starts]
    at = [table.columns.index(name) for name in COLUMNS]
    return [dict(zip(COLUMNS, row, strict=True)) for row in first_spots[:, at].tolist()]


def next_looks(prospects: Prospects) -> list[tuple[str, dt.date]]:
    """Return the level and day of each boat's next planned look, the deepest of those due first.

    A look that is late is to be had today.
    """
    nearest = []
    for days in prospects.looks[list(LEVELS)].itertuples(index=False):
        on = [max(day, prospects.as_of) for day in days]
        deepest = max(i for i, day in enumerate(on) if day == min(on))
        nearest.append((LEVELS[deepest], on[deepest]))
    return nearest


def _found_next(prospects: Prospects, nearest: list[tuple[str, dt.date]]) -> np.ndarray:
    """Return (P,) chance that the boat's next look finds the part condemned."""
    by_level = np.stack([prospects.outlook.part_found[level].mean for level in LEVELS])
    level = np.array([LEVELS.index(level) for level, _ in nearest])[prospects.outlook.boat_of_part]
    return by_level[level, np.arange(level.size)]


def _renewals(
    prospects: Prospects, runs: Mapping[str, ModelRun]
) -> Iterator[tuple[dt.date | None, str]]:
    """Yield by when and why each part is to be renewed: the earliest of rules and least cost."""
    parts, whose = prospects.afloat.parts, _whose_rule(prospects.fleet)
    flat = zip(prospects.renewal.flat_from, prospects.renewal.flat_until, strict=True)
    ages = zip(prospects.rule_age, flat, prospects.deciding_age, strict=True)
    for part, (rule, cost, age) in zip(parts.itertuples(), ages, strict=True):
        if part.condemned:
            yield prospects.as_of, "condemned: not to be loaded until it is renewed"
            continue
        left = min(rule, cost[1]) - age
        if left > LONGEST_WAIT:
            yield None, ""
            continue
        run = runs[part.kind]
        own = run.state != ModelRun.State.RULE_OF_THUMB
        known = part.certainty != Installation.Certainty.UNKNOWN
        oldest = run.inputs["oldest_age"]
        why = wording.renew_words(rule, cost, oldest, own, known, whose)
        yield day_after(prospects.as_of, left), why


def _whose_rule(fleet: Fleet) -> str:
    own, insurer = fleet.age_rule_years or np.inf, fleet.insurer_age_years or np.inf
    return "the insurer's rule" if insurer < own else "the fleet's rule"


def boat_rows(prospects: Prospects, records: Records) -> Iterator[BoatOutlook]:
    """Yield the outlook of every boat: that any part of it stands condemned, unseen."""
    chances = prospects.outlook.boat_condemned
    parts = np.bincount(prospects.outlook.boat_of_part)
    latest = latest_looks(records)
    lives = boat_lives(prospects)
    for b, boat in enumerate(prospects.outlook.boats.tolist()):
        yield BoatOutlook(
            boat_id=boat,
            as_of=prospects.as_of,
            parts=int(parts[b]),
            chance_now=float(chances.mean[b, NOW]),
            chance_now_low=float(chances.low[b, NOW]),
            chance_now_high=float(chances.high[b, NOW]),
            chance_1y=float(chances.mean[b, IN_1_YEAR]),
            chance_5y=float(chances.mean[b, IN_5_YEARS]),
            chance_failing=float(prospects.failing_boats[b]),
            after_level={
                level: float(left[b]) for level, left in prospects.inspect.after_now.items()
            },
            chances=_by_when(prospects, b),
            found=_by_look(prospects, b),
            life=lives.get(boat, []),
            rests_on_id=latest.get(boat),
            record=records.marks.get(boat, ""),
        )


def _by_when(prospects: Prospects, b: int) -> list[list]:
    """Return [by when, day, chance, its bounds] of a boat, the nearest day first."""
    as_of, chances = prospects.as_of, prospects.outlook.boat_condemned
    days = {"now": as_of, "season": prospects.seasons[b].next_starts}
    days |= {name: months_after(as_of, 12 * int(name[0])) for name in DATES if name[0].isdigit()}
    rows = [[name, days[name].isoformat(), *_bounded(chances, b, at)] for name, at in DATES.items()]
    return sorted(rows, key=lambda row: row[1])


def _by_look(prospects: Prospects, b: int) -> list[list]:
    """Return [level, day, chance, its bounds] that a boat's next look of each level finds one."""
    days = {level: max(prospects.looks[level].iloc[b], prospects.as_of) for level in LEVELS}
    return [
        [level, days[level].isoformat(), *_bounded(prospects.outlook.boat_found[level], b)]
        for level in LEVELS
    ]


def _bounded(chances: Chance, *at: int) -> list[float]:
    return [float(values[at]) for values in (chances.mean, chances.low, chances.high)]


def boat_lives(prospects: Prospects) -> dict[int, list[float]]:
    """Return boat -> how many times as long its wires last as others of their kind, with bounds.

    Only of boats told apart: whose record has taken at least so much of the doubt away.
    """
    wires = prospects.lives[Installation.Kind.WIRE]
    if not wires.boats.size:
        return {}
    told = 1 - wires.effects.var(axis=1) / np.mean(wires.spread**2)
    low, middle, high = np.exp(np.percentile(wires.effects, (5, 50, 95), axis=1))
    factors = np.column_stack((middle, low, high))[told >= TOLD_APART]
    return dict(zip(wires.boats[told >= TOLD_APART].tolist(), factors.tolist(), strict=True))


def latest_looks(records: Records) -> dict[int, int]:
    """Return boat -> its latest inspection, as primary keys."""
    return records.looks.groupby("boat")["inspection"].last().to_dict()


def inspect_by_rows(prospects: Prospects, records: Records) -> Iterator[InspectBy]:
    """Yield by when each boat is to be looked at: when risk asks for it, or sooner by rule.

    The rule is that of looks aloft and mast-down; deck checks are short and go on in between.
    """
    latest = latest_looks(records)
    for b, boat in enumerate(prospects.outlook.boats.tolist()):
        asked = min(_by_risk(prospects, b), _by_rule(prospects, b), key=lambda ask: ask[0])
        yield InspectBy(
            boat_id=boat,
            date=asked[0],
            level=asked[1],
            reason=asked[2],
            rests_on_id=latest.get(boat),
            as_of=prospects.as_of,
        )


def _by_rule(prospects: Prospects, b: int) -> tuple[dt.date, str, str]:
    """Return the earlier of the looks aloft and mast-down, from today on; both due: mast-down."""
    days = prospects.looks.iloc[b]
    days = {level: max(days[level], prospects.as_of) for level in COMPREHENSIVE}
    level = min(reversed(COMPREHENSIVE), key=days.get)
    chance = float(prospects.outlook.boat_condemned.mean[b, NOW])
    due = prospects.looks.iloc[b][level]
    reason = wording.look_by_rule(level, intervals(prospects.fleet)[level], due, chance)
    return days[level], level, reason


def _by_risk(prospects: Prospects, b: int) -> tuple[dt.date, str, str]:
    """Return the day the boat's chance reaches the fleet's limit, and the look to have by then."""
    years, limit = prospects.inspect.years[b], prospects.fleet.risk_limit
    if not np.isfinite(years):
        return dt.date.max, "", ""
    after = {level: float(left[b]) for level, left in prospects.inspect.after.items()}
    chance = float(prospects.inspect.chance[b])
    level = _worthwhile(chance, after, limit, look_hours(prospects.fleet))
    reason = wording.look_by_risk(level, chance, after[level], limit, late=years == 0)
    return day_after(prospects.as_of, float(years)), level, reason


def _worthwhile(
    chance: float, after: Mapping[str, float], limit: float, hours: Mapping[str, float]
) -> str:
    """Return the look that takes most off per hour, among those that bring it under the limit.

    Where none does, the one that leaves least: a short look that leaves the boat over the limit
    would only ask for the next one.
    """
    enough = [level for level in after if after[level] < limit]
    if not enough:
        return min(after, key=lambda level: (after[level], hours[level]))
    return max(enough, key=lambda level: (chance - after[level]) / hours[level])

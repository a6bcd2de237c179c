"""When each boat should next be looked at, and from where.

The date is when the chance that any part of the boat stands condemned, unseen, reaches the
fleet's limit. The level is the one whose inspection, finding all it sees good, lowers that chance
most per hour of work: what it does not see keeps its old last sight and its chance.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..survival.model import LifeModel
from .crossing import first_crossing
from .lifetimes import BoatRecords, LifeDraws, draw_lives
from .prospect import Prospect, each
from .spots import Standing

LIMIT = 0.15  # a boat; the fleet may change it
LONGEST = 5.0  # years
# Hours of one inspection. Aloft: a full rig survey to 12 m takes 2-3 h (published by surveyors);
# the others are common practice, no source.
HOURS = {"deck": 0.5, "aloft": 2.5, "mast_down": 8.0}


@dataclass(frozen=True, eq=False)
class InspectBy:
    """Per boat, in the order of `boats` (B,).

    years   (B,) from today until the limit is reached; 0 when it is passed already, inf when it
            is not reached within the horizon
    chance  (B,) that any part stands condemned unseen at that date (at the horizon where inf)
    after   level -> (B,) the chance left at that date after an inspection that finds all good
    level   (B,) str, the level that lowers the chance most per hour
    now, after_now  the chance today, and the chance an inspection today that finds all good leaves
    """

    boats: np.ndarray
    years: np.ndarray
    chance: np.ndarray
    after: dict[str, np.ndarray]
    level: np.ndarray
    now: np.ndarray
    after_now: dict[str, np.ndarray]


def inspect_by(
    models: Mapping[str, LifeModel],
    standing: Standing,
    *,
    limit: float = LIMIT,
    hours: Mapping[str, float] = HOURS,
    horizon: float = LONGEST,
    draws: int = 300,
    seed: int = 0,
    records: Mapping[str, BoatRecords] | None = None,
) -> InspectBy:
    """Inspect-by date and level of every boat; parts already judged *replace* do not count.

    ValueError unless 0 < limit < 1 and all hours are above 0.
    """
    lives = draw_lives(models, draws, seed, records=records)
    return inspect_by_of(lives, standing, limit=limit, hours=hours, horizon=horizon)


def inspect_by_of(
    lives: Mapping[str, LifeDraws],
    standing: Standing,
    *,
    limit: float = LIMIT,
    hours: Mapping[str, float] = HOURS,
    horizon: float = LONGEST,
) -> InspectBy:
    """`inspect_by` from draws at hand."""
    if not 0 < limit < 1:
        raise ValueError(f"The limit is a chance between 0 and 1, not {limit}.")
    if min(hours.values()) <= 0:
        raise ValueError("The hours of an inspection must be above 0.")
    n = standing.boats.size
    years, chance, now = np.empty(n), np.empty(n), np.empty(n)
    after = {level: np.empty(n) for level in hours}
    after_now = {level: np.empty(n) for level in hours}

    def look(prospect: Prospect, _: slice, boats: slice) -> None:
        years[boats] = _date(prospect, limit, horizon)
        at = np.minimum(years[boats], horizon)
        chance[boats] = 1 - _alive(prospect, at)
        now[boats] = 1 - _alive(prospect, np.zeros(at.size))
        for level in hours:
            hidden = ~prospect.standing.seen_by[level]
            after[level][boats] = 1 - _alive(prospect, at, hidden)
            after_now[level][boats] = 1 - _alive(prospect, np.zeros(at.size), hidden)

    each(lives, standing, look)
    level = _best(chance, after, hours)
    return InspectBy(standing.boats, years, chance, after, level, now, after_now)


def _date(prospect: Prospect, limit: float, horizon: float) -> np.ndarray:
    n = prospect.standing.boats.size
    return first_crossing(lambda ahead: _alive(prospect, ahead), 1 - limit, horizon, n)


def _alive(prospect: Prospect, ahead: np.ndarray, counted: np.ndarray | None = None) -> np.ndarray:
    """(B,) mean chance that nothing counted stands condemned `ahead` (B,) years from today."""
    parts = prospect.part_survival(prospect.per_part(ahead), counted)
    return prospect.boat_survival(parts).mean(axis=1)


def _best(
    chance: np.ndarray, after: Mapping[str, np.ndarray], hours: Mapping[str, float]
) -> np.ndarray:
    levels = np.array(list(after))
    gains = [(chance - after[level]) / hours[level] for level in after]
    return levels[np.argmax(gains, axis=0)]

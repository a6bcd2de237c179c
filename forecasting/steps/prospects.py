"""The forecast of a fleet as numbers: chances, ages and costs of every part and boat afloat."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from fleet.models import Base, Fleet, Installation

from ..accounts import policy
from ..life_data import LifeTable, Records
from ..planning.failing import BreakageRate, chance_of_failing, seasons_condemned
from ..planning.inspect_by import InspectBy, inspect_by_of
from ..planning.lifetimes import BoatRecords, LifeDraws, draw_lives
from ..planning.outlook import Outlook, outlook_of
from ..planning.renewal_ages import RenewalAges, renewal_ages_of
from ..planning.spots import LEVELS
from ..survival import RULE_OF_THUMB, RULE_SO_FAR, LifeModel
from .pricing import PartPrices, price
from .schedule import OffSeason, intervals, look_hours, off_season, planned_looks, years_from
from .standing import Afloat

DRAWS, SEED = 400, 20_260
LARGE, DRAWS_OF_LARGE = 10_000, 200  # parts: so many boats average out what fewer draws leave
OVER_A_SEASON = (0.0, 0.25, 0.5, 0.75, 1.0)
NOW, IN_1_YEAR, IN_2_YEARS, IN_3_YEARS, IN_5_YEARS, SEASON_END = 0, 4, 5, 6, 7, 8  # horizons


@dataclass(frozen=True, eq=False)
class Prospects:
    """What is likely, and what it costs. Arrays in the order of ``afloat.table``.

    looks     when each boat's next planned look of each level is due, a column a level
    seasons   the off season at hand or to come, per boat
    records   kind -> the lives of its fit, by boat; lives: kind -> draws, with the boats' effects
    outlook   chances at the horizons NOW, IN_1_YEAR and so on, and SEASON_END
    failing_parts, failing_boats   (P,), (B,) chance of failing in service within a season
    """

    fleet: Fleet
    as_of: dt.date
    models: Mapping[str, LifeModel]
    records: Mapping[str, BoatRecords]
    lives: Mapping[str, LifeDraws]
    afloat: Afloat
    looks: pd.DataFrame
    seasons: list[OffSeason]
    prices: PartPrices
    outlook: Outlook
    inspect: InspectBy
    breakage: BreakageRate
    failing_parts: np.ndarray
    failing_boats: np.ndarray
    renewal: RenewalAges

    @cached_property
    def rule_age(self) -> np.ndarray:
        """Return (P,) the age at which fleet or insurer asks for a new part, inf without one."""
        wire = (self.afloat.parts["kind"] == Installation.Kind.WIRE).to_numpy()
        rules = (self.fleet.age_rule_years, self.fleet.insurer_age_years)
        return np.where(wire, min(rule or np.inf for rule in rules), np.inf)

    @cached_property
    def deciding_age(self) -> np.ndarray:
        """Return (P,) ages to decide by: the oldest it can be where nobody knows."""
        parts = self.afloat.parts
        unknown = parts["certainty"] == Installation.Certainty.UNKNOWN
        middle = (parts["oldest"] + parts["youngest"]) / 2
        return parts["oldest"].where(unknown, middle).to_numpy(dtype=float)

    def years_to(self, days: list[dt.date]) -> np.ndarray:
        return np.array([years_from(self.as_of, day) for day in days])

    def looks_ahead(self, level: str) -> np.ndarray:
        """Return (B,) years to the next planned look of that level; 0 where it is late."""
        return np.maximum(self.years_to(list(self.looks[level])), 0.0)


def look_ahead(
    fleet: Fleet,
    records: Records,
    afloat: Afloat,
    models: Mapping[str, LifeModel],
    tables: Mapping[str, LifeTable],
) -> Prospects:
    """Return the prospects of all that stands, conditioned on what was last seen of it."""
    as_of, boats = records.as_of, afloat.boats
    looks = planned_looks(fleet, records, boats.index)
    seasons = _seasons(fleet, boats, as_of)
    ahead = {
        level: np.array([max(years_from(as_of, day), 0.0) for day in looks[level]])
        for level in LEVELS
    }
    season_end = np.array([years_from(as_of, season.next_starts) for season in seasons])
    by_boat = {kind: _by_boat(table) for kind, table in tables.items()}
    lives = draw_lives(models, enough_draws(afloat, DRAWS), SEED, records=by_boat)
    horizons = (*OVER_A_SEASON, 2.0, 3.0, 5.0, season_end)
    chances = outlook_of(lives, afloat.table, horizons=horizons, inspections=ahead)
    limit, hours = fleet.risk_limit, look_hours(fleet)
    rate = breakage_rate(records, models, tables)
    unseen = slice(0, len(OVER_A_SEASON))
    prices = price(fleet, afloat.parts, boats).times(policy.tax_factor(fleet, as_of))
    return Prospects(
        fleet=fleet,
        as_of=as_of,
        models=models,
        records=by_boat,
        lives=lives,
        afloat=afloat,
        looks=looks,
        seasons=seasons,
        prices=prices,
        outlook=chances,
        inspect=inspect_by_of(lives, afloat.table, limit=limit, hours=hours),
        breakage=rate,
        failing_parts=chance_of_failing(chances.part_condemned.mean[:, unseen], rate),
        failing_boats=chance_of_failing(chances.boat_condemned.mean[:, unseen], rate),
        renewal=_renewal(fleet, afloat, models, lives, prices, rate),
    )


def enough_draws(afloat: Afloat, usual: int) -> int:
    """Return how many draws to make for what stands."""
    return usual if len(afloat.parts) <= LARGE else min(usual, DRAWS_OF_LARGE)


def _by_boat(table: LifeTable) -> BoatRecords:
    return BoatRecords(table.lives, np.unique(table.rows["boat"].to_numpy(dtype=np.int64)))


def _seasons(fleet: Fleet, boats: pd.DataFrame, as_of: dt.date) -> list[OffSeason]:
    months = {base.pk: base.off_season() for base in _bases(fleet)}
    return [off_season(*months[base], as_of) for base in boats["base"]]


def _bases(fleet: Fleet) -> list[Base]:
    return list(Base.objects.of(fleet).select_related("fleet"))


def breakage_rate(
    records: Records, models: Mapping[str, LifeModel], tables: Mapping[str, LifeTable]
) -> BreakageRate:
    """Return the rate of breaking while condemned, updated by the breakages of this fleet."""
    failed = records.parts["reason"] == Installation.Removal.FAILED
    broke = records.parts["part"][failed]
    breakages, seasons = 0.0, 0.0
    for kind, table in tables.items():
        died = table.lives.take(table.lives.died)
        if not len(died):
            continue
        of_the_dead = table.rows["part"][table.lives.died]
        breakages += of_the_dead[of_the_dead.isin(broke)].nunique()
        model = models[kind]
        seasons += seasons_condemned(model, died.names, died.X, died.good, died.condemned)
    return BreakageRate().updated(breakages, seasons)


def _renewal(
    fleet: Fleet,
    afloat: Afloat,
    models: Mapping[str, LifeModel],
    lives: Mapping[str, LifeDraws],
    prices: PartPrices,
    rate: BreakageRate,
) -> RenewalAges:
    """Economic ages: an unplanned end costs the renewal in the season, and at times a failure."""
    planned, late, breaks = unplanned_costs(fleet, afloat, prices, rate)
    unplanned = late + breaks * prices.failure
    least = np.ones(planned.size)
    ages = renewal_ages_of(
        lives,
        afloat.table,
        np.maximum(planned, least),
        np.maximum(unplanned, least),
    )
    return _without(ages, by_rule_of_thumb(afloat, models))


def unplanned_costs(
    fleet: Fleet, afloat: Afloat, prices: PartPrices, rate: BreakageRate
) -> tuple[np.ndarray, np.ndarray, float]:
    """Return (P,) a planned renewal and (P,) one found condemned in the season, in minor units, and
    the share of unplanned ends that are failures.

    A part found condemned stood so for half the interval of looking aloft, on average.
    """
    wire = (afloat.parts["kind"] == Installation.Kind.WIRE).to_numpy()
    stood = intervals(fleet)["aloft"] / 12 / 2
    return prices.planned(mast_down=wire), prices.in_season(), min(1.0, rate.mean * stood)


def by_rule_of_thumb(afloat: Afloat, models: Mapping[str, LifeModel]) -> np.ndarray:
    """Return (P,) bool: common practice alone says how long a part of this kind lasts.

    It says where to look. It spends no money: such a part is renewed on what is seen, or by rule.
    """
    by_thumb = (RULE_OF_THUMB, RULE_SO_FAR)
    thumb = [kind for kind, model in models.items() if model.standing in by_thumb]
    return afloat.parts["kind"].isin(thumb).to_numpy()


def _without(ages: RenewalAges, left_out: np.ndarray) -> RenewalAges:
    """Return the ages with none for the parts left out: inspect and keep."""
    never = {
        name: np.where(left_out, np.inf, getattr(ages, name))
        for name in ("age", "cost_rate", "flat_from", "flat_until")
    }
    return replace(ages, **never)

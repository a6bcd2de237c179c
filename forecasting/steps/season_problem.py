"""The prospects of a fleet and one scenario, put as the season planner's question.

Chances of later seasons come from the same outlook as the refit list: what becomes condemnable
between the end of one season and the end of the next. Most of that is found within the year, so a
part stands condemned unseen for half of it, on average, and breaks at the fleet's rate meanwhile.
What common practice alone says of a part spends no money: such a part is planned by rule, or when
condemned, and what a look would settle is left to the look, as on the refit list.
"""

from collections.abc import Iterable

import numpy as np

from fleet.models import Base, Installation

from ..models import SEASONS, ScenarioBase, ScenarioMove, SeasonScenario
from ..planning.outlook import outlook_of
from ..planning.refit import RefitRules
from ..planning.seasons import (
    FREE,
    NO_DUE,
    Limits,
    MoneyRules,
    SeasonBoats,
    SeasonParts,
    SeasonProblem,
)
from .prospects import NOW, SEASON_END, Prospects
from .refit_rows import at_risk, looked_at_first, pairs
from .schedule import years_from

UNSEEN = 0.5  # share of a season for which what became condemned in it stands unseen


def season_problem(
    ahead: Prospects, scenario: SeasonScenario, moves: Iterable[ScenarioMove]
) -> tuple[SeasonProblem, np.ndarray]:
    """Return the question, and (P, Y) chances of being condemned in each season, nothing left out.

    Raises ValueError, in words, where a limit is no number a season.
    """
    chance = season_chances(ahead)
    boats = _boats(ahead, scenario)
    rules = MoneyRules(
        discount=scenario.discount,
        growth=ahead.fleet.price_growth,
        single_jobs=RefitRules().single_jobs,
        over_hours=float(ahead.prices.hour),
        over_crane=float(np.mean(boats.set_up_cost)),
        over_yard=float(np.mean(boats.set_up_cost)),
    )
    parts = _parts(ahead, chance, boats.leaves, moves)
    return SeasonProblem(parts, boats, limits_of(scenario), rules), chance


def season_ends(ahead: Prospects) -> np.ndarray:
    """(B, Y) years from today to the end of each sailing season, where an off season begins."""
    first = ahead.years_to([season.next_starts for season in ahead.seasons])
    return first[:, None] + np.arange(SEASONS)


def season_chances(ahead: Prospects) -> np.ndarray:
    """(P, Y) chance to become condemnable in each season, given what is known today."""
    ends = season_ends(ahead)
    horizons = [ends[:, y] for y in range(1, SEASONS)]
    later = outlook_of(ahead.lives, ahead.afloat.table, horizons=horizons, inspections={})
    by_end = np.column_stack(
        (ahead.outlook.part_condemned.mean[:, SEASON_END], later.part_condemned.mean)
    )
    first = at_risk(ahead)
    found = np.where(first < 1, (by_end[:, 0] - first) / np.where(first < 1, 1 - first, 1), 0)
    rest = np.maximum(np.diff(by_end, axis=1), 0) / np.maximum(1 - found, 1e-9)[:, None]
    return np.clip(np.column_stack((first, rest)), 0, 1)


def _parts(
    ahead: Prospects, chance: np.ndarray, leaves: np.ndarray, moves: Iterable[ScenarioMove]
) -> SeasonParts:
    parts, prices = ahead.afloat.parts, ahead.prices
    wears = np.isfinite(ahead.renewal.age)
    now = np.minimum(ahead.outlook.part_condemned.mean[:, NOW], chance[:, 0])
    settled = np.where(looked_at_first(ahead, chance[:, 0]), now, 0.0)
    counted = np.where(wears[:, None], chance, 0.0)
    counted[:, 0] = np.maximum(counted[:, 0] - settled, 0)
    failing = counted * UNSEEN * min(1.0, ahead.breakage.mean)
    failing[:, 0] = np.where(wears, ahead.failing_parts, 0.0)
    due, code = _due(ahead)
    pair, condemned = pairs(ahead), parts["condemned"].to_numpy(dtype=bool)
    pinned = _pinned(ahead, moves, pair)
    latest = np.where(due == NO_DUE, SEASONS, due)
    kept = (pinned <= latest) & (pinned < leaves[ahead.outlook.boat_of_part])
    kept |= (pinned == SEASONS) & (due == NO_DUE)
    return SeasonParts(
        part=parts["part"].to_numpy(),
        boat=parts["boat"].to_numpy(),
        pair=pair,
        condemned=condemned,
        due=due,
        due_code=code,
        price=prices.material.astype(float),
        up_price=prices.up_price.astype(float),
        hours_down=prices.hours,
        hours_up=prices.hours + prices.up_hours,
        needs_mast_down=np.zeros(pinned.size, dtype=bool),
        unplanned=prices.in_season().astype(float),
        failure=np.full(pinned.size, float(prices.failure)),
        chance=counted,
        failing=failing,
        worth=_worth(ahead, wears),
        single=(parts["kind"] == Installation.Kind.WIRE).to_numpy(),
        pinned=np.where(kept & ~condemned, pinned, FREE),  # a rule comes before a move by hand
    )


def _worth(ahead: Prospects, wears: np.ndarray) -> np.ndarray:
    """(P, Y) what is left of a new part after the last season: its price, straight down to 0 over
    the age at which it would be renewed again."""
    sailed = SEASONS - np.arange(SEASONS)
    life = np.minimum(ahead.renewal.age, ahead.rule_age)
    life = np.where(wears & (life > 0), life, 1.0)
    left = np.maximum(0.0, 1 - sailed / life[:, None])
    return np.where(wears[:, None], left * ahead.prices.material[:, None], 0.0)


def _due(ahead: Prospects) -> tuple[np.ndarray, np.ndarray]:
    """(P,) last season in which fleet or insurer let it be renewed, and whose rule that is."""
    boat, fleet = ahead.outlook.boat_of_part, ahead.fleet
    at_end = ahead.deciding_age[:, None] + season_ends(ahead)[boat]
    over = at_end >= ahead.rule_age[:, None]
    due = np.where(over.any(axis=1), over.argmax(axis=1), NO_DUE)
    own, insurer = (age or np.inf for age in (fleet.age_rule_years, fleet.insurer_age_years))
    code = "insurer" if insurer < own else "rule_age"
    return due, np.where(due >= 0, code, "")


def _pinned(ahead: Prospects, moves: Iterable[ScenarioMove], pair: np.ndarray) -> np.ndarray:
    """(P,) season each part was moved to by hand, its pair along with it; the last move counts."""
    parts = ahead.afloat.table.parts
    pinned = np.full(parts.size, FREE)
    for move in sorted(moves, key=lambda move: move.moved_at):
        mine = parts == move.installation_id
        both = mine | ((pair >= 0) & np.isin(pair, pair[mine]))
        pinned[both] = SEASONS if move.season is None else move.season
    return pinned


def _boats(ahead: Prospects, scenario: SeasonScenario) -> SeasonBoats:
    boats, prices = ahead.afloat.boats, ahead.prices
    one = np.ones(len(boats))
    return SeasonBoats(
        boat=boats.index.to_numpy(),
        base=boats["base"].to_numpy(),
        set_up_cost=prices.set_up_cost.astype(float),
        set_up_hours=prices.set_up_hours,
        crane=one,
        yard=one,
        unstepped=boats["mast_down"].to_numpy(dtype=bool),
        hour_rate=one * prices.hour,
        idle=one * float(scenario.idle_minor),
        leaves=_seasons_left(ahead),
    )


def _seasons_left(ahead: Prospects) -> np.ndarray:
    """(B,) how many of the sailing seasons the boat is still in the fleet for."""
    ends = season_ends(ahead)
    exits = [
        years_from(ahead.as_of, day.date()) if day == day else np.inf  # NaT is not itself
        for day in ahead.afloat.boats["planned_exit"]
    ]
    return (np.array(exits)[:, None] >= ends).sum(axis=1)


def limits_of(scenario: SeasonScenario) -> Limits:
    """The scenario's limits; a base it says nothing of is not limited."""
    said = {row.base_id: row for row in ScenarioBase.objects.filter(scenario=scenario)}
    bases = [base.pk for base in Base.objects.of(scenario.fleet).order_by("pk")]
    lifts = scenario.boats_a_crane_day

    def table(name: str, times: float = 1.0) -> np.ndarray:
        rows = [_row(getattr(said[pk], name) if pk in said else []) for pk in bases]
        return np.array(rows).reshape(len(bases), SEASONS) * times

    return Limits(
        base=np.array(bases),
        money=_row(scenario.money),
        hours=table("hours"),
        crane=table("crane_days", lifts),
        yard=table("yard_slots"),
    )


def _row(numbers: list) -> np.ndarray:
    if not numbers:
        return np.full(SEASONS, np.inf)
    if len(numbers) != SEASONS:
        raise ValueError(f"A limit needs {SEASONS} numbers, one a season: {numbers}.")
    return np.array(numbers, dtype=float)

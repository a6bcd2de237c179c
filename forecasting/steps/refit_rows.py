"""The refit list of the coming off season as rows: the parts to renew, and the boats' set-ups.

A part is listed for its cost only where keeping it costs clearly more than the least: past the ages
between which the cost a year is within 2 % of it. What a planned look will see before the coming
season counts as looked at: if it is condemned then, it is renewed then, without the extra cost of
an unplanned end. Where most of the risk is doubt that a look would settle, the answer is to look.
"""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..models import RefitJob
from ..planning.refit import COST_AGE, WAITING, RefitBoats, RefitParts, pair_codes, refit_list
from ..planning.spots import LEVELS
from ..planning.work import BoatRefit, Job, RefitList
from . import wording
from .prospects import NOW, SEASON_END, Prospects
from .schedule import years_from

CLEARLY = 1.5  # times the cost a year of a new part: where the flat band ends, for a shape of 3
SET_UP = "mast_down"
SET_UP_REASON = "Mast down and up again, once for all the jobs on this boat."


def refit(prospects: Prospects) -> RefitList:
    """Return what is to be renewed in the coming off season, boat by boat.

    No part is renewed for its age on a boat that leaves the fleet before the off season after.
    """
    return refit_list(_parts(prospects), _boats(prospects))


def pairs(prospects: Prospects) -> np.ndarray:
    """Return (P,) code shared by both sides of a pair of wires, -1 without one."""
    parts = prospects.afloat.parts
    place = (parts[name].to_numpy() for name in ("boat", "stay_name", "mast", "side", "kind"))
    return pair_codes(*place)


def staying(prospects: Prospects) -> np.ndarray:
    """Return (B,) bool: still in the fleet when the off season after the coming one begins."""
    exits = prospects.afloat.boats["planned_exit"]
    needed = pd.to_datetime([season.next_starts for season in prospects.seasons])
    return ~(exits < needed).to_numpy()


def at_risk(prospects: Prospects) -> np.ndarray:
    """Return (P,) chance of being condemnable by the season's end, unless found so before it."""
    by_end = prospects.outlook.part_condemned.mean[:, SEASON_END]
    found = np.zeros(by_end.size)
    for level in LEVELS:
        looks = zip(prospects.looks[level], prospects.seasons, strict=True)
        before = np.array([day <= season.ends for day, season in looks])
        looked_at = before[prospects.outlook.boat_of_part] & _sees_all(prospects, level)
        by_then = np.where(looked_at, prospects.outlook.part_found[level].mean, 0.0)
        found = np.maximum(found, np.minimum(by_then, by_end))
    return np.where(found < 1, (by_end - found) / np.where(found < 1, 1 - found, 1), by_end)


def looked_at_first(prospects: Prospects, chance: np.ndarray) -> np.ndarray:
    """Return (P,) bool: half the risk or more is that the part stands condemned, unseen, today."""
    before = np.minimum(prospects.outlook.part_condemned.mean[:, NOW], chance)
    by_end = prospects.outlook.part_condemned.mean[:, SEASON_END]
    not_looked_at = chance >= by_end
    return not_looked_at & (before >= 0.5 * chance)


def _sees_all(prospects: Prospects, level: str) -> np.ndarray:
    """Return (P,) bool: a look of that level sees every spot of the part."""
    table = prospects.afloat.table
    return np.logical_and.reduceat(table.seen_by[level], table.part_starts)


def _parts(prospects: Prospects) -> RefitParts:
    parts, prices = prospects.afloat.parts, prospects.prices
    boat = prospects.outlook.boat_of_part
    stays = staying(prospects)[boat]
    chance, too_dear = at_risk(prospects), CLEARLY * prospects.renewal.cost_rate
    return RefitParts(
        part=parts["part"].to_numpy(),
        boat=parts["boat"].to_numpy(),
        kind=parts["kind"].to_numpy(dtype=str),
        pair=pairs(prospects),
        age=prospects.deciding_age,
        condemned=parts["condemned"].to_numpy(dtype=bool),
        rule_age=np.where(stays, prospects.rule_age, np.inf),
        cost_age=np.where(stays, prospects.renewal.flat_until, np.inf),
        chance=chance,
        failing=prospects.failing_parts,
        price=prices.material,
        hours_up=prices.hours + prices.up_hours,
        hours_down=prices.hours,
        unplanned=prices.in_season(),
        failure=np.full(chance.size, prices.failure),
        yearly_cost=np.where(looked_at_first(prospects, chance), np.inf, too_dear),
        needs_mast_down=np.zeros(chance.size, dtype=bool),
    )


def _boats(prospects: Prospects) -> RefitBoats:
    boats, prices = prospects.afloat.boats, prospects.prices
    return RefitBoats(
        boat=boats.index.to_numpy(),
        base=boats["base"].to_numpy(),
        season_end=prospects.years_to([season.next_starts for season in prospects.seasons]),
        set_up_cost=prices.set_up_cost,
        set_up_hours=prices.set_up_hours,
        hour_rate=np.full(len(boats), prices.hour),
        unstepped=boats["mast_down"].to_numpy(dtype=bool),
    )


def refit_rows(prospects: Prospects, work: RefitList) -> Iterator[RefitJob]:
    """Yield a row for every job and for every boat whose mast comes down for them."""
    seasons = dict(zip(prospects.afloat.boats.index, prospects.seasons, strict=True))
    at = {part: p for p, part in enumerate(prospects.afloat.table.parts.tolist())}
    for boat in work.boats:
        label = seasons[boat.boat].label
        for job in boat.jobs:
            yield _job(prospects, job, at[job.part], label)
        if boat.set_up_cost or boat.set_up_hours:
            yield _set_up(boat, label)


def _job(prospects: Prospects, job: Job, p: int, season: str) -> RefitJob:
    """With the mast up a wire costs more than its hours: a price of its own, not in the job."""
    extra = 0 if job.mast_down else int(prospects.prices.up_price[p])
    chance = float(prospects.outlook.part_condemned.mean[p, SEASON_END])
    return RefitJob(
        boat_id=job.boat,
        installation_id=job.part,
        season=season,
        code=job.reason,
        reason=_reason(prospects, job, p, chance),
        must=job.deferral is None,
        hours=job.hours,
        cost_minor=job.cost + extra,
        put_off_minor=job.deferral or 0,
        chance=chance,
    )


def _reason(prospects: Prospects, job: Job, p: int, chance: float) -> str:
    if job.reason == COST_AGE:
        end = prospects.seasons[prospects.outlook.boat_of_part[p]].next_starts
        age = prospects.deciding_age[p] + years_from(prospects.as_of, end)
        renewal = prospects.renewal
        return wording.past_cost_age(age, (renewal.flat_from[p], renewal.flat_until[p]))
    return wording.dear_to_keep(chance) if job.reason == WAITING else job.sentence


def _set_up(boat: BoatRefit, season: str) -> RefitJob:
    return RefitJob(
        boat_id=boat.boat,
        season=season,
        code=SET_UP,
        reason=SET_UP_REASON,
        hours=boat.set_up_hours,
        cost_minor=boat.set_up_cost,
        put_off_minor=0,
    )

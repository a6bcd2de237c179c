"""The refit list: what is renewed on which boat in the coming off season, and why.

Rules, the first that holds gives the reason:

condemned    judged *replace*: not to be loaded until it is renewed
rule_age     the age at which the fleet or its insurer renews falls before the season's end
cost_age     so does the age that costs least in the long run (`renewal_age`)
waiting      putting it off costs more than it saves: a season's deferral, P(condemned) x
             (unplanned - planned cost) + P(failing) x cost of a failure, is above the long-run
             cost per year of a new part
pair         the other side of its pair is renewed; both go together (common practice, trade press)

The mast comes down for more than a few wires, and its set-up is paid once per boat. Weighing boats
against budget and yard slots is left to the season planner; this list is what it starts from.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .work import BoatRefit, Job, RefitList

CONDEMNED, RULE_AGE, COST_AGE, WAITING, PAIR = (
    "condemned",
    "rule_age",
    "cost_age",
    "waiting",
    "pair",
)
REASONS = (CONDEMNED, RULE_AGE, COST_AGE, WAITING, PAIR)  # by weight
NOT_LISTED = ""


@dataclass(frozen=True, eq=False)
class RefitParts:
    """The standing parts, (P,) each. Money in integer minor units; ages and times in years.

    part, boat      int codes
    kind            str; masts come down for many of kind `wire`
    pair            int code shared by both sides of a pair, -1 without one (`pair_codes`)
    age             today; condemned: bool, judged *replace*
    rule_age        age at which fleet or insurer renews, inf without such a rule
    cost_age        economic age, inf where there is none
    chance          of being condemnable by the season's end (outlook)
    failing         chance of letting go in that season (`chance_of_failing`)
    price           of the new part; hours_up, hours_down: to fit it with the mast up, down
    unplanned       cost of the same renewal when it comes unplanned
    failure         cost of a failure in service on top
    yearly_cost     long-run cost per year of a new part
    needs_mast_down bool, cannot be renewed with the mast up
    """

    part: np.ndarray
    boat: np.ndarray
    kind: np.ndarray
    pair: np.ndarray
    age: np.ndarray
    condemned: np.ndarray
    rule_age: np.ndarray
    cost_age: np.ndarray
    chance: np.ndarray
    failing: np.ndarray
    price: np.ndarray
    hours_up: np.ndarray
    hours_down: np.ndarray
    unplanned: np.ndarray
    failure: np.ndarray
    yearly_cost: np.ndarray
    needs_mast_down: np.ndarray


@dataclass(frozen=True, eq=False)
class RefitBoats:
    """(B,) boats by ascending code, one for every boat a part names.

    season_end: years from today to the end of the season after the refit. set_up_cost,
    set_up_hours: mast down and up again; hour_rate: minor units. unstepped: the mast comes down
    anyway, its set-up is not the refit's.
    """

    boat: np.ndarray
    base: np.ndarray
    season_end: np.ndarray
    set_up_cost: np.ndarray
    set_up_hours: np.ndarray
    hour_rate: np.ndarray
    unstepped: np.ndarray


@dataclass(frozen=True)
class RefitRules:
    """single_jobs: so many wires of a boat are still renewed one by one, mast up.
    spare_partner_under: a pair's other side younger than this stays (0: pairs always together)."""

    single_jobs: int = 4
    spare_partner_under: float = 0.0


def pair_codes(
    boat: np.ndarray, stay: np.ndarray, mast: np.ndarray, side: np.ndarray, kind: np.ndarray
) -> np.ndarray:
    """(P,) code shared by the port and starboard wires of one place; -1 for parts without a pair.

    Only wires go together; a turnbuckle or chainplate is renewed on its own.
    """
    named = np.isin(side, ("port", "starboard")) & (np.asarray(kind) == "wire")
    place = np.rec.fromarrays([boat, np.asarray(stay, str), np.asarray(mast, str)])
    _, code, count = np.unique(place[named], return_inverse=True, return_counts=True)
    pair = np.full(len(named), -1)
    pair[named] = np.where(count[code] > 1, code, -1)
    return pair


def refit_list(parts: RefitParts, boats: RefitBoats, rules: RefitRules | None = None) -> RefitList:
    """The jobs of the coming off season, by boat. ValueError for a part on a boat not given."""
    rules = rules or RefitRules()
    boat = _positions(parts.boat, boats.boat)
    alone = _cost(parts, boats, boat, np.zeros(boats.boat.size, dtype=bool))
    reason = _reasons(parts, boats, boat, _deferral(parts, alone))
    reason = _with_pairs(parts, reason, rules)
    down = _mast_down(parts, boats, boat, reason, rules)
    planned = _cost(parts, boats, boat, down)
    deferral = np.rint(_deferral(parts, planned)).astype(np.int64)
    jobs = _jobs(parts, boats, boat, reason, down, np.rint(planned).astype(np.int64), deferral)
    return RefitList(tuple(_boat_refits(boats, down, jobs)))


def _positions(codes: np.ndarray, boats: np.ndarray) -> np.ndarray:
    at = np.searchsorted(boats, codes)
    known = np.zeros(codes.size, dtype=bool)
    known[at < boats.size] = boats[at[at < boats.size]] == codes[at < boats.size]
    if not known.all():
        raise ValueError(f"Boat {codes[~known][0]} carries parts but is not among the boats.")
    return at


def _cost(parts: RefitParts, boats: RefitBoats, boat: np.ndarray, down: np.ndarray) -> np.ndarray:
    """(P,) cost of a planned renewal, not rounded, by whether the mast of its boat is down (B,)."""
    return parts.price + _hours(parts, down[boat]) * boats.hour_rate[boat]


def _hours(parts: RefitParts, down: np.ndarray) -> np.ndarray:
    return np.where(down, parts.hours_down, parts.hours_up)


def _deferral(parts: RefitParts, planned: np.ndarray) -> np.ndarray:
    """(P,) expected cost of one season's deferral."""
    dearer = np.maximum(parts.unplanned - planned, 0)
    return parts.chance * dearer + parts.failing * parts.failure


def _reasons(
    parts: RefitParts, boats: RefitBoats, boat: np.ndarray, deferral: np.ndarray
) -> np.ndarray:
    at_end = parts.age + boats.season_end[boat]
    wears = np.isfinite(parts.cost_age)
    return np.select(
        [
            parts.condemned,
            at_end >= parts.rule_age,
            at_end >= parts.cost_age,
            wears & (deferral > parts.yearly_cost),
        ],
        [CONDEMNED, RULE_AGE, COST_AGE, WAITING],
        NOT_LISTED,
    )


def _with_pairs(parts: RefitParts, reason: np.ndarray, rules: RefitRules) -> np.ndarray:
    going = np.unique(parts.pair[(reason != NOT_LISTED) & (parts.pair >= 0)])
    partner = np.isin(parts.pair, going) & (reason == NOT_LISTED)
    return np.where(partner & (parts.age >= rules.spare_partner_under), PAIR, reason)


def _mast_down(
    parts: RefitParts, boats: RefitBoats, boat: np.ndarray, reason: np.ndarray, rules: RefitRules
) -> np.ndarray:
    """(B,) bool: the mast comes down for this boat's jobs."""
    listed = reason != NOT_LISTED
    n = boats.boat.size
    jobs = np.bincount(boat[listed], minlength=n)
    wires = np.bincount(boat[listed & (parts.kind == "wire")], minlength=n)
    needed = np.bincount(boat[listed & parts.needs_mast_down], minlength=n)
    return (wires > rules.single_jobs) | (needed > 0) | ((jobs > 0) & boats.unstepped)


def _jobs(
    parts: RefitParts,
    boats: RefitBoats,
    boat: np.ndarray,
    reason: np.ndarray,
    down: np.ndarray,
    cost: np.ndarray,
    deferral: np.ndarray,
) -> dict[int, list[Job]]:
    """Jobs by position of the boat, the weightiest first."""
    listed = np.flatnonzero(reason != NOT_LISTED)
    rank = [REASONS.index(r) for r in reason[listed]]
    hours = _hours(parts, down[boat])
    jobs = defaultdict(list)
    for i in listed[np.lexsort((parts.part[listed], -deferral[listed], rank))]:
        b = int(boat[i])
        putting_off = None if reason[i] == CONDEMNED else int(deferral[i])
        sentence = _sentence(parts, int(i), str(reason[i]), float(boats.season_end[b]))
        jobs[b].append(
            Job(
                part=int(parts.part[i]),
                boat=int(parts.boat[i]),
                reason=str(reason[i]),
                sentence=sentence,
                mast_down=bool(down[b]),
                hours=float(hours[i]),
                cost=int(cost[i]),
                deferral=putting_off,
                chance=1.0 if putting_off is None else float(parts.chance[i]),
            )
        )
    return jobs


def _sentence(parts: RefitParts, i: int, reason: str, season_end: float) -> str:
    at_end = parts.age[i] + season_end
    return {
        CONDEMNED: "Condemned: not to be loaded until it is renewed.",
        RULE_AGE: f"{at_end:.1f} years old by the season's end; the rule is to renew at "
        f"{parts.rule_age[i]:g}.",
        COST_AGE: f"{at_end:.1f} years old by the season's end; renewing at "
        f"{parts.cost_age[i]:.1f} costs least in the long run.",
        WAITING: f"{parts.chance[i]:.0%} likely to be condemned by the season's end: another "
        "season would cost more than a year of a new part.",
        PAIR: "The other side of the pair is renewed; both go together.",
    }[reason]


def _boat_refits(
    boats: RefitBoats, down: np.ndarray, jobs: dict[int, list[Job]]
) -> Iterator[BoatRefit]:
    for b in sorted(jobs):
        set_up = bool(down[b] and not boats.unstepped[b])
        yield BoatRefit(
            boat=int(boats.boat[b]),
            base=int(boats.base[b]),
            mast_down=bool(down[b]),
            jobs=tuple(jobs[b]),
            set_up_hours=float(boats.set_up_hours[b]) if set_up else 0.0,
            set_up_cost=int(boats.set_up_cost[b]) if set_up else 0,
        )

"""From a solution back to parts, boats and money: each job, why, and what waiting costs."""

import numpy as np

from . import words
from .patterns import best_plans, plans_of, priced, totals
from .problem import KINDS_OF_LIMIT, SeasonProblem
from .result import Binding, BoatSeason, Excess, SeasonJob, SeasonPlan
from .solving import Solution
from .tableau import Tableau, season_costs

WORTH_SAYING = 1e-9


def report(
    problem: SeasonProblem,
    t: Tableau,
    found: Solution,
    excess: np.ndarray | None,
    waits: bool,
) -> SeasonPlan:
    plans = plans_of(t, found.choice, found.mast)
    used = totals(t, plans.use)
    used[0] *= t.unit
    jobs = tuple(_jobs(problem, t, found))
    return SeasonPlan(
        jobs=jobs,
        mast_down=tuple(_masts(problem, t, found)),
        cost=_minor(found.cost, t),
        bound=_minor(found.bound, t),
        gap=found.gap,
        work=round(float(used[0].sum())),
        put_off=_minor(_waiting(problem, t, found), t),
        used=_by_kind(used, t),
        binding=tuple(_binding(problem, t, found)),
        condemned_wait=waits and bool((found.choice[t.condemned] > 0).any()),
        excess=tuple(_excess(problem, t, excess)) if excess is not None else (),
    )


def _minor(money: float, t: Tableau) -> int:
    return round(float(money) * t.scale)


def _by_kind(table: np.ndarray, t: Tableau) -> dict[str, np.ndarray]:
    kinds = np.split(table, [1, 1 + t.bases, 1 + 2 * t.bases])
    return dict(zip(KINDS_OF_LIMIT, kinds, strict=True))


def _waits(problem: SeasonProblem, t: Tableau) -> np.ndarray:
    """(U, Y) worth today of each season sailed with the old parts, or not sailed."""
    season = np.zeros(t.up.shape)
    np.add.at(season, t.part_unit, season_costs(problem) / t.scale)
    idle = _idle(problem, t)
    season += np.where(t.condemned[:, None], idle[t.boat], 0.0)
    y = np.arange(t.seasons)
    return season * (1 + problem.money.discount) ** -y.astype(float)


def _waiting(problem: SeasonProblem, t: Tableau, found: Solution) -> float:
    """Worth today of all that waits until it is renewed."""
    y = np.arange(t.seasons)
    return float((_waits(problem, t) * (y < found.choice[:, None])).sum())


def _idle(problem: SeasonProblem, t: Tableau) -> np.ndarray:
    """(B, Y) cost of each season a boat does not sail."""
    order = np.argsort(problem.boats.boat, kind="stable")
    y = np.arange(t.seasons)
    still = y < problem.boats.leaves[order][:, None]
    grown = (1 + problem.money.growth) ** y
    return problem.boats.idle[order][:, None] * still * grown / t.scale


def _jobs(problem: SeasonProblem, t: Tableau, found: Solution):
    """One a part, by boat and part."""
    parts, boats = problem.parts, problem.boats
    costs, would_be = season_costs(problem), _unlimited(t)
    codes, short = _codes(problem, t, found, would_be)
    rate = dict(zip(boats.boat.tolist(), boats.hour_rate.tolist(), strict=True))
    for p in np.lexsort((parts.part, parts.boat)):
        unit = t.part_unit[p]
        season = int(found.choice[unit])
        done, at = season < t.seasons, min(season, t.seasons - 1)
        down = bool(done and found.mast[t.boat[unit], at])
        hours = float((parts.hours_down if down else parts.hours_up)[p]) if done else 0.0
        price = parts.price[p] + (0 if down else parts.up_price[p])
        cost = (price + hours * rate[int(parts.boat[p])]) * (1 + problem.money.growth) ** at
        after = at if done else 0
        yield SeasonJob(
            part=int(parts.part[p]),
            boat=int(parts.boat[p]),
            season=season if done else None,
            mast_down=down,
            hours=hours,
            cost=int(np.rint(cost)) if done else 0,
            code=codes[p],
            sentence=words.reason(codes[p], str(parts.due_code[p]), short[unit]),
            deferral=None if t.condemned[unit] else round(float(costs[p, after])),
            chance=1.0 if parts.condemned[p] else float(parts.chance[p, after]),
            would_be=int(would_be[unit]) if would_be[unit] < t.seasons else None,
        )


def _unlimited(t: Tableau) -> np.ndarray:
    """(U,) the season of each unit if nothing were limited."""
    return best_plans(t, priced(t, np.zeros_like(t.caps)))[1].choice


def _codes(problem: SeasonProblem, t: Tableau, found: Solution, would_be: np.ndarray):
    """(P,) codes of the reasons; (U,) the kind of limit that moved a unit, blank if none."""
    parts, choice = problem.parts, found.choice[t.part_unit]
    free = would_be[t.part_unit]
    at_due = (parts.due >= 0) & _dearer_than_never(problem, t, found)[t.part_unit]
    codes = np.select(
        [
            parts.condemned,
            t.condemned[t.part_unit],
            parts.pinned >= 0,
            at_due,
            choice > free,
            choice < free,
            choice == t.seasons,
            _shares(t, found)[t.part_unit],
        ],
        [words.CONDEMNED, words.WITH_CONDEMNED, words.PINNED, words.HELD, words.LATER,
         words.EARLIER, words.KEEP, words.WITH_MAST],
        words.PAYS,
    )  # fmt: skip
    return codes.tolist(), _short(t, found, would_be)


def _dearer_than_never(problem: SeasonProblem, t: Tableau, found: Solution) -> np.ndarray:
    """(U,) bool: renewed, and leaving it would be expected to cost no more."""
    at, units = np.minimum(found.choice, t.seasons - 1), np.arange(found.choice.size)
    cost = np.where(found.mast[t.boat, at], t.down[units, at], t.up[units, at])
    return (found.choice < t.seasons) & (cost >= _waits(problem, t).sum(axis=1))


def _shares(t: Tableau, found: Solution) -> np.ndarray:
    """(U,) bool: would be left, if it had to bear the mast's set-up or be done with it up."""
    at = np.minimum(found.choice, t.seasons - 1)
    units = np.arange(at.size)
    alone = t.down[units, at] + t.set_up[t.boat, at]
    return found.mast[t.boat, at] & (np.minimum(alone, t.up.min(axis=1)) > t.never)


def _short(t: Tableau, found: Solution, would_be: np.ndarray) -> list[str]:
    """(U,) the kind whose price weighed most in the season the unit was moved away from."""
    season, units = np.minimum(would_be, t.seasons - 1), np.arange(would_be.size)
    of_base = found.prices[1:].reshape(3, t.bases, t.seasons)[:, t.base[t.boat], season]
    hours, crane, yard = of_base
    money = found.prices[0, season]
    set_up = (t.boat, season)
    weight = np.column_stack(
        (
            money * (t.money_down[units, season] + t.set_up_money[set_up]),
            hours * (t.hours_down[units, season] + t.set_up_hours[set_up]),
            crane * t.crane[set_up],
            yard * t.yard[set_up],
        )
    )
    kinds = np.array(KINDS_OF_LIMIT)[weight.argmax(axis=1)]
    moved = (found.choice != would_be) & (weight.max(axis=1) > WORTH_SAYING)
    return np.where(moved, kinds, "").tolist()


def _masts(problem: SeasonProblem, t: Tableau, found: Solution):
    worked = np.zeros((t.base.size, t.seasons + 1), dtype=bool)
    worked[t.boat, found.choice] = True
    base = dict(zip(problem.boats.boat.tolist(), problem.boats.base.tolist(), strict=True))
    ours = t.crane + t.yard + t.set_up_money + t.set_up_hours > 0  # else it comes down anyway
    for b, y in zip(*np.nonzero(found.mast & worked[:, :-1] & ours), strict=True):
        boat = int(t.codes[b])
        yield BoatSeason(
            boat=boat,
            base=int(base[boat]),
            season=int(y),
            set_up_cost=round(float(t.set_up_money[b, y] * t.unit)),
            set_up_hours=float(t.set_up_hours[b, y]),
            crane=float(t.crane[b, y]),
            yard=float(t.yard[b, y]),
        )


def _row(problem: SeasonProblem, t: Tableau, row: int) -> tuple[str, int | None]:
    if row == 0:
        return "money", None
    kind, base = divmod(row - 1, t.bases)
    return KINDS_OF_LIMIT[1 + kind], int(np.sort(problem.limits.base)[base])


def _binding(problem: SeasonProblem, t: Tableau, found: Solution):
    for row, y in zip(*np.nonzero(found.prices > WORTH_SAYING), strict=True):
        unit = t.scale if row else t.scale / t.unit
        kind, base = _row(problem, t, int(row))
        limit = float(t.caps[row, y]) * (1.0 if row else t.unit)
        yield Binding(kind, base, int(y), limit, float(found.prices[row, y]) * unit)


def _excess(problem: SeasonProblem, t: Tableau, excess: np.ndarray):
    """By how much the limits asked for fall short; t has them raised already."""
    for row, y in zip(*np.nonzero(excess > 0), strict=True):
        kind, base = _row(problem, t, int(row))
        unit = 1.0 if row else t.unit
        limit = problem.limits.tables()[kind]
        place = 0 if base is None else int(np.flatnonzero(problem.limits.base == base)[0])
        yield Excess(kind, base, int(y), float(limit[place, y]), float(excess[row, y]) * unit)

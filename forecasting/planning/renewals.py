"""Simulated renewals over the years to come: delayed renewal, one future per draw of the models.

Each spot gets a moment at which it becomes condemnable: in the first cycle given that it was good
when last seen and what looks reported of it, afterwards from new. The first inspection that sees a
condemnable spot finds it, and that ends the cycle; so does the age at which the fleet renews by
rule, or a breakage before either. Parts renewed together (a pair) are one unit and end together.

Weibull lives are drawn in single precision, which is right to half a minute in fifteen years.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields

import numpy as np

from .failing import BreakageRate
from .lifetimes import LifeDraws, age_at, log_survival_at
from .spot_groups import Futures, SpotGroups, grouped
from .spots import Standing

PLANNED, CONDEMNED, FAILED = (np.int8(code) for code in range(3))

Lives = Callable[[Futures, np.ndarray], np.ndarray]


@dataclass(frozen=True, eq=False)
class Policy:
    """How the boats are kept. (P,) per part and (B,) per boat, as in the standing table.

    renew_at        (P,) age by which parts are renewed by rule, inf for never
    booked          (P,) bool, renewed in the coming refit whatever happens
    renewed_with    (P,) int code: parts of one kind with one code on a boat go together; one that
                    goes alone has a code of its own
    joins, leaves   (B,) years from today; a boat's renewals count, and are done, in between
    first_refit     (B,) years from today of the coming refit: booked and condemned parts
    inspections     level -> (next, every), (B,) years: next from today, then at that interval
    breakage        breakages per season condemned, None to leave failures in service out
    Raises ValueError where an age of renewal or an interval of inspection is not above 0.
    """

    renew_at: np.ndarray
    booked: np.ndarray
    renewed_with: np.ndarray
    joins: np.ndarray
    leaves: np.ndarray
    first_refit: np.ndarray
    inspections: Mapping[str, tuple[np.ndarray, np.ndarray]]
    breakage: BreakageRate | None = None

    def __post_init__(self) -> None:
        if (self.renew_at <= 0).any():
            raise ValueError("An age to renew at must be above 0.")
        for level, (_, every) in self.inspections.items():
            if not (np.isfinite(every) & (every > 0)).all():
                raise ValueError(f"The interval of the {level} inspection must be above 0.")

    def of(self, parts: slice | np.ndarray, boats: slice) -> "Policy":
        """The policy of these parts and boats only."""
        plans = {level: (n[boats], e[boats]) for level, (n, e) in self.inspections.items()}
        return Policy(
            self.renew_at[parts],
            self.booked[parts],
            self.renewed_with[parts],
            self.joins[boats],
            self.leaves[boats],
            self.first_refit[boats],
            plans,
            self.breakage,
        )


@dataclass(frozen=True, eq=False)
class Renewals:
    """(E,) renewals of units: unit, draw: int; time: years from today; cause: PLANNED, CONDEMNED
    or FAILED; known: condemned before today, and so part of the coming refit."""

    unit: np.ndarray
    draw: np.ndarray
    time: np.ndarray
    cause: np.ndarray
    known: np.ndarray

    def take(self, keep: np.ndarray) -> "Renewals":
        """Some of them."""
        return Renewals(*(getattr(self, each.name)[keep] for each in fields(self)))


def every_cycle(cycles: Iterable[Renewals]) -> Renewals:
    """All cycles as one table."""
    none, no_time = np.empty(0, dtype=np.int64), np.empty(0)
    found = [Renewals(none, none, no_time, none, none > 0), *cycles]
    return Renewals(*(np.concatenate([getattr(each, f.name) for each in found])
                      for f in fields(Renewals)))  # fmt: skip


class Units:
    """Units of one kind of part: rows of spots sorted by boat and unit, parts sorted alike."""

    def __init__(self, standing: Standing, policy: Policy, kind: str) -> None:
        code = policy.renewed_with[standing.part_of_row]
        boat = standing.boat_of_part[standing.part_of_row]
        order = np.lexsort((code, boat))
        order = order[standing.kind[order] == kind]
        self.rows = order
        self.part_of_row = standing.part_of_row[order]
        self.starts, self.of_row = _runs(boat[order], code[order])
        self.boat = boat[order][self.starts]
        self.parts, first = np.unique(self.part_of_row, return_index=True)
        self.of_part = self.of_row[first]

    def sums(self, values: np.ndarray) -> np.ndarray:
        """(U,) sum over the parts of each unit of `values` (P,)."""
        return np.bincount(self.of_part, values[self.parts], minlength=self.starts.size)

    def any(self, flags: np.ndarray) -> np.ndarray:
        """(U,) bool, any part of the unit."""
        return self.sums(flags.astype(float)) > 0


def _runs(*codes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    new = np.ones(codes[0].size, dtype=bool)
    new[1:] = False
    for code in codes:
        new[1:] |= code[1:] != code[:-1]
    return np.flatnonzero(new), np.cumsum(new) - 1


class Simulation:
    """Futures of the units (U) of one kind under every draw (D); unit and draw are M where only
    some go on."""

    def __init__(
        self,
        draws: LifeDraws,
        standing: Standing,
        policy: Policy,
        units: Units,
        until: float,
        rng: np.random.Generator,
    ) -> None:
        self._draws, self._standing, self._units, self._rng = draws, standing, units, rng
        self._dtype = np.float32 if draws.family == "weibull" else np.float64
        self._sigma = draws.sigma.astype(self._dtype)
        self._from_now, self._from_new = self._groups(policy)
        joins = np.maximum(policy.joins, 0.0)
        self._joins = self._of_units(joins)
        self._ready = self._of_units(np.maximum(policy.first_refit, joins))
        self._end = self._of_units(np.minimum(policy.leaves, until))
        self._looks = {
            level: (self._of_units(first), self._of_units(every))
            for level, (first, every) in policy.inspections.items()
        }
        self._known = units.any(standing.condemned_parts)
        self._forced = self._known | units.any(policy.booked)
        rate = policy.breakage.draws(draws.sigma.size, rng) if policy.breakage else None
        self._rate = None if rate is None else rate.astype(self._dtype)

    def _of_units(self, of_boats: np.ndarray) -> np.ndarray:
        return of_boats[self._units.boat].astype(self._dtype)

    def _groups(self, policy: Policy) -> tuple[SpotGroups, SpotGroups]:
        """Of what stands, by what is known of the spots, and of what will be fitted."""
        standing, rows, unit = self._standing, self._units.rows, self._units.of_row
        location = self._draws.location(standing, self._dtype)[rows]
        seen = {level: standing.seen_by[level][rows] for level in policy.inspections}
        renew_at = policy.renew_at[self._units.part_of_row].astype(self._dtype)
        known = (*standing.age_range, standing.never_seen, standing.since_good)
        known = tuple(values[rows] for values in known)
        each = np.arange(rows.size)
        if standing.foreseen is not None:
            known += (np.where(standing.foreseen.row[rows] >= 0, each, -1),)
        alone = () if self._draws.family == "weibull" else (each,)
        given = location, self._sigma, renew_at, seen
        return grouped(unit, *given, (*alone, *known)), grouped(unit, *given, alone)

    def run(self) -> Iterator[Renewals]:
        """One cycle after another, until every unit of every draw is past its end."""
        n, d = self._units.starts.size, self._draws.sigma.size
        time, cause = self._first(Futures(np.arange(n)[:, None], np.arange(d)[None, :]))
        self._first_time = time
        on = time < self._end[:, None]
        unit, draw = np.nonzero(on)
        time, cause, known = time[on], cause[on], self._known[unit]
        while unit.size:
            yield Renewals(unit, draw, time, cause, known)
            time, cause = self._again(Futures(unit, draw), time)
            on = time < self._end[unit]
            unit, draw, time, cause = unit[on], draw[on], time[on], cause[on]
            known = np.zeros(unit.size, dtype=bool)

    def first_ends(self) -> np.ndarray:
        """(U, D) years from today at which what stands today is renewed; once it has run."""
        return self._first_time

    def _first(self, futures: Futures) -> tuple[np.ndarray, np.ndarray]:
        """The cycles standing today, with what the coming refit renews whatever happens."""
        age = self._ages(futures)
        rule = np.full(age[0].shape, np.inf, dtype=self._dtype)
        for slot, (keep, _, group) in enumerate(self._from_now.slots(futures)):
            at = self._from_now.renew_at[group] - age[slot]
            rule[keep] = np.minimum(rule[keep], at)
        ages = iter(age)

        def lives(some: Futures, group: np.ndarray) -> np.ndarray:
            return self._condemnable(some, group, next(ages))

        time, cause = self._ends(futures, self._from_now, lives, rule)
        time[self._forced] = self._ready[self._forced, None]
        cause[self._forced] = PLANNED
        cause[self._known] = CONDEMNED
        return time, cause

    def _again(self, futures: Futures, fitted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The cycles of parts fitted (M,) years from today."""
        groups = self._from_new
        rule = np.minimum.reduceat(groups.renew_at, groups.starts)[futures.unit] + fitted
        at = iter([fitted[keep] for keep, _, _ in groups.slots(futures)])

        def lives(some: Futures, group: np.ndarray) -> np.ndarray:
            hazard = self._exponential(some.shape)
            return next(at) + self._age_at(some, group, -hazard)

        return self._ends(futures, groups, lives, rule)

    def _ages(self, futures: Futures) -> list[np.ndarray]:
        """Today's age in every slot, (u, 1), or (u, D) drawn within its range where not known."""
        youngest, oldest = (ages[self._units.rows] for ages in self._standing.age_range)
        if (youngest == oldest).all():
            return [youngest[self._from_now.row[g]] for _, _, g in self._from_now.slots(futures)]
        share = self._rng.random(futures.shape)
        ages = []
        for keep, _, group in self._from_now.slots(futures):
            row = self._from_now.row[group]
            ages.append(youngest[row] + share[keep] * (oldest - youngest)[row])
        return ages

    def _ends(
        self, futures: Futures, groups: SpotGroups, lives: Lives, rule: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """When and why each cycle ends. lives: years from today at which groups are condemnable;
        rule: years from today at which units are renewed by their age."""
        time = np.full(futures.shape, np.inf, dtype=self._dtype)
        worn = time.copy()
        for keep, some, group in groups.slots(futures):
            stands = np.maximum(lives(some, group), self._joins[some.unit])
            time[keep] = np.minimum(time[keep], self._first_seen(stands, some, group, groups))
            worn[keep] = np.minimum(worn[keep], stands)
        cause = np.full(futures.shape, CONDEMNED)
        if self._rate is not None:
            breaks = worn + self._exponential(futures.shape) / self._rate[futures.draw]
            cause[breaks < time] = FAILED
            np.minimum(time, breaks, out=time)
        rule = np.maximum(rule, self._ready[futures.unit])
        cause[rule <= time] = PLANNED
        return np.minimum(time, rule), cause

    def _exponential(self, shape: tuple[int, ...]) -> np.ndarray:
        return self._rng.standard_exponential(shape, dtype=self._dtype)

    def _condemnable(self, futures: Futures, group: np.ndarray, age: np.ndarray) -> np.ndarray:
        """Years from today at which the groups standing are condemnable.

        By the life model and, of spots with reports of looks, by what those foresee: the chances
        of the outlook.
        """
        rows = self._units.rows[self._from_now.row[group]]
        location = self._from_now.location[group, futures.draw]
        sigma, family = self._sigma[futures.draw], self._draws.family
        good = self._standing.good_age(age, rows)
        log_s = log_survival_at(family, good, location, sigma)
        hazard, age = self._exponential(futures.shape), age.astype(self._dtype)
        foreseen = self._standing.foreseen
        if foreseen is None or (foreseen.row[rows] < 0).all():
            return age_at(family, log_s - hazard, location, sigma) - age
        wide = rows, futures.draw, log_s, location, sigma, age
        rows, draw, *wide = (np.broadcast_to(a, futures.shape).ravel() for a in wide)

        def life(index: np.ndarray, hazard: np.ndarray) -> np.ndarray:
            log_s, location, sigma, age = (values[index] for values in wide)
            return age_at(family, log_s - hazard, location, sigma) - age

        beside = self._exponential((rows.size,))
        return foreseen.moments(rows, draw, hazard.ravel(), beside, life).reshape(futures.shape)

    def _age_at(self, futures: Futures, group: np.ndarray, log_s: np.ndarray) -> np.ndarray:
        """Ages by which the log survival of the groups of new parts is `log_s`."""
        location = self._from_new.location[group, futures.draw]
        return age_at(self._draws.family, log_s, location, self._sigma[futures.draw])

    def _first_seen(
        self, time: np.ndarray, futures: Futures, group: np.ndarray, groups: SpotGroups
    ) -> np.ndarray:
        """First inspection at or after `time` that sees the groups; inf where none does."""
        found = np.full(time.shape, np.inf, dtype=self._dtype)
        for level, (first, every) in self._looks.items():
            seen = groups.seen[level][group]
            if not seen.any():
                continue
            first, every = first[futures.unit], every[futures.unit]
            when = np.maximum(time - first, 0)
            when /= every
            np.ceil(when, out=when)
            when *= every
            when += first
            if not seen.all():
                np.copyto(when, np.inf, where=~seen)
            np.minimum(found, when, out=found)
        return found

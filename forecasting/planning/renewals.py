"""Simulated renewals over the years to come: delayed renewal, one future per draw of the models.

Each spot gets a moment at which it becomes condemnable: in the first cycle given that it was good
when last seen and what looks reported of it, afterwards from new. The first inspection that sees a
condemnable spot finds it, and that ends the cycle; so does the age at which the fleet renews by
rule, or a breakage before either. Parts renewed together (a pair) are one unit and end together.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from ..survival.model import log_survival
from .failing import BreakageRate
from .lifetimes import LifeDraws, age_at
from .spots import Standing

PLANNED, CONDEMNED, FAILED = 0, 1, 2


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


class Units:
    """Units of one kind of part: rows of spots sorted by boat and unit, parts sorted alike."""

    def __init__(self, standing: Standing, policy: Policy, kind: str) -> None:
        code = policy.renewed_with[standing.part_of_row]
        boat = standing.boat_of_part[standing.part_of_row]
        order = np.lexsort((code, boat))
        order = order[standing.kind[order] == kind]
        self.rows = order
        self.part_of_row = standing.part_of_row[order]
        self.starts, of_row = _runs(boat[order], code[order])
        self.size = np.diff(np.append(self.starts, order.size))
        self.boat = boat[order][self.starts]
        self.parts, first = np.unique(self.part_of_row, return_index=True)
        self.of_part = of_row[first]

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
    """Futures of the units of one kind under every draw (D); R rows are spots of unit and draw."""

    def __init__(
        self,
        draws: LifeDraws,
        standing: Standing,
        policy: Policy,
        units: Units,
        until: float,
        rng: np.random.Generator,
    ) -> None:
        rows = units.rows
        self._draws, self._standing, self._policy = draws, standing, policy
        self._units, self._rng = units, rng
        self._location = draws.location(standing)[rows]
        self._seen = {level: standing.seen_by[level][rows] for level in policy.inspections}
        self._renew_at = policy.renew_at[units.part_of_row]
        self._joins = np.maximum(policy.joins, 0.0)[units.boat]
        self._ready = np.maximum(policy.first_refit[units.boat], self._joins)
        self._end = np.minimum(policy.leaves, until)[units.boat]
        self._rate = policy.breakage.draws(draws.sigma.size, rng) if policy.breakage else None

    def run(self) -> Iterator[Renewals]:
        """One cycle after another, until every unit of every draw is past its end."""
        n, d = self._units.starts.size, self._draws.sigma.size
        unit, draw = np.repeat(np.arange(n), d), np.tile(np.arange(d), n)
        time, cause, known = self._first(unit, draw)
        self._first_time = time.reshape(n, d)
        while True:
            on = time < self._end[unit]
            unit, draw, time = unit[on], draw[on], time[on]
            if not unit.size:
                return
            yield Renewals(unit, draw, time, cause[on], known[on])
            fitted = np.repeat(time, self._units.size[unit])
            time, cause = self._ends(unit, draw, fitted, fitted + self._new_lives(unit, draw))
            known = np.zeros(unit.size, dtype=bool)

    def first_ends(self) -> np.ndarray:
        """(U, D) years from today at which what stands today is renewed; once it has run."""
        return self._first_time

    def _first(
        self, unit: np.ndarray, draw: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The cycles standing today, with what the coming refit renews whatever happens."""
        age, log_s = self._today(unit, draw)
        time, cause = self._ends(unit, draw, -age, self._condemnable(unit, draw, age, log_s))
        known = self._units.any(self._standing.condemned_parts)[unit]
        forced = known | self._units.any(self._policy.booked)[unit]
        time = np.where(forced, self._ready[unit], time)
        cause = np.where(known, CONDEMNED, np.where(forced, PLANNED, cause))
        return time, cause, known

    def _today(self, unit: np.ndarray, draw: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(R,), (R,): age today, drawn within its range, and log survival to the last sight."""
        row, _ = self._spots(unit)
        at_draw = np.repeat(draw, self._units.size[unit])
        share = np.repeat(self._rng.random(unit.size), self._units.size[unit])
        youngest, oldest = (ages[self._units.rows][row] for ages in self._standing.age_range)
        age = youngest + share * (oldest - youngest)
        good = self._standing.good_age(age, self._units.rows[row])
        sigma = self._draws.sigma[at_draw]
        return age, log_survival(self._draws.family, good, self._location[row, at_draw], sigma)

    def _spots(self, unit: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(R,) row of every spot of these units, and (M,) where each unit begins among them."""
        size = self._units.size[unit]
        begins = np.cumsum(size) - size
        return np.arange(size.sum()) + np.repeat(self._units.starts[unit] - begins, size), begins

    def _ends(
        self, unit: np.ndarray, draw: np.ndarray, fitted: np.ndarray, condemnable: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """(M,), (M,): when and why each cycle ends.

        fitted, condemnable: (R,) years from today at which each spot was, and will be.
        """
        row, begins = self._spots(unit)
        size = self._units.size[unit]
        stands = np.maximum(condemnable, np.repeat(self._joins[unit], size))
        found = self._first_seen(stands, row, np.repeat(self._units.boat[unit], size))
        time = np.minimum.reduceat(found, begins)
        cause = np.full(unit.size, CONDEMNED, dtype=np.int8)
        if self._rate is not None:
            wait = self._rng.standard_exponential(unit.size) / self._rate[draw]
            breaks = np.minimum.reduceat(stands, begins) + wait
            time, cause = np.minimum(time, breaks), np.where(breaks < time, FAILED, cause)
        rule = np.minimum.reduceat(fitted + self._renew_at[row], begins)
        rule = np.maximum(rule, self._ready[unit])
        return np.minimum(time, rule), np.where(rule <= time, PLANNED, cause)

    def _new_lives(self, unit: np.ndarray, draw: np.ndarray) -> np.ndarray:
        """(R,) ages at which the spots of new parts become condemnable."""
        row, _ = self._spots(unit)
        hazard = self._rng.standard_exponential(row.size)
        return self._age_at(row, np.repeat(draw, self._units.size[unit]), -hazard)

    def _condemnable(
        self, unit: np.ndarray, draw: np.ndarray, age: np.ndarray, log_s: np.ndarray
    ) -> np.ndarray:
        """(R,) years from today at which the spots standing are condemnable.

        age: (R,) today; log_s: log survival until the last sight. By the life model and, of spots
        with reports of looks, by what those foresee: the chances of the outlook.
        """
        row, _ = self._spots(unit)
        draw = np.repeat(draw, self._units.size[unit])

        def life(index: np.ndarray, hazard: np.ndarray) -> np.ndarray:
            return self._age_at(row[index], draw[index], log_s[index] - hazard) - age[index]

        hazard = self._rng.standard_exponential(row.size)
        foreseen, rows = self._standing.foreseen, self._units.rows[row]
        if foreseen is None or (foreseen.row[rows] < 0).all():
            return life(np.arange(row.size), hazard)
        return foreseen.moments(rows, draw, hazard, self._rng.standard_exponential(row.size), life)

    def _age_at(self, row: np.ndarray, draw: np.ndarray, log_s: np.ndarray) -> np.ndarray:
        """(R,) ages by which the log survival of spots is `log_s`."""
        return age_at(self._draws.family, log_s, self._location[row, draw], self._draws.sigma[draw])

    def _first_seen(self, time: np.ndarray, row: np.ndarray, boat: np.ndarray) -> np.ndarray:
        """(R,) first inspection at or after `time` that sees the spot; inf where none does."""
        found = np.full(time.size, np.inf)
        for level, (first, every) in self._policy.inspections.items():
            first, every = first[boat], every[boat]
            when = first + every * np.ceil(np.maximum(time - first, 0.0) / every)
            np.minimum(found, np.where(self._seen[level][row], when, np.inf), out=found)
        return found

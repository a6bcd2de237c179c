"""What reports of looks add to the life model of spots that stand, in each draw of the models.

The life model's draws say how long spots last; the reports say, in each of the condition model's
draws, how a spot's hazard differs from that. Both are carried: draw d of the lives goes with draw
d modulo K of the reports, so that the bounds of a watched part hold the doubt of the delay and of
what looks notice as well. A draw's cumulated hazard is lowered in proportion; what raises it is
added, as what ends the spot beside its wear.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

# Years from today at which the outlook is tabulated; dense early, where reports tell most.
AHEAD = np.concatenate(([0.0], np.geomspace(0.05, 60.0, 14)))
LAST = AHEAD.size - 1
LEAST = 1e-6  # share of the hazard left, so that a moment can be named
STEPS = 6  # towards the moment of a lowered hazard; each takes two thirds and more of the rest

Life = Callable[[np.ndarray, np.ndarray], np.ndarray]


@dataclass(frozen=True, eq=False)
class Foreseen:
    """Cumulated hazards of w spots from their last sight until the years AHEAD from today.

    row    (n,) int: for every row of a standing table its row here, -1 for spots without reports
    plain  (w, 15) by the life model alone, at its estimate
    told   (w, 15) by the life model and the reports, averaged over the posterior
    own    (w,) int: the row of a watched spot in `drawn`, -1 for the others
    drawn  (v, 15, K) the hazards of watched spots, under each draw of the condition model
    """

    row: np.ndarray
    plain: np.ndarray
    told: np.ndarray
    own: np.ndarray
    drawn: np.ndarray

    @property
    def draws(self) -> int:
        """How many draws of the condition model are carried."""
        return self.drawn.shape[2]

    def take(self, rows: np.ndarray | slice) -> "Foreseen":
        """Those of some rows of the standing table."""
        return replace(self, row=self.row[rows])

    def weigh(
        self,
        survival: np.ndarray,
        ahead: np.ndarray,
        part_of_row: np.ndarray,
        counted: np.ndarray | None = None,
    ) -> np.ndarray:
        """(P, D) survival of parts, with what the reports say of their spots.

        survival: (P, D) by the life model, `ahead` (P,) years from today. part_of_row: (n,) index
        of each row's part. counted: (n,) bool, the spots that count. Of a part either every spot
        has a row here or none has.
        """
        rows = np.flatnonzero(self.row >= 0 if counted is None else (self.row >= 0) & counted)
        part, at, survival = part_of_row[rows], self.row[rows], survival.copy()
        when = ahead[part]
        plain = _sums(part, _between(self.plain, at, when), ahead.size)
        told = _between(self.told, at, when)
        watched = self.own[at] >= 0
        alike = _sums(part, told, ahead.size)
        of_parts, drawn = self._drawn(part, at, when, told, watched)
        alike[of_parts] = plain[of_parts]  # those are weighed draw by draw
        changed = np.flatnonzero(alike != plain)
        _weigh(survival, changed, plain[changed, None], alike[changed, None])
        with_draw = np.arange(survival.shape[1]) % max(self.draws, 1)
        _weigh(survival, of_parts, plain[of_parts, None], drawn[:, with_draw])
        return survival

    def _drawn(
        self,
        part: np.ndarray,
        at: np.ndarray,
        when: np.ndarray,
        told: np.ndarray,
        watched: np.ndarray,
    ) -> tuple[np.ndarray, np.ndarray]:
        """(m,) parts with a watched spot, and (m, K) the hazard told of each under each draw."""
        parts = np.unique(part[watched])
        place = np.searchsorted(parts, part)
        place[~np.isin(part, parts)] = -1
        drawn = np.zeros((parts.size, self.draws))
        beside = ~watched & (place >= 0)
        np.add.at(drawn, place[beside], told[beside, None])
        own = _between(self.drawn, self.own[at[watched]], when[watched])
        np.add.at(drawn, place[watched], own)
        return parts, drawn

    def moments(
        self,
        rows: np.ndarray,
        draw: np.ndarray,
        hazard: np.ndarray,
        beside: np.ndarray,
        life: Life,
    ) -> np.ndarray:
        """(R,) years from today at which spots are condemnable, one future each.

        rows: (R,) of the standing table; draw: (R,) draw of the models; hazard, beside: (R,)
        standard exponentials. life(index, hazard): years from today at which those of the R spots
        have, by the life model alone, that cumulated hazard since their last sight.
        """
        every = np.arange(rows.size)
        at, when = self.row[rows], life(every, hazard)
        watched = np.flatnonzero((at >= 0) & (self.own[at] >= 0))
        added = np.zeros(rows.size, dtype=bool)
        if watched.size:
            curves = self._added(at[watched], draw[watched])
            more = curves[:, LAST] >= 0
            added[watched[more]] = True
            ends = _reached(curves[more], beside[watched[more]])
            when[watched[more]] = np.minimum(when[watched[more]], ends)
        lower = np.flatnonzero((at >= 0) & ~added)
        if lower.size:
            of = at[lower], draw[lower], hazard[lower], when[lower]
            when[lower] = self._later(*of, lower, life)
        return when

    def _added(self, at: np.ndarray, draw: np.ndarray) -> np.ndarray:
        """(m, 15) hazard the reports add to watched spots, never falling where it is above 0."""
        drawn = self.drawn[self.own[at], :, draw % self.draws]
        return np.maximum.accumulate(drawn - self.plain[at], axis=1)

    def _later(
        self,
        at: np.ndarray,
        draw: np.ndarray,
        hazard: np.ndarray,
        when: np.ndarray,
        index: np.ndarray,
        life: Life,
    ) -> np.ndarray:
        """(m,) moments at which a hazard lowered in proportion reaches `hazard`.

        The share left rises with time, more slowly than the hazard it is a share of: each step
        goes half the way (in logs) to where the present share would put the moment.
        """
        needed = hazard.copy()
        for _ in range(STEPS):
            needed = np.sqrt(needed * hazard / np.maximum(self._left(at, draw, when), LEAST))
            when = life(index, needed)
        return when

    def _left(self, at: np.ndarray, draw: np.ndarray, when: np.ndarray) -> np.ndarray:
        """(m,) of the life model's hazard left by the reports, at `when` from today."""
        told, own = _between(self.told, at, when), self.own[at]
        watched = np.flatnonzero(own >= 0)
        if watched.size:
            drawn = _between(self.drawn, own[watched], when[watched])
            told[watched] = drawn[np.arange(watched.size), draw[watched] % self.draws]
        return _share(_between(self.plain, at, when), told)


def _weigh(survival: np.ndarray, parts: np.ndarray, plain: np.ndarray, told: np.ndarray) -> None:
    """Changes survival (P, D) of these parts by their hazards (m, 1 or D), in place."""
    more = np.exp(np.minimum(plain - told, 0.0))
    survival[parts] = survival[parts] ** _share(plain, told) * more


def _share(plain: np.ndarray, told: np.ndarray) -> np.ndarray:
    """Of the life model's hazard left by the reports, from 0 to 1."""
    return np.where(plain > 0, np.clip(told / np.where(plain > 0, plain, 1.0), 0.0, 1.0), 1.0)


def _sums(part: np.ndarray, values: np.ndarray, parts: int) -> np.ndarray:
    return np.bincount(part, values, parts).astype(float)  # of nothing it gives whole numbers


def _between(table: np.ndarray, rows: np.ndarray, ahead: np.ndarray) -> np.ndarray:
    """(m,) or (m, K): `table` (w, 15) or (w, 15, K) in these rows, each at its own `ahead` (m,).

    Straight lines between AHEAD.
    """
    right = np.clip(np.searchsorted(AHEAD, ahead, side="right"), 1, LAST)
    left = right - 1
    share = np.clip((ahead - AHEAD[left]) / (AHEAD[right] - AHEAD[left]), 0.0, 1.0)
    share = share.reshape(share.shape + (1,) * (table.ndim - 2))
    return (1 - share) * table[rows, left] + share * table[rows, right]


def _reached(curves: np.ndarray, level: np.ndarray) -> np.ndarray:
    """(m,) years at which rising curves (m, 15) reach `level` (m,); inf where they do not."""
    above = (curves < level[:, None]).sum(axis=1)
    right = np.clip(above, 1, LAST)
    rows = np.arange(level.size)
    low, high = curves[rows, right - 1], curves[rows, right]
    rise = high - low
    share = np.clip((level - low) / np.where(rise > 0, rise, 1.0), 0.0, 1.0)
    when = AHEAD[right - 1] + share * (AHEAD[right] - AHEAD[right - 1])
    return np.where(above > LAST, np.inf, when)

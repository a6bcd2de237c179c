"""The Weibull likelihood with boat effects at thousands of parameter draws at once.

With e = exp(-u / sigma) a boat's log-likelihood at its effect u is -stood e (what only stood, one
number a boat), plus log(exp(-h0 e) - exp(-h1 e)) for every death between cumulative hazards h0 and
h1, plus log(e) - h e for every exact one. Gauss-Hermite nodes sit about each boat's mode, as in
`BoatLikelihood`; draws are an axis of the arrays, so that no draw depends on another.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from .boat_likelihood import LEAST_CURVATURE, LONGEST_STEP, BoatLikelihood
from .families import log_one_minus_exp

CENTRING_STEPS = 6
CELLS = 400_000  # numbers in the largest array held at once


class WeibullBoats:
    """The lives of a `BoatLikelihood` of the Weibull family, ready for many draws."""

    def __init__(self, of: BoatLikelihood) -> None:
        self.of, plain = of, of.plain
        self.alive = self._per_boat(plain.alive)
        self.exact = self._per_boat(plain.exact)
        self.count = np.bincount(
            of.boat[plain.exact], weights=of.weight[plain.exact], minlength=of.boats
        )
        self.owner = of.boat[plain.between]  # ascending
        self.first = np.flatnonzero(np.diff(self.owner, prepend=-1))
        self.times = of.weight[plain.between]
        self.x, weight = np.polynomial.hermite.hermgauss(of.nodes)
        self.log_weight = np.log(weight) + self.x**2

    def values(self, thetas: np.ndarray) -> np.ndarray:
        """(D,) log-likelihood at thetas (D, k + 1); -inf where one underflows."""
        widest = max(1, len(self.of.weight), (len(self.times) + self.of.boats) * self.of.nodes)
        pieces = np.array_split(thetas, -(-len(thetas) * widest // CELLS))
        with np.errstate(all="ignore"):
            found = np.concatenate([self.record(piece).value() for piece in pieces])
        return np.where(np.isfinite(found), found, -np.inf)

    def _per_boat(self, rows: np.ndarray) -> csr_array:
        """(G, rows) weights, so that its product with a column of rows sums them by boat."""
        boats, weight = self.of.boat[rows], self.of.weight[rows]
        return csr_array((weight, (boats, np.arange(len(rows)))), shape=(self.of.boats, len(rows)))

    def record(self, thetas: np.ndarray) -> "Record":
        """Each boat's record at thetas (D, k + 1)."""
        of, plain = self.of, self.of.plain
        location = of.design @ thetas[:, :-2].T
        sigma = np.exp(thetas[:, -2])

        def hazard(log_age: np.ndarray, rows: np.ndarray) -> np.ndarray:
            return np.exp((log_age[:, None] - location[rows]) / sigma)

        # Each row's own entry is taken off first: summed by boat they would leave only rounding
        # where hazards are huge, and a density where there is none.
        before = np.zeros(location.shape)
        before[plain.late] = hazard(plain.log_entry, plain.late)
        exact = hazard(plain.log_failed, plain.exact)
        lower, upper = (
            hazard(log_age, plain.between) for log_age in (plain.log_lower, plain.log_upper)
        )
        stood = self.alive @ (hazard(plain.log_good, plain.alive) - before[plain.alive])
        stood = stood + self.exact @ (exact - before[plain.exact])
        density = np.log(exact) - np.log(sigma) - plain.log_failed[:, None]
        since = lower - before[plain.between]
        rate = np.exp(thetas[:, -1]) / sigma
        return Record(self, self.exact @ density, stood, since, upper - lower, rate)


@dataclass(frozen=True, eq=False)
class Record:
    """Each boat's record under each draw: what stood as one number, the deaths one by one.

    fixed, stood: (G, D), what does not depend on the effect and the cumulated hazard of what only
    stood; lower, gap: (deaths, D); rate: (D,) spread over sigma. z = u / spread.
    """

    of: WeibullBoats
    fixed: np.ndarray
    stood: np.ndarray
    lower: np.ndarray
    gap: np.ndarray
    rate: np.ndarray

    def value(self) -> np.ndarray:
        """(D,) log-likelihood, the effect of each boat integrated out."""
        return self.fixed.sum(axis=0) + self.integrals().sum(axis=0)

    def integrals(self) -> np.ndarray:
        """(G, D) log of the mean over the boat's effect."""
        centre, scale = self.modes()
        of = self.of
        z = centre[..., None] + np.sqrt(2) * scale[..., None] * of.x
        log_weight = of.log_weight + np.log(scale / np.sqrt(np.pi))[..., None] - z**2 / 2
        terms = self.log_boat(z) + log_weight
        top = terms.max(axis=-1)
        return top + np.log(np.exp(terms - top[..., None]).sum(axis=-1))

    def log_boat(self, z: np.ndarray) -> np.ndarray:
        """(G, D, Q) log-likelihood of each boat at its z (G, D, Q), but for `fixed`."""
        of = self.of
        log_e = -self.rate[:, None] * z
        e = np.exp(log_e)
        found = of.count[:, None, None] * log_e - self.stood[..., None] * e
        if len(of.owner):
            own = e[of.owner]
            deaths = log_one_minus_exp(self.gap[..., None] * own) - self.lower[..., None] * own
            deaths *= of.times[:, None, None]
            found[of.owner[of.first]] += np.add.reduceat(deaths, of.first)
        return found

    def modes(self) -> tuple[np.ndarray, np.ndarray]:
        """(G, D), (G, D): mode and its standard deviation, in u / spread."""
        of, rate = self.of, self.rate
        z = np.zeros(self.stood.shape)
        for _ in range(CENTRING_STEPS):
            e = np.exp(-rate * z)
            first, second = -self.stood * e, -self.stood * e
            if len(of.owner):
                h, low = self.gap * e[of.owner], self.lower * e[of.owner]
                fallen = np.where(h > 1e-8, h / np.expm1(h), 1.0)  # h S1 / (S0 - S1)
                steep = np.nan_to_num(fallen * (1 - h - fallen))
                first[of.owner[of.first]] += self._deaths(fallen - low)
                second[of.owner[of.first]] += self._deaths(steep - low)
            slope = -rate * (of.count[:, None] + first) - z
            curvature = np.maximum(1 - rate**2 * second, LEAST_CURVATURE)
            z = z + np.clip(slope / curvature, -LONGEST_STEP, LONGEST_STEP)
        return z, 1 / np.sqrt(curvature)

    def _deaths(self, values: np.ndarray) -> np.ndarray:
        return np.add.reduceat(self.of.times[:, None] * values, self.of.first)

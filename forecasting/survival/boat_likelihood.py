"""The likelihood when boats differ: a normal effect on log life that all parts of a boat share.

log T = intercept + X slopes + u + sigma * z, u ~ normal(0, spread^2), one u a boat. A boat adds

    log integral prod_i [contribution of row i at u] phi(u) du

with late entry inside the integral: a boat joins whatever its rig, so its rows are conditioned on
standing at entry *given its effect*. The integral is Gauss-Hermite quadrature about each boat's
own mode, scaled by the curvature there (Liu and Pierce 1994, Biometrika 81), in u / spread, so
that it stays smooth as the spread goes to 0.

theta = (intercept, slopes, log sigma, log spread), one more than `Likelihood`. While the nodes are
held the value, score and Hessian are those of one smooth function; `centred` moves the nodes.
"""

from dataclasses import dataclass

import numpy as np

from .families import Family
from .likelihood import Evaluation, Likelihood, RowTerms
from .lives import Lives

NODES = 15
MOST_STEPS = 30
CENTRED = 1e-3  # in spreads: how near to its mode a boat's nodes must be
LEAST_CURVATURE = 0.3  # of log density in u / spread; the effect's own normal gives 1
LONGEST_STEP = 1.5  # in spreads


@dataclass(frozen=True)
class Nodes:
    """Where each boat's effect is looked at. z, log_weight: (G, Q), z = u / spread.

    The mean of f over a standard normal is about sum_q exp(log_weight) f(z).
    """

    z: np.ndarray
    log_weight: np.ndarray

    @classmethod
    def about(cls, centre: np.ndarray, scale: np.ndarray, nodes: int) -> "Nodes":
        """Gauss-Hermite nodes about centre, (G,), spread by scale, (G,)."""
        x, weight = np.polynomial.hermite.hermgauss(nodes)
        z = centre[:, None] + np.sqrt(2) * scale[:, None] * x
        log_weight = np.log(weight) + x**2 + np.log(scale / np.sqrt(np.pi))[:, None] - z**2 / 2
        return cls(z, log_weight)


class BoatLikelihood:
    """The likelihood of fixed lives whose cluster is their boat. G boats, k = p + 2 plain terms."""

    def __init__(self, family: Family, lives: Lives, *, nodes: int = NODES) -> None:
        order = np.argsort(lives.cluster, kind="stable")
        lives = lives.take(order)
        self.plain = Likelihood(family, lives)
        self.design, self.weight, self.boat = self.plain.design, lives.weight, lives.cluster
        self.boats = int(self.boat.max(initial=-1)) + 1
        self.starts = np.searchsorted(self.boat, np.arange(self.boats))
        self.nodes = nodes

    def __call__(self, theta: np.ndarray) -> Evaluation:
        """Value, score and Hessian at theta, (k + 1,), with the nodes about theta's own modes."""
        return self.centred(theta)(theta)

    def centred(self, theta: np.ndarray, start: np.ndarray | None = None) -> "HeldNodes":
        """The same likelihood with its nodes about the boats' modes at theta, and held there."""
        centre, scale = self.modes(theta, start)
        return HeldNodes(self, Nodes.about(centre, scale, self.nodes))

    def boat_scores(self, theta: np.ndarray) -> np.ndarray:
        """(G, k + 1): each boat's score; they sum to the score."""
        return self.centred(theta).boat_scores(theta)

    def boat_values(self, theta: np.ndarray) -> np.ndarray:
        """(G,): each boat's log-likelihood; they sum to the value."""
        return self.centred(theta).boat_values(theta)

    def modes(
        self, theta: np.ndarray, start: np.ndarray | None = None
    ) -> tuple[np.ndarray, np.ndarray]:
        """(G,), (G,): the likeliest u / spread of each boat given its record, and its curvature's
        standard deviation. Newton steps for all boats at once."""
        z = np.zeros(self.boats) if start is None else start
        spread = np.exp(theta[-1])
        for _ in range(MOST_STEPS):
            rows = self.rows(theta, z)
            slope = spread * self.per_boat(self.weight * rows.m) - z
            curvature = 1 - spread**2 * self.per_boat(self.weight * rows.mm)
            curvature = np.maximum(curvature, LEAST_CURVATURE)
            step = np.clip(slope / curvature, -LONGEST_STEP, LONGEST_STEP)
            z = z + step
            if np.abs(step).max(initial=0.0) < CENTRED:
                break
        return z, 1 / np.sqrt(curvature)

    def rows(self, theta: np.ndarray, z: np.ndarray) -> RowTerms:
        """The row terms with each boat at its z, (G,)."""
        location = self.design @ theta[:-2] + np.exp(theta[-1]) * z[self.boat]
        return self.plain.rows_at(location, theta[-2])

    def per_boat(self, values: np.ndarray) -> np.ndarray:
        """Sums over each boat's rows: (n, ...) -> (G, ...)."""
        return np.add.reduceat(values, self.starts)

    def gain_of_spread(self, theta: np.ndarray) -> float:
        """Slope of the log-likelihood in spread^2 at spread 0, at a plain theta, (k,).

        At or below 0 the likelihood is highest, there, without any boat effect.
        """
        rows = self.plain.rows_at(self.design @ theta[:-1], theta[-1])
        slope = self.per_boat(self.weight * rows.m)
        return float(0.5 * (slope @ slope + self.weight @ rows.mm))


class HeldNodes:
    """A `BoatLikelihood` on nodes that stay where they are: smooth, with exact derivatives."""

    def __init__(self, of: BoatLikelihood, nodes: Nodes) -> None:
        self.of, self.nodes = of, nodes
        self.design = of.design

    @property
    def centre(self) -> np.ndarray:
        """(G,) the middle of each boat's nodes."""
        return self.nodes.z[:, self.nodes.z.shape[1] // 2]

    def value(self, theta: np.ndarray) -> float:
        """The log-likelihood alone."""
        return float(self.boat_values(theta).sum())

    def boat_values(self, theta: np.ndarray) -> np.ndarray:
        """(G,) the log-likelihood of each boat."""
        log_terms = np.stack(
            [
                self.of.per_boat(self.of.weight * self.of.rows(theta, z).value)
                for z in self.nodes.z.T
            ],
            axis=1,
        )
        return self._log_boats(log_terms)[0]

    def __call__(self, theta: np.ndarray) -> Evaluation:
        """Value, score and Hessian at theta, (k + 1,)."""
        with np.errstate(over="ignore", invalid="ignore", under="ignore", divide="ignore"):
            terms = [self.of.rows(theta, z) for z in self.nodes.z.T]
            log_boat, share = self._shares(terms)
            slopes = self._slopes(theta, terms)
            scores = np.einsum("gq,qgj->gj", share, slopes)
            hessian = np.einsum("gq,qgj,qgk->jk", share, slopes, slopes) - scores.T @ scores
            for q, rows in enumerate(terms):
                hessian += self._curvature(theta, rows, q, share[:, q])
            value = float(log_boat.sum())
        return Evaluation(value if np.isfinite(value) else -np.inf, scores.sum(axis=0), hessian)

    def boat_scores(self, theta: np.ndarray) -> np.ndarray:
        """(G, k + 1): each boat's score."""
        terms = [self.of.rows(theta, z) for z in self.nodes.z.T]
        _, share = self._shares(terms)
        return np.einsum("gq,qgj->gj", share, self._slopes(theta, terms))

    def _shares(self, terms: list[RowTerms]) -> tuple[np.ndarray, np.ndarray]:
        of = self.of
        log_terms = np.stack([of.per_boat(of.weight * rows.value) for rows in terms], axis=1)
        return self._log_boats(log_terms)

    def _log_boats(self, log_terms: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(G,) each boat's log-likelihood, and (G, Q) the share of each node in it."""
        log_terms = log_terms + self.nodes.log_weight
        top = log_terms.max(axis=1, keepdims=True)
        share = np.exp(log_terms - top)
        total = share.sum(axis=1, keepdims=True)
        return (top + np.log(total))[:, 0], share / total

    def _slopes(self, theta: np.ndarray, terms: list[RowTerms]) -> np.ndarray:
        """(Q, G, k + 1): the slope of each boat's log terms at each node."""
        of, spread = self.of, np.exp(theta[-1])
        found = np.empty((len(terms), of.boats, len(theta)))
        for q, rows in enumerate(terms):
            m = of.weight * rows.m
            found[q, :, :-2] = of.per_boat(m[:, None] * self.design)
            found[q, :, -2] = of.per_boat(of.weight * rows.s)
            found[q, :, -1] = found[q, :, 0] * spread * self.nodes.z[:, q]  # design[:, 0] is 1
        return found

    def _curvature(
        self, theta: np.ndarray, rows: RowTerms, q: int, share: np.ndarray
    ) -> np.ndarray:
        """(k + 1, k + 1): the rows' second derivatives at node q, weighted by its share."""
        of = self.of
        u = (np.exp(theta[-1]) * self.nodes.z[:, q])[of.boat]
        weight = of.weight * share[of.boat]
        mm, ms = weight * rows.mm, weight * rows.ms
        crossed = np.column_stack([ms, mm * u])
        k = self.design.shape[1]
        found = np.empty((k + 2, k + 2))
        found[:k, :k] = self.design.T @ (mm[:, None] * self.design)
        found[:k, k:] = self.design.T @ crossed
        found[k:, :k] = found[:k, k:].T
        found[k, k] = weight @ rows.ss
        found[k, k + 1] = found[k + 1, k] = ms @ u
        found[k + 1, k + 1] = (mm * u) @ u + (weight * rows.m) @ u
        return found

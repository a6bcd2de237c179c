"""Mean delay, detection and false watches: the panel weighed with common practice, on a grid.

Three numbers are little enough to integrate over: the posterior is evaluated on a grid laid along
its own axes about its mode, wide enough that nothing is left at the edge. It is weakly identified
where few watches were followed up, so that too few of them are refused by name, and what is shown
is a band.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import scipy
from scipy.special import expit, logit, xlog1py, xlogy

from ..survival.refusal import Refusal
from .delay import Delay, Likelihood
from .panel import Panel

NEEDED = 20  # watches followed up
MOST_ROWS = 20_000  # spots: with more the band is far narrower than what the model leaves out
STEPS, REACH = 9, 3.7  # points a side of the grid, and how many standard deviations it reaches
EDGE = 5e-3  # of the greatest density; with more than this at the edge the grid is widened
WIDENED = 4
SAMPLE = 400
BAND = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Prior:
    """Common practice of the trade, from memory; no source.

    delay: median of the mean delay in years, log-normal; a rigger who writes *watch* expects to
    condemn within a season or two. detection: beta, mean 2/3. false_watch: median per look that
    sees a sound spot, log-normal: a stain from elsewhere, a mark that was always there.
    """

    delay: float = 1.0
    delay_log_sd: float = 0.7
    detection: tuple[float, float] = (6.0, 3.0)
    false_watch: float = 0.002
    false_watch_log_sd: float = 1.0

    def log_density(self, theta: np.ndarray) -> float:
        """Up to a constant, of (log delay, logit detection, log false watch)."""
        found = expit(theta[1])
        a, b = self.detection
        return float(
            -0.5 * ((theta[0] - np.log(self.delay)) / self.delay_log_sd) ** 2
            + xlogy(a, found)
            + xlog1py(b, -found)
            - 0.5 * ((theta[2] - np.log(self.false_watch)) / self.false_watch_log_sd) ** 2
        )

    @property
    def mode(self) -> np.ndarray:
        a, b = self.detection
        return np.array([np.log(self.delay), np.log(a / b), np.log(self.false_watch)])


@dataclass(frozen=True, eq=False)
class Condition:
    """What the panel says. sample: (D, 3) draws of mean delay (years), detection, false watch.

    spots, watches, followed, went: rows of the panel; watched, looked at again, condemned since.
    own_share: share of the log delay's doubt that the fleet's own record took away.
    """

    sample: np.ndarray
    spots: int
    watches: int
    followed: int
    went: int
    own_share: float

    def band(self, column: int) -> tuple[float, float, float]:
        """5, 50 and 95 % points of delay (0), detection (1) or false watch (2)."""
        return tuple(float(q) for q in np.quantile(self.sample[:, column], BAND))

    @property
    def centre(self) -> Delay:
        """The middle of the sample: geometric means, and the mean detection."""
        delay, false_watch = np.exp(np.log(self.sample[:, [0, 2]]).mean(axis=0))
        return Delay(float(delay), float(self.sample[:, 1].mean()), float(false_watch))

    def thinned(self, most: int) -> list[Delay]:
        """At most so many of the draws, evenly spaced."""
        step = -(-len(self.sample) // most)
        return [Delay(*row) for row in self.sample[::step].tolist()]

    def to_dict(self) -> dict[str, Any]:
        return asdict(self) | {"sample": np.round(self.sample, 6).tolist()}

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Condition":
        return cls(**{**stored, "sample": np.array(stored["sample"], dtype=float)})


def fit(
    panel: Panel, *, prior: Prior | None = None, needed: int = NEEDED, seed: int = 0
) -> Condition | Refusal:
    """The posterior of the panel, or a refusal that says how many watches are wanting.

    A panel of more than MOST_ROWS spots is thinned evenly. Refused: fewer than `needed` watches
    followed up, or a posterior whose grid cannot be closed.
    """
    prior = prior or Prior()
    followed = int(panel.followed.sum())
    if followed < needed:
        return Refusal("too_few_watches", _wanting(followed, panel.watches, needed))
    step = -(-len(panel.good) // MOST_ROWS)
    likelihood = Likelihood(panel.take(np.arange(0, len(panel.good), step)))

    def log_density(theta: np.ndarray) -> float:
        if not likelihood.FEWEST < np.exp(theta[0]) < likelihood.MOST:
            return -np.inf
        return likelihood(to_delay(theta)) + prior.log_density(theta)

    found = grid(log_density, prior.mode)
    if found is None:
        return Refusal(
            "not_closed",
            "The watches do not tell delay, detection and false watches apart: no bounds are found "
            "within which they lie.",
        )
    points, weights = found
    sample = _resampled(points, weights, seed)
    centre = weights @ points[:, 0]
    left = weights @ (points[:, 0] - centre) ** 2 / prior.delay_log_sd**2
    return Condition(
        sample=np.column_stack((np.exp(sample[:, 0]), expit(sample[:, 1]), np.exp(sample[:, 2]))),
        spots=len(panel.good),
        watches=panel.watches,
        followed=followed,
        went=int(panel.went.sum()),
        own_share=float(np.clip(1 - left, 0, 1)),
    )


def to_delay(theta: np.ndarray) -> Delay:
    """Parameters from (log delay, logit detection, log false watch)."""
    return Delay(float(np.exp(theta[0])), float(expit(theta[1])), float(np.exp(theta[2])))


def to_theta(at: Delay) -> np.ndarray:
    return np.array([np.log(at.delay), logit(at.detection), np.log(at.false_watch)])


def _wanting(followed: int, watches: int, needed: int) -> str:
    return (
        f"{watches} spots were judged watch and {followed} of them looked at again or condemned "
        f"since; {needed} are needed before the fleet's own record says what becomes of a watch."
    )


def grid(log_density, start: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """Points (m, 3) and weights (m,) of a density, on a grid along its own axes about its mode.

    None where the grid, widened four times, still leaves density at its edge.
    """
    options = {"xatol": 0.01, "fatol": 0.01, "maxfev": 600}
    mode = scipy.optimize.minimize(
        lambda t: -log_density(t), start, method="Nelder-Mead", options=options
    ).x
    axes = _axes(log_density, mode)
    for widened in range(WIDENED + 1):
        steps = np.linspace(-REACH, REACH, STEPS) * 1.4**widened
        unit = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
        points = mode + unit @ axes.T
        logs = np.array([log_density(point) for point in points])
        weights = np.exp(logs - logs.max())
        edge = (np.abs(unit) > steps[-1] - 1e-9).any(axis=1)
        if weights[edge].max() < EDGE:
            return points, weights / weights.sum()
    return None


def _axes(log_density, mode: np.ndarray) -> np.ndarray:
    """Square root of the inverse curvature at the mode, by central differences."""
    step = 0.05
    unit = np.eye(3) * step
    hessian = np.empty((3, 3))
    for i in range(3):
        for j in range(3):
            corners = [
                a * b * log_density(mode + a * unit[i] + b * unit[j])
                for a in (1, -1)
                for b in (1, -1)
            ]
            hessian[i, j] = -sum(corners) / (4 * step**2)
    values, vectors = np.linalg.eigh(0.5 * (hessian + hessian.T))
    return vectors / np.sqrt(np.maximum(values, 0.05))


def _resampled(points: np.ndarray, weights: np.ndarray, seed: int) -> np.ndarray:
    """(SAMPLE, 3) draws: systematic over the points, each moved within its cell of the grid."""
    rng = np.random.default_rng(seed)
    places = (np.arange(SAMPLE) + rng.random()) / SAMPLE
    picked = points[np.minimum(np.searchsorted(np.cumsum(weights), places), len(points) - 1)]
    side = STEPS
    cube = points.reshape(side, side, side, 3)
    cell = np.stack((cube[1, 0, 0], cube[0, 1, 0], cube[0, 0, 1])) - cube[0, 0, 0]
    moved = picked + (rng.random((SAMPLE, 3)) - 0.5) @ cell
    return moved[rng.permutation(SAMPLE)]

"""The delay between the beginning of a defect and the day its spot is condemnable.

T is the age at which the spot is condemnable: the life model's. The defect begins at X = T - H, at
the earliest at age 0; H is exponential with mean `delay`, independent of T. Counted back like this
the condition model leaves the law of T untouched, so one fit of lives serves both.

Given T = t later than the last sight L, the chance of the reports up to L is A + B exp(-(t-L)/m),
with A and B from the looks alone: two numbers hold the whole history of a spot, however long.
"""

from dataclasses import dataclass

import numpy as np

from .panel import Law, Panel

NODES, WEIGHTS = np.polynomial.legendre.leggauss(16)
NODES, WEIGHTS = 0.5 * (NODES + 1), 0.5 * WEIGHTS


@dataclass(frozen=True)
class Delay:
    """One set of parameters: mean delay in years, detection and false watches per look."""

    delay: float
    detection: float
    false_watch: float


class Reports:
    """The reports of a panel, look by look: rows with the most of them first."""

    def __init__(self, panel: Panel) -> None:
        self.order = np.argsort(-panel.reports, kind="stable")
        ages, watched = panel.ages[self.order], panel.watched[self.order]
        self.counts = np.isfinite(ages).sum(axis=0)
        gaps = np.diff(ages, axis=1, prepend=-np.inf)
        self._gaps = [gaps[: self.counts[k], k] for k in range(ages.shape[1])]
        here = (ages == watched[:, None]).T
        self._watches = [np.flatnonzero(row) for row in here]
        self._number = panel.reports[self.order]
        self._was_watched = np.isfinite(watched)
        last = np.take_along_axis(ages, np.maximum(self._number - 1, 0)[:, None], axis=1)[:, 0]
        self._since = np.where(self._number > 0, panel.good[self.order] - last, 0.0)

    def history(self, at: Delay) -> tuple[np.ndarray, np.ndarray]:
        """(n,), (n,): A and B, so that P(reports | T = t) = A + B exp(-(t - good) / delay).

        sound: chance of the reports so far and of no defect, the same for every spot before its
        watch. begun: of the reports and a defect, in units of exp(-(t - last look) / delay);
        between two looks a part of the sound begins.
        """
        sound, begun = 1.0, np.ones(len(self.order))
        for gap, watch in zip(self._gaps, self._watches, strict=True):
            so_far = begun[: gap.size]
            so_far -= sound
            so_far *= np.exp(-gap / at.delay)
            so_far += sound
            found = so_far[watch] * at.detection
            so_far *= 1 - at.detection
            so_far[watch] = found
            sound *= 1 - at.false_watch
        odds = np.where(self._was_watched, at.false_watch / (1 - at.false_watch), 1.0)
        constant = (1 - at.false_watch) ** self._number * odds
        decaying = (begun - constant) * np.exp(-self._since / at.delay)
        back = np.argsort(self.order)
        return constant[back], decaying[back]


def history(panel: Panel, at: Delay) -> tuple[np.ndarray, np.ndarray]:
    """(n,), (n,): the two numbers of every spot's history, see `Reports.history`."""
    return Reports(panel).history(at)


def discount(law: Law, age: np.ndarray, until: np.ndarray, delay: float) -> np.ndarray:
    """(n,) E[exp(-(T - age) / delay) | age < T <= until], until inf where it is not known.

    By parts: exp(-w/m) + (1/m) int_0^w exp(-s/m) F(s) ds / F(w), F the chance gone within s of
    `age` and w = until - age; with exp(-s/m) = x^3 the integral is that of 3 x^2 F over x, smooth
    to its end.
    """
    width = until - age
    lost = -np.expm1(-width / delay)
    span = -np.expm1(-width / (3 * delay))
    x = 1 - span[:, None] * NODES
    every = law.gone(age, np.column_stack((-3 * delay * np.log(x), width)))
    whole = every[:, -1]
    mean = 3 * span * ((every[:, :-1] * x**2) @ WEIGHTS)
    flat = np.where(np.isfinite(width), lost * delay / np.where(width > 0, width, 1.0), 0.0)
    known = whole > 1e-300
    return np.where(known, 1 - lost + mean / np.where(known, whole, 1.0), flat)


class Likelihood:
    """Log-likelihood of the reports of a panel, given how long its spots lasted.

    The life model has used the sights already; what is added is the chance of the reports given
    that T lies between `good` and `condemned`: A + B E[exp(-(T - good) / delay)]. The expectation
    depends on the delay alone: it is tabulated over log delay and interpolated by cubics.
    """

    FEWEST, MOST, STEPS = 0.02, 25.0, 49  # years, years, points of the table

    def __init__(self, panel: Panel) -> None:
        self.panel = panel
        self._reports = Reports(panel)
        self._grid = np.linspace(np.log(self.FEWEST), np.log(self.MOST), self.STEPS)
        ends = panel.good, panel.condemned
        self._table = np.stack([discount(panel.law, *ends, np.exp(g)) for g in self._grid])

    def __call__(self, at: Delay) -> float:
        logs = np.log(np.maximum(self.chances(at), 1e-300))
        return float((self.panel.weight * logs).sum())  # a dot product would wake threads each time

    def chances(self, at: Delay) -> np.ndarray:
        """(n,) chance of each row's reports."""
        constant, decaying = self._reports.history(at)
        return constant + decaying * self._discount(np.log(at.delay))

    def _discount(self, log_delay: float) -> np.ndarray:
        step = self._grid[1] - self._grid[0]
        place = np.clip((log_delay - self._grid[0]) / step, 0, self.STEPS - 1)
        first = int(np.clip(np.floor(place) - 1, 0, self.STEPS - 4))
        u = place - first
        cubic = [
            -(u - 1) * (u - 2) * (u - 3) / 6,
            u * (u - 2) * (u - 3) / 2,
            -u * (u - 1) * (u - 3) / 2,
            u * (u - 1) * (u - 2) / 6,
        ]
        return np.tensordot(cubic, self._table[first : first + 4], axes=1)

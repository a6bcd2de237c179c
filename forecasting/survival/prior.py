"""Common practice as a distribution: what a fleet without history is forecast with.

A rule-of-thumb age is read as an early quantile (B10: one part in ten condemned), not as a median.
No published life distribution for yacht stays was found; every number here is common practice of
the trade, or its author's reading of it, and a fleet may set its own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

SPOTS = ("lower", "run", "upper")  # of a wire; `lower` is the reference of the model's spot columns
SLOPES = {  # on log life; reference boat: C4, 3,000 miles a year, 1x19, swaged, mast up, private
    "severity": -0.19,
    "log2_miles": -0.10,
    "rod": 0.15,
    "mechanical": 0.0,
    "unstepped": 0.10,
    "charter": -0.10,
}
LEAST_B10_LOG_SD = 0.4  # an overconfident wrong prior drops the cover of its intervals to .62


@dataclass(frozen=True)
class Prior:
    """Life of a whole part on the reference boat, and what moves it; all parts independent.

    log B10 ~ normal(log b10, b10_log_sd), b10 in years; log shape ~ normal; hazard shares of the
    spots (lower, run, upper) log-normal with sd shares_log_sd, then made to sum to 1; each slope
    on log life ~ normal(slopes[name], slope_sd). Raises ValueError where a value makes no sense.
    """

    b10: float = 9.0
    b10_log_sd: float = 0.5
    shape: float = 3.0
    shape_log_sd: float = 0.35
    shares: tuple[float, float, float] = (0.60, 0.15, 0.25)
    shares_log_sd: float = 0.5
    slopes: Mapping[str, float] = field(default_factory=lambda: dict(SLOPES))
    slope_sd: float = 0.15
    source: str = "common practice, no source"

    def __post_init__(self) -> None:
        if not (0 < self.b10 < np.inf and 0 < self.shape < np.inf):
            raise ValueError("B10 and shape must be above 0.")
        if self.b10_log_sd < LEAST_B10_LOG_SD:
            raise ValueError(
                f"The spread of B10 (log-sd {self.b10_log_sd}) may not be below "
                f"{LEAST_B10_LOG_SD}: nobody knows it better than that."
            )
        if min(self.shape_log_sd, self.shares_log_sd, self.slope_sd) < 0:
            raise ValueError("A spread may not be negative.")
        if len(self.shares) != 3 or min(self.shares) <= 0 or abs(sum(self.shares) - 1) > 1e-6:
            raise ValueError("The hazard shares of lower end, run and upper end must sum to 1.")

    def parameters(self, names: Sequence[str]) -> np.ndarray:
        """(k,) the medians, in the order of the model's names."""
        return self._map(
            names,
            np.array([np.log(self.b10)]),
            np.array([np.log(self.shape)]),
            np.log(np.array([self.shares])),
            {name: np.array([slope]) for name, slope in self.slopes.items()},
        )[0]

    def sample(self, n: int, rng: np.random.Generator, names: Sequence[str]) -> np.ndarray:
        """(n, k) draws in the order of the model's names."""
        log_b10 = rng.normal(np.log(self.b10), self.b10_log_sd, n)
        log_shape = rng.normal(np.log(self.shape), self.shape_log_sd, n)
        log_shares = rng.normal(np.log(self.shares), self.shares_log_sd, (n, 3))
        slopes = {name: rng.normal(b, self.slope_sd, n) for name, b in self.slopes.items()}
        return self._map(names, log_b10, log_shape, log_shares, slopes)

    def _map(
        self,
        names: Sequence[str],
        log_b10: np.ndarray,
        log_shape: np.ndarray,
        log_shares: np.ndarray,
        slopes: Mapping[str, np.ndarray],
    ) -> np.ndarray:
        """S_part = prod S_spot with shares s of the hazard: S_spot = exp(-s (t/eta)^shape).

        So eta = B10 / (-log .9)^sigma and the location of a spot is log eta - sigma log s.
        """
        sigma = np.exp(-log_shape)
        log_eta = log_b10 - sigma * np.log(-np.log(0.9))
        wire = len(spots_of(names)) > 1
        log_shares = log_shares - np.log(np.exp(log_shares).sum(axis=1, keepdims=True))
        known = {name: sigma * (log_shares[:, 0] - log_shares[:, j]) for j, name in _DUMMIES}
        known["intercept"] = log_eta - sigma * log_shares[:, 0] if wire else log_eta
        known["log_sigma"] = -log_shape
        missing = [name for name in names if name not in known and name not in slopes]
        if missing:
            raise ValueError(f"The prior knows no covariate {missing[0]!r}.")
        return np.column_stack([{**slopes, **known}[name] for name in names])

    def to_dict(self) -> dict[str, Any]:
        return {**asdict(self), "shares": list(self.shares), "slopes": dict(self.slopes)}

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Prior":
        return cls(**{**stored, "shares": tuple(stored["shares"])})


_DUMMIES = ((1, "run"), (2, "upper"))
FROM_MEMORY = "from memory; common practice, no source"
COMMON_PRACTICE = {
    "wire": Prior(),
    "turnbuckle": Prior(b10=18.0, source=FROM_MEMORY),
    "chainplate": Prior(b10=25.0, source=FROM_MEMORY),
}


def spots_of(names: Sequence[str]) -> list[dict[str, float]]:
    """The spot columns of each spot of a part: a model with `run` or `upper` is of a wire."""
    return [{}] + [{spot: 1.0} for spot in SPOTS[1:] if spot in names]

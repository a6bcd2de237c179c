"""Common practice as a distribution: what a fleet without history is forecast with.

A rule-of-thumb age is read as an early quantile (B10: one part in ten condemned), not as a median.
No published life distribution for yacht stays was found; every number here is common practice of
the trade, or its author's reading of it, and a fleet may set its own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any

import numpy as np

from .coordinates import Coordinates, block_precision, contrast_covariance
from .families import family_named

SPOTS = ("lower", "run", "upper")  # of a wire; `lower` is the reference of the model's spot columns
SLOPES = {  # on log life; reference boat: C4, 3,000 miles a year, 1x19, swaged, mast up, private
    "severity": -0.19,
    "log2_miles": -0.10,
    "rod": 0.15,
    "mechanical": 0.0,
    "unstepped": 0.10,
    "charter": -0.10,
}
NORMAL_90 = 1.644854  # 5 and 95 % of a normal lie that many standard deviations out
WEAK_SD = 0.5  # of a slope nobody knows, on log life per standard deviation of its column
SAME_SPREAD = {"weibull": 1.0, "lognormal": np.pi / np.sqrt(6), "loglogistic": np.sqrt(0.5)}
LEAST_B10_LOG_SD = 0.4  # an overconfident wrong prior drops the cover of its intervals to .62


@dataclass(frozen=True)
class Prior:
    """Life of a whole part on the reference boat, and what moves it; all parts independent.

    log B10 ~ normal(log b10, b10_log_sd), b10 in years; log shape ~ normal; hazard shares of the
    spots (lower, run, upper) log-normal with sd shares_log_sd, then made to sum to 1; each slope
    on log life ~ normal(slopes[name], slope_sds[name] or slope_sd); the standard deviation of log
    life between boats half-normal(spread_sd). Raises ValueError where a value makes no sense.
    """

    b10: float = 9.0
    b10_log_sd: float = 0.5
    shape: float = 3.0
    shape_log_sd: float = 0.35
    shares: tuple[float, float, float] = (0.60, 0.15, 0.25)
    shares_log_sd: float = 0.5
    slopes: Mapping[str, float] = field(default_factory=lambda: dict(SLOPES))
    slope_sd: float = 0.15
    slope_sds: Mapping[str, float] = field(default_factory=dict)
    spread_sd: float = 0.25
    about: Mapping[str, float] = field(default_factory=dict)
    source: str = "common practice, no source"

    def __post_init__(self) -> None:
        if not (0 < self.b10 < np.inf and 0 < self.shape < np.inf):
            raise ValueError("B10 and shape must be above 0.")
        if self.b10_log_sd < LEAST_B10_LOG_SD:
            raise ValueError(
                f"The spread of B10 (log-sd {self.b10_log_sd}) may not be below "
                f"{LEAST_B10_LOG_SD}: nobody knows it better than that."
            )
        sds = (self.shape_log_sd, self.shares_log_sd, self.slope_sd, self.spread_sd)
        if min(*sds, *self.slope_sds.values()) <= 0:
            raise ValueError("A spread may not be 0 or negative.")
        if len(self.shares) != 3 or min(self.shares) <= 0 or abs(sum(self.shares) - 1) > 1e-6:
            raise ValueError("The hazard shares of lower end, run and upper end must sum to 1.")

    def coordinates(
        self, names: Sequence[str], family: str = "weibull", *, spread: bool = False
    ) -> Coordinates:
        """The prior as a density on (log B10, contrasts, slopes, log sigma[, log spread]).

        names: of the model, intercept first, log_sigma last. Shape speaks of the Weibull; another
        family gets the sigma with which log life has the same spread. Raises ValueError for a
        covariate the prior does not know.
        """
        names = tuple(names)
        centre = self._centres(names) | {"log_sigma": np.log(SAME_SPREAD[family] / self.shape)}
        spots = tuple(names.index(spot) for spot in SPOTS[1:] if spot in names)
        slopes = [j for j, name in enumerate(names[1:-1], start=1) if j not in spots]
        sds = [self.slope_sds.get(names[j], self.slope_sd) for j in slopes]
        last = len(names) - 1
        blocks = [
            ([0], np.array([self.b10_log_sd**2])),
            (spots, contrast_covariance(self.shares_log_sd, len(spots))),
            *(([j], np.array([sd**2])) for j, sd in zip(slopes, sds, strict=True)),
            ([last], np.array([self.shape_log_sd**2])),
        ]
        m = len(names) + spread
        values = [centre[name] for name in names] + [np.log(self.spread_sd)] * spread
        return Coordinates(
            family=family_named(family),
            names=names + ("log_spread",) * spread,
            spots=spots,
            centre=np.array(values),
            precision=block_precision([block for block in blocks if len(block[0])], m),
            about=np.array([self.about.get(name, 0.0) for name in names] + [0.0] * spread),
            spread_sd=self.spread_sd,
            spread=spread,
        )

    def _centres(self, names: Sequence[str]) -> dict[str, float]:
        lower, run, upper = np.log(self.shares)
        spots = {"run": run - lower, "upper": upper - lower}
        unknown = [n for n in names[1:-1] if n not in self.slopes and n not in spots]
        if unknown:
            raise ValueError(f"The prior knows no covariate {unknown[0]!r}.")
        return {**self.slopes, **spots, "intercept": float(np.log(self.b10))}

    def parameters(self, names: Sequence[str], family: str = "weibull") -> np.ndarray:
        """(k,) the medians, in the order of the model's names."""
        coordinates = self.coordinates(names, family)
        return coordinates.theta(coordinates.centre[None])[0]

    @property
    def b10_band(self) -> tuple[float, float, float]:
        """5 %, 50 % and 95 % of B10."""
        reach = np.exp(NORMAL_90 * self.b10_log_sd)
        return float(self.b10 / reach), self.b10, float(self.b10 * reach)

    def sample(
        self, n: int, rng: np.random.Generator, names: Sequence[str], family: str = "weibull"
    ) -> np.ndarray:
        """(n, k + 1) draws in the order of the model's names; tau, the boats' spread, last."""
        coordinates = self.coordinates(names, family, spread=True)
        theta = coordinates.theta(coordinates.draws(n, rng))
        return np.column_stack([theta[:, :-1], np.exp(theta[:, -1])])

    def with_weak_slopes(self, columns: Mapping[str, tuple[float, float]]) -> "Prior":
        """With a slope for each further column: mean 0, sd WEAK_SD per standard deviation of it.

        columns: name -> mean and standard deviation; one that does not vary counts as 1. B10 then
        speaks of a boat at these means. Names that common practice knows keep what it says.
        """
        new = {n: at for n, at in columns.items() if n not in self.slopes and n not in SPOTS}
        return replace(
            self,
            slopes={**self.slopes, **dict.fromkeys(new, 0.0)},
            slope_sds={
                **self.slope_sds,
                **{n: WEAK_SD / (sd or 1.0) for n, (_, sd) in new.items()},
            },
            about={**self.about, **{n: mean for n, (mean, _) in new.items()}},
        )

    def to_dict(self) -> dict[str, Any]:
        plain = {"slopes": dict(self.slopes), "slope_sds": dict(self.slope_sds)}
        return {**asdict(self), "shares": list(self.shares), **plain, "about": dict(self.about)}

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Prior":
        return cls(**{**stored, "shares": tuple(stored["shares"])})


FROM_MEMORY = "from memory; common practice, no source"
COMMON_PRACTICE = {
    "wire": Prior(),
    "turnbuckle": Prior(b10=18.0, source=FROM_MEMORY),
    "chainplate": Prior(b10=25.0, source=FROM_MEMORY),
}


def spots_of(names: Sequence[str]) -> list[dict[str, float]]:
    """The spot columns of each spot of a part: a model with `run` or `upper` is of a wire."""
    return [{}] + [{spot: 1.0} for spot in SPOTS[1:] if spot in names]

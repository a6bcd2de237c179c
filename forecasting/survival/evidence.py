"""What a model rests on: common practice and the fleet's own record, told apart."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

LEVEL = 0.9  # of every band here
TELLING = 0.2  # a change of B10 by more than that with the prior's centre is worth a word


@dataclass(frozen=True)
class Evidence:
    """B10 of a whole part on the reference boat before and after the record, and how it was found.

    method: "posterior" or "maximum likelihood". prior_b10, b10: (low, middle, high), 5 to 95 %.
    prior_sd, sd: of log B10. slope_shares: column -> share of own data in its slope.
    ess: effective sample size out of `tried` draws, after `rounds` adaptations.
    centres: B10 with the prior's centre divided and multiplied by `CENTRE_FACTOR`, if it was tried.
    lognormal: {"b10", "chance"} of the same posterior with a log-normal life, `chance` that a part
    good at B10 is condemned within half of B10 more; weibull_chance is the model's own.
    """

    method: str
    deaths: float
    prior_b10: tuple[float, float, float]
    b10: tuple[float, float, float]
    prior_sd: float
    sd: float
    slope_shares: Mapping[str, float] = field(default_factory=dict)
    ess: float | None = None
    tried: int = 0
    rounds: int = 0
    centres: tuple[float, float] | None = None
    lognormal: Mapping[str, float] | None = None
    weibull_chance: float | None = None

    @property
    def own_share(self) -> float:
        """Share of own data: 1 - posterior variance / prior variance of log B10, at least 0."""
        return max(0.0, 1 - (self.sd / self.prior_sd) ** 2)

    @property
    def leans_on_centre(self) -> bool:
        """Whether another centre of the prior would move B10 by over 20 %."""
        if self.centres is None:
            return False
        return any(abs(b10 / self.b10[1] - 1) > TELLING for b10 in self.centres)

    def to_dict(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Evidence":
        values = dict(stored)
        for name in ("prior_b10", "b10", "centres"):
            values[name] = None if values[name] is None else tuple(values[name])
        return cls(**values)

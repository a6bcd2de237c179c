"""How long parts of the demo fleets really last: what a right reading of the sheets must find."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

DAYS = 365.25
SEVERITY = {"C2": -2, "C3": -1, "C4": 0, "C5": 1, "CX": 2}  # steps from the reference, C4
FEWEST_MILES, USUAL_MILES = 200, 3000
SPOTS = {
    "wire": ("lower", "run", "upper"),
    "turnbuckle": ("whole",),
    "chainplate": ("whole",),
}


@dataclass(frozen=True)
class Truth:
    """Weibull lives of one shape; log life = intercept + slopes x covariates + eps / shape.

    ``b10``: age in years by which one part in ten of its kind is condemnable on the reference boat
    (C4, 3,000 miles a year, 1x19, swaged, mast up, private). ``shares``: each spot's share of a
    wire's hazard. ``boat_spread``: standard deviation of the boats' own log factor.
    ``breaks_a_year``: rate at which a condemnable, unseen wire lets go. ``flawed``: share of the
    ends made up with the bad batch that go after two to six years, whatever the boat does.

    A defect begins at a spot of a wire some time before the spot becomes condemnable, at the
    earliest when it is fitted: an exponential time of mean ``delay`` years before, by the calendar
    and whatever the life. A look that sees a begun defect notes a sign to watch with chance
    ``detection``, one that sees a sound spot with chance ``false_watch``.
    """

    shape: float = 3.0
    b10: Mapping[str, float] = field(
        default_factory=lambda: {"wire": 9.0, "turnbuckle": 18.0, "chainplate": 30.0}
    )
    shares: Mapping[str, float] = field(
        default_factory=lambda: {"lower": 0.60, "run": 0.15, "upper": 0.25, "whole": 1.0}
    )
    severity: float = -0.19
    log2_miles: float = -0.10
    rod: float = 0.15
    mechanical: float = 0.0
    unstepped: float = 0.10
    charter: float = -0.10
    boat_spread: float = 0.15
    delay: float = 1.0
    detection: float = 0.7
    false_watch: float = 0.001
    breaks_a_year: float = 1 / 30
    flawed: float = 0.1

    def scale(self, kind: str, spot: str) -> float:
        """Weibull scale in years of one spot on the reference boat."""
        whole = self.b10[kind] / (-math.log(0.9)) ** (1 / self.shape)
        return whole * self.shares[spot] ** (-1 / self.shape)

    def boat_years(
        self, corrosivity: str, miles: float, *, unstepped: bool, charter: bool
    ) -> float:
        """Log factor on life of a year spent like this."""
        return (
            self.severity * SEVERITY[corrosivity]
            + self.log2_miles * math.log2(max(miles, FEWEST_MILES) / USUAL_MILES)
            + self.unstepped * unstepped
            + self.charter * charter
        )

    def make(self, construction: str, lower_terminal: str) -> float:
        """Log factor on life of how a wire is made."""
        rod = construction == "rod"
        return self.rod * rod + self.mechanical * (lower_terminal == "mechanical")

    def coefficients(self, kind: str = "wire") -> dict[str, float]:
        """What a fit of that kind of part must find, by the names of the fleet model."""
        first = SPOTS[kind][0]
        base = math.log(self.scale(kind, first))
        spots = {spot: math.log(self.scale(kind, spot)) - base for spot in SPOTS[kind][1:]}
        slopes = {"severity": self.severity, "log2_miles": self.log2_miles}
        wires = {"rod": self.rod, "mechanical": self.mechanical} if kind == "wire" else {}
        use = {"unstepped": self.unstepped, "charter": self.charter}
        sigma = {"log_sigma": -math.log(self.shape)}
        return {"intercept": base} | spots | slopes | wires | use | sigma


TRUTH = Truth()

"""Weeks from order to hand: the most particular row that fits a part; of two alike the longer."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Lead:
    """A row of lead times; blank or None means any. Diameters in mm, both ends included."""

    weeks: float
    kind: str = ""
    construction: str = ""
    diameter_from: float | None = None
    diameter_to: float | None = None
    row: object = None

    def fits(self, kind: str, construction: str, diameter: float | None) -> bool:
        if self.kind not in ("", kind) or self.construction not in ("", construction):
            return False
        if self.diameter_from is None and self.diameter_to is None:
            return True
        low = 0.0 if self.diameter_from is None else self.diameter_from
        high = float("inf") if self.diameter_to is None else self.diameter_to
        return diameter is not None and low <= diameter <= high

    @property
    def particular(self) -> tuple[int, float]:
        """What is said, and how narrow the diameters are: more is more particular."""
        ends = (self.diameter_from, self.diameter_to)
        said = bool(self.kind) + bool(self.construction) + any(end is not None for end in ends)
        width = ends[1] - ends[0] if None not in ends else float("inf")
        return said, -width


def lead_for(
    leads: Iterable[Lead], kind: str, construction: str = "", diameter: float | None = None
) -> Lead | None:
    """Return the row that says most of such a part; None where none fits."""
    fitting = [lead for lead in leads if lead.fits(kind, construction, diameter)]
    return max(fitting, key=lambda lead: (lead.particular, lead.weeks), default=None)

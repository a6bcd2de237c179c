"""What goes into a verdict: the part as the record knows it, the finding as it was seen."""

import datetime as dt
import math
from dataclasses import dataclass

from inspections.criteria import KINDS, SPOTS, WIRES_ACROSS

SPOT_WORDS = {"lower": "lower end", "run": "wire", "upper": "upper end", "whole": "part"}


@dataclass(frozen=True)
class PartFacts:
    """What the rules need to know of one part. Diameters in mm; blank or None: not on record."""

    kind: str
    construction: str = ""
    lower_terminal: str = ""
    upper_terminal: str = ""
    diameter_mm: float | None = None
    pin_mm: float | None = None
    thread_mm: float | None = None
    stay: str = ""
    side: str = ""
    mast: str = "main"

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"A part is one of {', '.join(KINDS)}; '{self.kind}' is none of them.")

    @property
    def spots(self) -> tuple[str, ...]:
        return SPOTS[self.kind]

    def terminals_at(self, spot: str) -> tuple[str, ...]:
        ends = {"lower": (self.lower_terminal,), "upper": (self.upper_terminal,)}
        return ends.get(spot, (self.lower_terminal, self.upper_terminal))

    def reference_mm(self, of: str) -> float | None:
        """The diameter a limit refers to: "wire" (one single wire), "pin" or "thread".

        Where the thread is not on record the pin stands for it: a rigging screw takes a pin about
        as thick as its thread (common practice, no source).
        """
        if of == "pin":
            return self.pin_mm
        if of == "thread":
            return self.thread_mm or self.pin_mm
        across = WIRES_ACROSS.get(self.construction)
        return self.diameter_mm / across if of == "wire" and self.diameter_mm and across else None


@dataclass(frozen=True)
class FindingFacts:
    """One sign at one spot. `measure` in the unit of the sign; `cleaned`: did it come away.

    None: not measured, not tried. `on` defaults to the day of the inspection. Raises ValueError for
    a measure that is no number or below 0.
    """

    sign: str
    spot: str = ""
    measure: float | None = None
    cleaned: bool | None = None
    on: dt.date | None = None

    def __post_init__(self) -> None:
        if self.measure is not None and not (math.isfinite(self.measure) and self.measure >= 0):
            raise ValueError(
                f"The measure of '{self.sign}' is {self.measure}; give a number, 0 or more."
            )


def reach(level: str, kind: str, inside_foil: bool = False) -> frozenset[str]:
    """The spots of a part that an inspection of this level can see.

    A chainplate is seen only when it is drawn, mast down; a stay inside a furler foil shows only
    its lower end until then.
    """
    if level not in ("deck", "aloft", "mast_down"):
        raise ValueError(f"An inspection is deck, aloft or mast_down; '{level}' is none of them.")
    if level == "mast_down":
        return frozenset(SPOTS[kind])
    if kind == "chainplate":
        return frozenset()
    if kind == "wire" and (level == "deck" or inside_foil):
        return frozenset(("lower",))
    return frozenset(SPOTS[kind])

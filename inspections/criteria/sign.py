"""What a sign is: where it is seen, how it is measured, and what it means for the part.

A sign is data. Four rules turn a sign into a verdict, and each has the same three answers:

=========  ===========================  ==========================  ===========================
rule       `outcome`                    `milder`                    `unknown`
=========  ===========================  ==========================  ===========================
plain      the sign is there            -                           -
measured   the limit is reached         under the limit             not measured
remedy     stays, or has come back      cleaned, the first time     not said whether it cleans
growth     more than at any time before first time, or no more      seen before, cannot compare
=========  ===========================  ==========================  ===========================
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

COMMON_PRACTICE = "common practice, no source"

# From best to worst. A verdict on a part is the worst of what speaks about it.
VALUES = ("keep", "not_seen", "not_assessed", "watch", "refer", "make_good", "replace")
RANK = {value: rank for rank, value in enumerate(VALUES)}

RULES = ("plain", "measured", "remedy", "growth")
HOLDS = ("", "offshore", "sailing")

KINDS = ("wire", "turnbuckle", "chainplate")
SPOTS = {
    "wire": ("lower", "run", "upper"),
    "turnbuckle": ("whole",),
    "chainplate": ("whole",),
}
TERMINALS = ("swaged", "mechanical", "t_ball", "eye", "other")
LAID = ("1x19", "compacted", "7x7", "7x19", "galvanised")
CONSTRUCTIONS = (*LAID, "rod", "fibre")
PLACES = ("spreader", "tang", "mast_wall", "bulkhead", "furler_foil", "hanks", "whole_rig")

# A terminal that is not on record, or is of no listed type, may be any of them.
UNSTATED_TERMINALS = ("", "other")

# Single wires side by side across the strand, so that one wire is diameter / this.
# Plain geometry of equal round wires (1x19: 1 + 6 + 12 lie five across). The outer wires of a
# compacted strand are larger than that, so taking a fifth for it judges a notch as deeper.
WIRES_ACROSS = {"1x19": 5, "compacted": 5, "7x7": 9, "7x19": 15}

# Measurements arrive as decimals: 0.05 * 12.7 must not decide a verdict by its last bit.
ROUNDING = 1e-9


def worst(values: Iterable[str]) -> str:
    """The worst of some verdict values; ValueError when there are none."""
    return max(values, key=RANK.__getitem__)


@dataclass(frozen=True)
class Measure:
    """What is measured, and the fleet's limit for it.

    `limit` is in `unit`, or, where `of` names a reference, a multiple of that diameter: "wire" (one
    single wire), "pin" or "thread". None: no limit set. `worse` says which side of the limit is
    bad; `at_limit` whether the limit itself already is.
    """

    label: str
    unit: str
    limit: float | None
    of: str = ""
    worse: str = "more"
    at_limit: bool = True
    basis: str = COMMON_PRACTICE

    def __post_init__(self) -> None:
        _one_of("Worse side", self.worse, ("more", "less"))
        _one_of("Reference diameter", self.of, ("", "wire", "pin", "thread"))
        if self.limit is None:
            return
        if not (math.isfinite(self.limit) and self.limit > 0):
            raise ValueError(f"The limit for '{self.label}' must be above 0; got {self.limit}.")
        object.__setattr__(self, "limit", float(self.limit))

    def limit_in_units(self, reference_mm: float | None) -> float | None:
        """The limit in `unit`, or None when it, or the diameter it refers to, is not known."""
        if self.limit is None or not self.of:
            return self.limit
        return None if reference_mm is None else self.limit * reference_mm

    def reached(self, value: float, limit: float) -> bool:
        beyond = value - limit if self.worse == "more" else limit - value
        return beyond >= -ROUNDING if self.at_limit else beyond > ROUNDING


@dataclass(frozen=True)
class Sign:
    """One sign an inspector can report, and the verdict it leads to.

    `kinds`, `terminals`, `constructions` and `spots` say where it can be found (empty: on any,
    where `kinds` is given); `places` are places of the boat that are no part with its own life.
    `hold` keeps the boat from "sailing" or from going "offshore"; *replace* and *make good* always
    hold. `essential`: without this sign no wire of the constructions it names can be assessed.
    `voids`: an event after which no earlier inspection counts.
    """

    code: str
    where: str
    label: str
    look: str
    outcome: str
    rule: str = "plain"
    milder: str = ""
    unknown: str = ""
    measure: Measure | None = None
    kinds: tuple[str, ...] = ()
    terminals: tuple[str, ...] = ()
    constructions: tuple[str, ...] = ()
    spots: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    action: str = ""
    again_days: int | None = None
    hold: str = ""
    returns: bool = True
    essential: bool = False
    voids: bool = False
    consumable: bool = False
    source: str = COMMON_PRACTICE

    def __post_init__(self) -> None:
        _one_of(f"Rule of {self.code}", self.rule, RULES)
        _one_of(f"Hold of {self.code}", self.hold, HOLDS)
        answers = (self.outcome,) if self.rule == "plain" else self.answers
        for value in answers:
            _one_of(f"Verdict of {self.code}", value, VALUES)
        if self.rule == "measured" and self.measure is None:
            raise ValueError(f"Sign {self.code} is judged by a measure and names none.")
        if self.again_days is not None and self.again_days < 1:
            raise ValueError(f"Sign {self.code}: look again after 1 day or more.")
        if {"watch", "refer"} & set(answers) and self.again_days is None:
            raise ValueError(f"Sign {self.code} says look again and not after how many days.")

    @property
    def answers(self) -> tuple[str, str, str]:
        return self.outcome, self.milder, self.unknown

    @property
    def holds(self) -> bool:
        """True when the sign at its worst keeps the boat in harbour, or from going offshore."""
        return bool(self.hold) or RANK[self.outcome] >= RANK["make_good"]

    @property
    def has_limit(self) -> bool:
        """False for a measured sign whose limit the fleet has not set."""
        return self.rule != "measured" or self.measure.limit is not None

    def fits_terminals(self, terminals: Iterable[str]) -> bool:
        """Whether a part with these terminals can show the sign; what is not on record can."""
        fitted = set(terminals)
        open_question = not fitted or fitted & set(UNSTATED_TERMINALS)
        return not self.terminals or bool(open_question) or bool(fitted & set(self.terminals))

    def fits_construction(self, construction: str) -> bool:
        return not (self.constructions and construction) or construction in self.constructions


def _one_of(what: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise ValueError(f"{what} is '{value}'; it must be one of {', '.join(allowed)}.")

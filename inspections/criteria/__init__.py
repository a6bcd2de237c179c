"""The signs an inspector can find and what each means: the fleet's criteria, as data.

Every limit is the fleet's own rule, not the law, and is common practice without a source unless the
sign names one. `DEFAULT` is where a fleet starts; `DEFAULT.changed(...)` gives its own.
"""

from inspections.criteria.book import DEFAULT, STANDING, Criteria, UnknownSign
from inspections.criteria.sign import (
    COMMON_PRACTICE,
    CONSTRUCTIONS,
    HOLDS,
    KINDS,
    PLACES,
    RANK,
    SPOTS,
    TERMINALS,
    VALUES,
    WIRES_ACROSS,
    Measure,
    Sign,
    worst,
)

for_part = DEFAULT.for_part
for_place = DEFAULT.for_place

__all__ = [
    "COMMON_PRACTICE",
    "CONSTRUCTIONS",
    "DEFAULT",
    "HOLDS",
    "KINDS",
    "PLACES",
    "RANK",
    "SPOTS",
    "STANDING",
    "TERMINALS",
    "VALUES",
    "WIRES_ACROSS",
    "Criteria",
    "Measure",
    "Sign",
    "UnknownSign",
    "for_part",
    "for_place",
    "worst",
]

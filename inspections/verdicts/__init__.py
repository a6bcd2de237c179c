"""What an inspection means: findings in, verdicts with reasons out. Pure; time is an argument.

A forecast never comes in here, and nothing here clears a part that was not seen.
"""

from inspections.verdicts.boat import BoatResult, boat_level
from inspections.verdicts.facts import SPOT_WORDS, FindingFacts, PartFacts, reach
from inspections.verdicts.part import Pair, VerdictResult, consequences, judge

__all__ = [
    "SPOT_WORDS",
    "BoatResult",
    "FindingFacts",
    "Pair",
    "PartFacts",
    "VerdictResult",
    "boat_level",
    "consequences",
    "judge",
    "reach",
]

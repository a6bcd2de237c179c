"""How long parts last: pure statistics, no Django.

`fit` turns `Lives` into a `LifeModel`, or into a `Refusal` with its reason; `rule_of_thumb` gives
the model of a fleet without history.
"""

from .families import FAMILIES, log_survival
from .fit import fit
from .lives import Life, Lives
from .model import BASELINE_FITTED, FITTED, RULE_OF_THUMB, Band, LifeModel, part_ages
from .prior import COMMON_PRACTICE, Prior, spots_of
from .refusal import Refusal
from .rule_of_thumb import rule_of_thumb

__all__ = [
    "BASELINE_FITTED",
    "COMMON_PRACTICE",
    "FAMILIES",
    "FITTED",
    "RULE_OF_THUMB",
    "Band",
    "Life",
    "LifeModel",
    "Lives",
    "Prior",
    "Refusal",
    "fit",
    "log_survival",
    "part_ages",
    "rule_of_thumb",
    "spots_of",
]

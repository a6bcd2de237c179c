"""How long parts last: pure statistics, no Django.

`model_by_deaths` turns `Lives` and common practice into the `LifeModel` their deaths allow, or into
a `Refusal` with its reason; `fit` is maximum likelihood alone; `rule_of_thumb` is the model of a
fleet without history.
"""

from .by_deaths import LIKELIHOOD_FROM, POSTERIOR_FROM, SLOPES_FROM, Chosen, model_by_deaths
from .evidence import Evidence
from .families import FAMILIES, log_survival
from .fit import fit
from .lives import Life, Lives
from .model import (
    BASELINE_FITTED,
    FITTED,
    POSTERIOR,
    RULE_OF_THUMB,
    RULE_SO_FAR,
    Band,
    LifeModel,
    part_ages,
)
from .posterior import posterior
from .prior import COMMON_PRACTICE, Prior, spots_of
from .refusal import Refusal
from .rule_of_thumb import rule_of_thumb

__all__ = [
    "BASELINE_FITTED",
    "COMMON_PRACTICE",
    "FAMILIES",
    "FITTED",
    "LIKELIHOOD_FROM",
    "POSTERIOR",
    "POSTERIOR_FROM",
    "RULE_OF_THUMB",
    "RULE_SO_FAR",
    "SLOPES_FROM",
    "Band",
    "Chosen",
    "Evidence",
    "Life",
    "LifeModel",
    "Lives",
    "Prior",
    "Refusal",
    "fit",
    "log_survival",
    "model_by_deaths",
    "part_ages",
    "posterior",
    "rule_of_thumb",
    "spots_of",
]

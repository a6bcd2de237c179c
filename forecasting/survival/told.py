"""Maximum likelihood of what the record can tell; what it cannot stays at common practice, by name.

A fleet with one base has one severity, most have no rod: that must not cost it its forecast.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from .fit import fit
from .lives import Lives
from .model import LifeModel
from .prior import SAME_SPREAD, SPOTS, Prior
from .refusal import Refusal

FEWEST_DEATHS_A_SIDE = 5
ROUNDS = 6  # held spot shares and the fitted spread settle within three or four


def fit_what_is_told(
    lives: Lives, prior: Prior, family: str = "weibull", *, boat_effect: bool = False
) -> tuple[LifeModel | Refusal, dict[str, str]]:
    """The fit, and column -> why its slope is held at common practice."""
    held = too_few_to_tell(lives)
    while True:
        outcome = _fit(lives, held, prior, family, boat_effect)
        culprits = _culprits(outcome, held)
        if not culprits:
            return outcome, held
        held |= dict.fromkeys(culprits, outcome.sentence)


def too_few_to_tell(lives: Lives) -> dict[str, str]:
    """The yes-or-no columns with fewer than 5 deaths on either side, each with its sentence."""
    died = lives.weight * lives.died
    few = {}
    for name, column in zip(lives.names, lives.X.T, strict=True):
        if not np.isin(column, (0, 1)).all():
            continue
        ones = float(died @ column)
        fewest = min(ones, lives.deaths - ones)
        if fewest < FEWEST_DEATHS_A_SIDE:
            number = f"{fewest:,.1f}".removesuffix(".0")
            few[name] = f"{number} condemned or failed on one side: too few to tell."
    return few


def _culprits(outcome: LifeModel | Refusal, held: Mapping[str, str]) -> tuple[str, ...]:
    if isinstance(outcome, LifeModel):
        return ()
    named = tuple(name for name in outcome.columns if name not in held)
    return named[:1] if outcome.reason_code == "repeated_column" else named


def _fit(
    lives: Lives, held: Mapping[str, str], prior: Prior, family: str, boat_effect: bool
) -> LifeModel | Refusal:
    """Fit with some columns at common practice.

    Common practice speaks of the spots' shares of the hazard; the column that stands for a share
    also depends on the spread, so the two are brought to agree in a few rounds.
    """
    sigma = SAME_SPREAD[family] / prior.shape
    for _ in range(ROUNDS):
        values = _at_common_practice(lives.names, prior, family, sigma)
        fixed = {name: values[name] for name in held}
        outcome = fit(lives, family, fixed=fixed, boat_effect=boat_effect)
        if isinstance(outcome, Refusal) or not set(held) & set(SPOTS):
            return outcome
        if abs(np.log(outcome.sigma / sigma)) < 1e-3:
            return outcome
        sigma = outcome.sigma
    return outcome


def _at_common_practice(
    names: tuple[str, ...], prior: Prior, family: str, sigma: float
) -> dict[str, float]:
    names = ("intercept", *names, "log_sigma")
    values = replace(prior, shape=SAME_SPREAD[family] / sigma).parameters(names, family)
    return dict(zip(names, values.tolist(), strict=True))

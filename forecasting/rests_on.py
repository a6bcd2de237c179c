"""What a model rests on, common practice or the fleet's own record: in words and as a picture."""

from typing import Any

import numpy as np

from fleet.templatetags.wording import percent

from . import charts
from .survival import RULE_OF_THUMB, RULE_SO_FAR, SLOPES_FROM, Evidence, LifeModel
from .survival.by_deaths import reached

POINTS = 121
HARDLY = 0.01  # spread of log life between boats below which there is none to tell of
REACH = 3.2  # standard deviations shown on either side


def words(model: LifeModel, kind: str) -> list[str]:
    """Return a few sentences, the most important first; none for a model without evidence."""
    evidence = model.evidence
    if evidence is None:
        return []
    return [
        *_shares(model, kind),
        *_centres(evidence),
        *_lognormal(evidence, kind),
        *_boats(model),
    ]


def title(model: LifeModel, kind: str) -> str:
    """Return the sentence the picture says."""
    evidence = model.evidence
    practice = f"Common practice: one {kind} in ten condemned by {_ages(evidence.prior_b10)}"
    if model.standing == RULE_OF_THUMB:
        return practice
    with_own = "with your boats so far" if model.standing == RULE_SO_FAR else "with your own record"
    return f"{practice}; {with_own}, by {_ages(evidence.b10)}"


def picture(model: LifeModel, kind: str) -> dict[str, Any] | None:
    """Return the chart of B10 before and after the record; None without evidence."""
    evidence = model.evidence
    if evidence is None:
        return None
    curves = {"practice": (evidence.prior_b10[1], evidence.prior_sd)}
    if model.standing != RULE_OF_THUMB:
        own = "so_far" if model.standing == RULE_SO_FAR else "own"
        curves[own] = (evidence.b10[1], evidence.sd)
    widest = [np.log(b10) + side * REACH * sd for b10, sd in curves.values() for side in (-1, 1)]
    ages = np.exp(np.linspace(min(widest), min(max(widest), np.log(60)), POINTS))
    heights = {name: _density(ages, *at) for name, at in curves.items()}
    top = max(height.max() for height in heights.values())
    rows = [
        {"age": round(float(age), 2)}
        | {name: round(float(height[i] / top), 4) for name, height in heights.items()}
        for i, age in enumerate(ages)
    ]
    return charts.evidence(rows, tuple(curves), title(model, kind))


def slopes_shown(model: LifeModel) -> bool:
    """Return whether slopes may be shown: from 30 deaths on there is something to tell of them."""
    return model.evidence is None or reached(model.deaths, SLOPES_FROM)


def _density(ages: np.ndarray, b10: float, sd: float) -> np.ndarray:
    z = (np.log(ages) - np.log(b10)) / sd
    return np.exp(-0.5 * z * z) / (sd * ages)


def _ages(band: tuple[float, float, float]) -> str:
    low, middle, high = band
    return f"{middle:.1f} years ({low:.1f} to {high:.1f})"


def _shares(model: LifeModel, kind: str) -> list[str]:
    evidence = model.evidence
    if model.standing == RULE_OF_THUMB:
        return ["Nothing of your own is in this yet: it is common practice alone."]
    if evidence.method == "maximum likelihood":
        return ["Your own record decides; common practice only holds what it cannot tell."]
    return [
        f"{percent(evidence.own_share)} of what is known of a {kind}'s life comes from your own "
        "record, the rest from common practice."
    ]


def _centres(evidence: Evidence) -> list[str]:
    if not evidence.leans_on_centre:
        return []
    low, high = evidence.centres
    return [
        "It leans on common practice: were that a third lower or half as high again, one in ten "
        f"would be condemned by {low:.1f} or by {high:.1f} years."
    ]


def _lognormal(evidence: Evidence, kind: str) -> list[str]:
    if evidence.lognormal is None:
        return []
    age = evidence.b10[1]
    spot = "the lower end of a wire" if kind == "wire" else f"a {kind}"
    return [
        f"With another law of wear (log-normal) one in ten would be condemned by "
        f"{evidence.lognormal['b10']:.1f} years, and {spot} good at {age:.1f} condemned by "
        f"{1.5 * age:.1f} with a chance of {percent(evidence.lognormal['chance'])} instead of "
        f"{percent(evidence.weibull_chance)}. So few cannot tell the two apart."
    ]


def _boats(model: LifeModel) -> list[str]:
    if not model.boat_spread_band or model.standing == RULE_OF_THUMB:
        return []
    low, high = np.exp(model.boat_spread_band)
    if model.boat_spread < HARDLY:
        return [
            "Boats were not found to differ beyond what is recorded of them: by a factor of at "
            f"most {high:.2f}."
        ]
    return [
        "Boats differ, for reasons nobody recorded: typically lives are longer or shorter by a "
        f"factor of {np.exp(model.boat_spread):.2f} ({low:.2f} to {high:.2f})."
    ]

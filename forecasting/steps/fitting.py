"""The model of one kind of part, as rich as its deaths allow, in words; or why there is none.

What the deaths allow is `survival.by_deaths`; here it gets its name, sentence and warnings.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..life_data import LifeTable
from ..models import ModelRun
from ..survival import (
    RULE_OF_THUMB,
    RULE_SO_FAR,
    SLOPES_FROM,
    LifeModel,
    Prior,
    Refusal,
    model_by_deaths,
    rule_of_thumb,
)
from ..survival.by_deaths import reached

AT_RISK = 10  # parts; beyond the ages with so many the curve is extrapolated
SEED = 11
FAMILY = "auto"  # weibull below 150 deaths, and unless another foretells clearly better

State = ModelRun.State


@dataclass(frozen=True)
class Outcome:
    """What became of one kind of part. ``model`` is None exactly when ``state`` is refused.

    held: column -> why its slope is common practice's, blank where too few deaths say it all.
    """

    kind: str
    state: str
    model: LifeModel | None
    sentence: str
    warnings: tuple[str, ...] = ()
    held: tuple[tuple[str, str], ...] = ()


def modelled(
    table: LifeTable, kind: str, prior: Prior, slopes: Mapping[str, float] | None = None
) -> Outcome:
    """Return the model its deaths allow. A fit that cannot be given is refused with its reason.

    slopes: those of another kind with a record of its own, for one that has fewer than 5 deaths.
    """
    chosen = model_by_deaths(table.lives, prior, family=FAMILY, slopes=slopes, seed=SEED)
    model = chosen.outcome
    if isinstance(model, Refusal):
        return Outcome(kind, State.REFUSED, None, model.sentence, table.warnings)
    if model.standing == RULE_OF_THUMB:
        return thumb(kind, prior, f"No {kind} was seen after it came under record.")
    state = _state(model)
    said = tuple(_said(name, why, state) for name, why in chosen.held.items() if why)
    warnings = (*table.warnings, *model.warnings, *said, *_thin_ages(table))
    held = tuple(chosen.held.items())
    return Outcome(kind, state, model, _sentence(model, kind, slopes), warnings, held)


def thumb(kind: str, prior: Prior, because: str) -> Outcome:
    """Return the labelled rule of thumb, with the reason why it has to serve."""
    sentence = (
        f"{because} Rule of thumb instead: on the reference boat one {kind} in ten is condemned by "
        f"{prior.b10:g} years ({prior.source})."
    )
    model = rule_of_thumb(prior, kind)
    return Outcome(kind, State.RULE_OF_THUMB, model, sentence, model.warnings)


def _state(model: LifeModel) -> str:
    if model.standing == RULE_SO_FAR:
        return State.RULE_OF_THUMB
    return State.FITTED if model.sample is None else State.POSTERIOR


def _said(name: str, why: str, state: str) -> str:
    if state == State.FITTED:
        return f"{name} is held at common practice: {why}"
    return f"{name} keeps common practice's slope, moved by what little the record tells: {why}"


def _sentence(model: LifeModel, kind: str, slopes: Mapping[str, float] | None) -> str:
    deaths, lives = _number(model.deaths), _number(model.lives)
    if model.standing == RULE_SO_FAR:
        shared = " How the ground and use matter is taken from the wires." if slopes else ""
        return (
            f"Your boats so far: {deaths} of {lives} spots of {kind}s seen were condemned or "
            f"failed. With common practice that makes {_b10(model, kind)}.{shared}"
        )
    start = (
        f"{deaths} of {lives} spots of {kind}s were condemned or failed, on {model.clusters} boats."
    )
    if model.sample is None:
        return f"{start} Fitted by maximum likelihood with an effect of each boat; errors by boat."
    least = "" if reached(model.deaths, SLOPES_FROM) else (
        f" How the ground and use matter is shown from {SLOPES_FROM} on."
    )  # fmt: skip
    return f"{start} Weighed together with common practice: {_b10(model, kind)}.{least}"


def _b10(model: LifeModel, kind: str) -> str:
    low, middle, high = model.evidence.b10
    return (
        f"one {kind} in ten condemned by {middle:.1f} years ({low:.1f} to {high:.1f}) on the "
        f"reference boat"
    )


def observed_ages(table: LifeTable) -> tuple[float, float]:
    """Return the youngest and the oldest age at which ten parts were watched; 0 and 0 if never."""
    parts = table.rows.groupby("part")
    entered = np.sort(parts["entry"].min().to_numpy())
    left = np.sort(parts["good"].max().to_numpy())[::-1]
    if len(entered) < AT_RISK:
        return 0.0, 0.0
    return float(entered[AT_RISK - 1]), float(left[AT_RISK - 1])


def _thin_ages(table: LifeTable) -> list[str]:
    youngest, oldest = observed_ages(table)
    said = [f"Beyond {oldest:.1f} years fewer than {AT_RISK} parts were watched: extrapolated."]
    if youngest > 1:
        said.append(f"Before {youngest:.1f} years fewer than {AT_RISK} parts were watched.")
    return said


def _number(weight: float) -> str:
    return f"{weight:,.1f}".removesuffix(".0")

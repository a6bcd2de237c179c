"""The model of one kind of part, as rich as its deaths allow, or the reason why there is none.

Fewer than 5 deaths tell nothing of their own: rule of thumb. Up to 29 fix how long parts last,
while how the end, the ground and use matter is held at common practice. From 30 on the slopes are
estimated too, each where the record can tell it.
"""

from dataclasses import dataclass, replace

import numpy as np

from ..life_data import LifeTable
from ..models import ModelRun
from ..survival import COMMON_PRACTICE, LifeModel, Lives, Prior, Refusal, fit, rule_of_thumb

BASELINE_FROM, SLOPES_FROM = 5, 30
FEWEST_DEATHS_A_SIDE = 5
SPOT_COLUMNS = ("run", "upper")
ROUNDS = 6  # held spot shares and the fitted spread settle within three or four
AT_RISK = 10  # parts; beyond the ages with so many the curve is extrapolated

State = ModelRun.State


@dataclass(frozen=True)
class Outcome:
    """What became of one kind of part. ``model`` is None exactly when ``state`` is refused.

    held: column -> why its slope stays at common practice.
    """

    kind: str
    state: str
    model: LifeModel | None
    sentence: str
    warnings: tuple[str, ...] = ()
    held: tuple[tuple[str, str], ...] = ()


def prior_of(kind: str, rule_of_thumb_years: float) -> Prior:
    """Return common practice for a kind of part; the fleet's own rule of thumb speaks of wires."""
    prior = COMMON_PRACTICE[kind]
    return replace(prior, b10=rule_of_thumb_years) if kind == "wire" else prior


def modelled(table: LifeTable, kind: str, prior: Prior) -> Outcome:
    """Return the model its deaths allow. A fit that cannot be given is refused with its reason."""
    deaths = table.lives.deaths
    if deaths < BASELINE_FROM:
        return thumb(kind, prior, f"{_number(deaths)} condemned or failed on record.")
    if deaths < SLOPES_FROM:
        held = dict.fromkeys(table.lives.names, "")
        return _outcome(table, kind, State.BASELINE, _fit(table.lives, held, prior), held)
    return _outcome(table, kind, State.FITTED, *_estimated(table.lives, prior))


def thumb(kind: str, prior: Prior, because: str) -> Outcome:
    """Return the labelled rule of thumb, with the reason why it has to serve."""
    sentence = (
        f"{because} Rule of thumb instead: on the reference boat one {kind} in ten is condemned by "
        f"{prior.b10:g} years ({prior.source})."
    )
    model = rule_of_thumb(prior, kind)
    return Outcome(kind, State.RULE_OF_THUMB, model, sentence, model.warnings)


def _estimated(lives: Lives, prior: Prior) -> tuple[LifeModel | Refusal, dict[str, str]]:
    """Fit the slopes, holding those the record cannot tell until a fit can be given."""
    held = _too_few_to_tell(lives)
    while True:
        outcome = _fit(lives, held, prior)
        culprits = _culprits(outcome, held)
        if not culprits:
            return outcome, held
        held |= dict.fromkeys(culprits, outcome.sentence)


def _too_few_to_tell(lives: Lives) -> dict[str, str]:
    """Return the yes-or-no columns with fewer than 5 deaths on either side."""
    died = lives.weight * lives.died
    few = {}
    for name, column in zip(lives.names, lives.X.T, strict=True):
        if not np.isin(column, (0, 1)).all():
            continue
        ones = float(died @ column)
        fewest = min(ones, lives.deaths - ones)
        if fewest < FEWEST_DEATHS_A_SIDE:
            few[name] = f"{_number(fewest)} condemned or failed on one side: too few to tell."
    return few


def _culprits(outcome: LifeModel | Refusal, held: dict[str, str]) -> tuple[str, ...]:
    if isinstance(outcome, LifeModel):
        return ()
    named = tuple(name for name in outcome.columns if name not in held)
    return named[:1] if outcome.reason_code == "repeated_column" else named


def _fit(lives: Lives, held: dict[str, str], prior: Prior) -> LifeModel | Refusal:
    """Fit with some columns at common practice.

    Common practice speaks of the spots' shares of the hazard; the column that stands for a share
    also depends on the spread, so the two are brought to agree in a few rounds.
    """
    sigma = 1 / prior.shape
    for _ in range(ROUNDS):
        values = _at_common_practice(lives.names, prior, sigma)
        outcome = fit(lives, fixed={name: values[name] for name in held})
        if isinstance(outcome, Refusal) or not set(held) & set(SPOT_COLUMNS):
            return outcome
        if abs(np.log(outcome.sigma / sigma)) < 1e-3:
            return outcome
        sigma = outcome.sigma
    return outcome


def _at_common_practice(names: tuple[str, ...], prior: Prior, sigma: float) -> dict[str, float]:
    names = ("intercept", *names, "log_sigma")
    values = replace(prior, shape=1 / sigma).parameters(names)
    return dict(zip(names, values.tolist(), strict=True))


def _outcome(
    table: LifeTable,
    kind: str,
    state: str,
    fitted: LifeModel | Refusal,
    held: dict[str, str],
) -> Outcome:
    if isinstance(fitted, Refusal):
        return Outcome(kind, State.REFUSED, None, fitted.sentence, table.warnings)
    said = tuple(f"{name} is held at common practice: {why}" for name, why in held.items() if why)
    warnings = (*table.warnings, *fitted.warnings, *said, *_thin_ages(table))
    sentence = _sentence(fitted, kind, state)
    return Outcome(kind, state, fitted, sentence, warnings, tuple(held.items()))


def _sentence(model: LifeModel, kind: str, state: str) -> str:
    start = (
        f"{_number(model.deaths)} of {_number(model.lives)} spots of {kind}s were condemned or "
        f"failed, on {model.clusters} boats."
    )
    if state == State.BASELINE:
        return (
            f"{start} How long they last is fitted to that; how the end, the ground and use matter "
            f"is held at common practice until {SLOPES_FROM} are on record."
        )
    return f"{start} Fitted by maximum likelihood, errors clustered by boat."


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

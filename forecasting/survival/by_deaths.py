"""The number of deaths decides the model.

Under 5: common practice and the record together, slopes held ("rule of thumb, your boats so far").
Up to 149: the same with slopes shrunk to common practice; from 30 on the log-normal beside it.
From 150: maximum likelihood, the family by how well it foretells boats it has not seen.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from .choice import choose_family
from .engines import DISAGREE, refuse_disagreement
from .evidence import Evidence
from .lives import Lives
from .model import FITTED, RULE_SO_FAR, LifeModel, part_ages
from .posterior import mode_of, posterior
from .prior import NORMAL_90, SPOTS, Prior
from .refusal import Refusal
from .told import fit_what_is_told

POSTERIOR_FROM, SLOPES_FROM, LIKELIHOOD_FROM = 5, 30, 150
AUTO = "auto"
DUST = 1e-6


@dataclass(frozen=True)
class Chosen:
    """The model, or why there is none; and column -> why the record cannot tell its slope."""

    outcome: LifeModel | Refusal
    held: Mapping[str, str]


def model_by_deaths(
    lives: Lives,
    prior: Prior,
    *,
    family: str = "weibull",
    boat_effect: bool = True,
    slopes: Mapping[str, float] | None = None,
    seed: int = 0,
) -> Chosen:
    """What the deaths on record allow.

    family: one of the three, or "auto". slopes: those of a kind of part with more deaths (wires),
    taken instead of the prior's while there are fewer than 5 of its own.
    """
    counted = lives.take(~lives.never_seen)
    if reached(counted.deaths, LIKELIHOOD_FROM):
        chosen = _likeliest(lives, prior, family, boat_effect)
        if not _missing(chosen.outcome):
            return chosen
    family = "weibull" if family == AUTO else family
    if not reached(counted.deaths, POSTERIOR_FROM):
        return _so_far(lives, _with_slopes(prior, slopes), family, boat_effect, seed)
    return _together(lives, prior, family, boat_effect, seed)


def reached(deaths: float, number: int) -> bool:
    """Whether that many died; deaths shared over several spots add up but for dust."""
    return deaths > number - DUST


def _missing(outcome: LifeModel | Refusal) -> bool:
    """No maximum, though the engines agree: the prior still gives an answer."""
    return isinstance(outcome, Refusal) and outcome.reason_code != DISAGREE


def _with_slopes(prior: Prior, slopes: Mapping[str, float] | None) -> Prior:
    taken = {n: b for n, b in (slopes or {}).items() if n in prior.slopes and n not in SPOTS}
    return replace(prior, slopes={**prior.slopes, **taken}) if taken else prior


def _so_far(lives: Lives, prior: Prior, family: str, boat_effect: bool, seed: int) -> Chosen:
    fixed = tuple(name for name in lives.names if name not in SPOTS)
    model = posterior(lives, prior, family, boat_effect=boat_effect, fixed=fixed, seed=seed)
    if isinstance(model, Refusal) or model.sample is None:
        return Chosen(model, {})
    refusal, _ = _checked(lives, prior, family, fixed)
    return Chosen(refusal or replace(model, standing=RULE_SO_FAR), dict.fromkeys(fixed, ""))


def _together(lives: Lives, prior: Prior, family: str, boat_effect: bool, seed: int) -> Chosen:
    refusal, held = _checked(lives, prior, family, ())
    if refusal:
        return Chosen(refusal, held)
    model = posterior(lives, prior, family, boat_effect=boat_effect, seed=seed)
    if isinstance(model, LifeModel) and family == "weibull" and reached(model.deaths, SLOPES_FROM):
        other = posterior(lives, prior, "lognormal", boat_effect=False, seed=seed)
        if isinstance(other, LifeModel):
            model = replace(model, evidence=_beside(model, other))
    return Chosen(model, held)


def _checked(
    lives: Lives, prior: Prior, family: str, fixed: tuple[str, ...]
) -> tuple[Refusal | None, dict[str, str]]:
    """Refuse where the engines disagree: at the plain maximum, else at the posterior's mode."""
    plain, held = fit_what_is_told(lives, prior, family)
    if isinstance(plain, LifeModel):
        return None, held
    if plain.reason_code == DISAGREE:
        return plain, held
    return refuse_disagreement(family, lives, mode_of(lives, prior, family, fixed)), held


def _likeliest(lives: Lives, prior: Prior, family: str, boat_effect: bool) -> Chosen:
    start = "weibull" if family == AUTO else family
    model, held = fit_what_is_told(lives, prior, start, boat_effect=boat_effect)
    if isinstance(model, Refusal):
        return Chosen(model, held)
    said = ""
    if family == AUTO:
        told = lives.keep(name for name in lives.names if name not in held)
        family, said = choose_family(told, boat_effect)
        if family != start:
            model, held = fit_what_is_told(lives, prior, family, boat_effect=boat_effect)
    if isinstance(model, Refusal):
        return Chosen(model, held)
    warnings = (*model.warnings, *([said] if said else []))
    evidence = _of_fit(model, prior)
    return Chosen(replace(model, standing=FITTED, warnings=warnings, evidence=evidence), held)


def _of_fit(model: LifeModel, prior: Prior) -> Evidence:
    """What a fit says of B10 beside the prior it no longer uses; bounds on the log scale."""
    middle = float(np.log(model.part_age(0.1)))
    sd = log_b10_se(model)
    band = np.exp(middle + NORMAL_90 * sd * np.array([-1, 0, 1]))
    return Evidence(
        method="maximum likelihood",
        deaths=model.deaths,
        prior_b10=prior.b10_band,
        b10=tuple(band.tolist()),
        prior_sd=prior.b10_log_sd,
        sd=sd,
    )


def log_b10_se(model: LifeModel, covariance: np.ndarray | None = None) -> float:
    """Standard error of log B10 on the reference boat, by the delta method.

    covariance: (k, k), default what the model's intervals rest on.
    """
    covariance = model.interval_covariance if covariance is None else covariance
    step = 1e-5
    moved = np.eye(len(model.names)) * step
    points = np.vstack([model.estimate + moved, model.estimate - moved])
    logs = np.log(part_ages(model.family, model.names, points, 0.1, {}))
    slope = (logs[: len(moved)] - logs[len(moved) :]) / (2 * step)
    return float(np.sqrt(slope @ covariance @ slope))


def _beside(model: LifeModel, other: LifeModel) -> Evidence:
    """Add the log-normal: it differs where few have been, in the chance of the years to come."""
    b10 = model.part_age(0.1)
    return replace(
        model.evidence,
        lognormal={"b10": other.part_age(0.1), "chance": _later(other, b10)},
        weibull_chance=_later(model, b10),
    )


def _later(model: LifeModel, age: float) -> float:
    """Chance that a lower end (or a part of one spot) good at that age is gone half as much on."""
    reference = np.zeros(len(model.columns))
    return float(model.chance_between(age, 1.5 * age, reference)[0])

"""The model of a fleet that has none of its own: common practice, labelled as such."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from .evidence import Evidence
from .model import RULE_OF_THUMB, LifeModel
from .prior import COMMON_PRACTICE, Prior

SUMMARY_DRAWS = 4000
SUMMARY_SEED = 0
MEDIAN_HALF_NORMAL = 0.67449  # of one with standard deviation 1 before folding
TAILS_HALF_NORMAL = (0.03134, 2.24140)  # 2.5 and 97.5 %


def rule_of_thumb(prior: Prior | None = None, kind: str = "wire") -> LifeModel:
    """A Weibull model of that kind of part (wire, turnbuckle, chainplate) from the prior alone.

    Without a prior the kind's common practice is used. Raises ValueError for an unknown kind.
    """
    if kind not in COMMON_PRACTICE:
        raise ValueError(f"Unknown kind of part {kind!r}: use one of {', '.join(COMMON_PRACTICE)}.")
    prior = prior or COMMON_PRACTICE[kind]
    spots = ("run", "upper") if kind == "wire" else ()
    return prior_alone(prior, ("intercept", *spots, *prior.slopes, "log_sigma"))


def prior_alone(
    prior: Prior,
    names: Sequence[str],
    family: str = "weibull",
    left_out: Mapping[str, float] | None = None,
) -> LifeModel:
    """The model of these names that nothing but the prior speaks for.

    Its draws come from the prior itself; covariance summarises them. Raises ValueError for a
    covariate the prior does not know.
    """
    k = len(names)
    low, high = TAILS_HALF_NORMAL
    model = LifeModel(
        family=family,
        names=tuple(names),
        estimate=prior.parameters(names, family),
        covariance=np.full((k, k), np.nan),
        covariance_by_cluster=np.full((k, k), np.nan),
        left_out=left_out or {},
        standing=RULE_OF_THUMB,
        prior=prior,
        warnings=(f"Rule of thumb, not your boats' own history ({prior.source}).",),
        boat_spread=MEDIAN_HALF_NORMAL * prior.spread_sd,
        boat_spread_band=(low * prior.spread_sd, high * prior.spread_sd),
        evidence=_nothing_but(prior),
    )
    spread = np.cov(model.draws(SUMMARY_DRAWS, SUMMARY_SEED), rowvar=False)
    return replace(model, covariance=spread)


def _nothing_but(prior: Prior) -> Evidence:
    return Evidence(
        method="rule of thumb",
        deaths=0.0,
        prior_b10=prior.b10_band,
        b10=prior.b10_band,
        prior_sd=prior.b10_log_sd,
        sd=prior.b10_log_sd,
    )

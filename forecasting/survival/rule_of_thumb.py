"""The model of a fleet that has none of its own: common practice, labelled as such."""

from dataclasses import replace

import numpy as np

from .model import RULE_OF_THUMB, LifeModel
from .prior import COMMON_PRACTICE, Prior

SUMMARY_DRAWS = 4000
SUMMARY_SEED = 0


def rule_of_thumb(prior: Prior | None = None, kind: str = "wire") -> LifeModel:
    """A Weibull model of that kind of part (wire, turnbuckle, chainplate) from the prior alone.

    Its draws come from the prior itself; covariance summarises them. Without a prior the kind's
    common practice is used. Raises ValueError for an unknown kind.
    """
    if kind not in COMMON_PRACTICE:
        raise ValueError(f"Unknown kind of part {kind!r}: use one of {', '.join(COMMON_PRACTICE)}.")
    prior = prior or COMMON_PRACTICE[kind]
    spots = ("run", "upper") if kind == "wire" else ()
    names = ("intercept", *spots, *prior.slopes, "log_sigma")
    k = len(names)
    model = LifeModel(
        family="weibull",
        names=names,
        estimate=prior.parameters(names),
        covariance=np.full((k, k), np.nan),
        covariance_by_cluster=np.full((k, k), np.nan),
        standing=RULE_OF_THUMB,
        prior=prior,
        warnings=(f"Rule of thumb, not your boats' own history ({prior.source}).",),
    )
    spread = np.cov(model.draws(SUMMARY_DRAWS, SUMMARY_SEED), rowvar=False)
    return replace(model, covariance=spread)

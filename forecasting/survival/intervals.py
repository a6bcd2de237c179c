"""The interval of each coefficient, by what its model and the number of boats allow.

A posterior has its own quantiles. Errors clustered by boat serve from 40 boats on. Below that, and
without boats to cluster by, the profile likelihood does, which needs no coefficient to be normal;
beyond some thousand lives it is no different from the errors of the fit, and those are quicker.
"""

import numpy as np
from scipy.special import ndtri

from .lives import Lives
from .model import ENOUGH_CLUSTERS, LifeModel
from .profile import LOG_SPREAD, Interval, profile_intervals

POSTERIOR, CLUSTERED, PROFILE, ERRORS = "posterior", "errors by boat", "profile", "errors"
MOST_PROFILED = 5000  # lives


def coefficient_intervals(
    lives: Lives, model: LifeModel, level: float = 0.95
) -> tuple[dict[str, Interval], str]:
    """Name -> (low, high) of every coefficient that was estimated, and by what.

    lives: those the model was fitted to. With a boat effect "log_spread" is among the names, but
    not with errors by boat, which do without a model of it.
    """
    free = [name for name in model.names if name not in model.fixed]
    tail = (1 - level) / 2
    if model.sample is not None:
        places = [model.names.index(name) for name in free]
        ends = np.quantile(model.sample[:, places], [tail, 1 - tail], axis=0)
        return _named(free, *ends), POSTERIOR
    if model.clusters >= ENOUGH_CLUSTERS and _shared(lives):
        return _normal(model, free, model.se_by_cluster, tail), CLUSTERED
    if len(lives) > MOST_PROFILED:
        return _normal(model, free, model.se, tail), ERRORS
    spread = [LOG_SPREAD] if model.boat_spread else []
    return profile_intervals(lives, model, [*free, *spread], level), PROFILE


def _normal(model: LifeModel, free: list[str], errors: np.ndarray, tail: float) -> dict:
    reach = -ndtri(tail) * errors
    found = _named(model.names, model.estimate - reach, model.estimate + reach)
    return {name: found[name] for name in free}


def _shared(lives: Lives) -> bool:
    """Whether any boat has more than one life: else there is nothing to cluster."""
    counted = lives.cluster[~lives.never_seen]
    return len(np.unique(counted)) < len(counted)


def _named(names: list[str] | tuple[str, ...], low: np.ndarray, high: np.ndarray) -> dict:
    return dict(zip(names, zip(low.tolist(), high.tolist(), strict=True), strict=True))

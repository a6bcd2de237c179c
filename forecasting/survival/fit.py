"""Fit a life distribution by maximum likelihood, with two engines that must agree.

Our own Newton ascent on the closed-form likelihood gives the estimate and its errors; lifelines,
with its own formulas, derivatives and search, must give the same likelihood there and may not find
a higher one. What cannot be fitted is refused by name.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from .boat_fit import maximise_with_boats, spread_band
from .families import family_named
from .gates import listed, refusal_from_counts, refusal_from_geometry
from .likelihood import Likelihood
from .lives import Lives, left_out
from .model import BASELINE_FITTED, ENOUGH_CLUSTERS, FITTED, LifeModel
from .newton import Maximum, maximise
from .refusal import Refusal
from .scaling import Scaling
from .second_engine import SecondOpinion, second_opinion

AGREE = 1e-8  # relative, between the two engines' log-likelihoods
FEW_DEATHS = 5
LEAST_LOG_SIGMA, GREATEST_LOG_SIGMA = -6.0, 3.0  # outside, sigma itself is what ran away


def fit(
    lives: Lives,
    family: str = "weibull",
    *,
    fixed: Mapping[str, float] | None = None,
    boat_effect: bool = False,
) -> LifeModel | Refusal:
    """The maximum-likelihood model, or the reason why there is none.

    family: weibull, lognormal or loglogistic. fixed: slopes held at a value instead of estimated.
    boat_effect: a normal effect on log life that a boat's parts share is integrated out and its
    spread estimated, after both engines have agreed on the model without it.
    Lives never seen since entry say nothing (log-likelihood exactly 0): left out and counted.
    Raises ValueError for an unknown family or a fixed name that is not a column.
    """
    family_named(family)
    held = _held(lives, fixed or {})
    without = left_out(lives)
    counted = lives.take(~lives.never_seen)
    free = _with_held(counted, held)
    refusal = refusal_from_counts(free)
    if refusal is None:
        scaling = Scaling.of(free)
        outcome = _climb(family, scaling.apply(free), boat_effect)
        if not isinstance(outcome, Refusal):
            return _model(family, counted, held, scaling, outcome, without)
        refusal = outcome
    return Refusal(refusal.reason_code, refusal.sentence, refusal.columns, tuple(without.items()))


@dataclass(frozen=True)
class Climbed:
    """Our maximum on standardised lives, and the second engine's opinion of it.

    With boats that differ theta, scores and Hessian have the log of their spread last.
    """

    maximum: Maximum
    boat_scores: np.ndarray
    opinion: SecondOpinion
    spread_band: tuple[float, float] | None = None


def _climb(family: str, lives: Lives, boat_effect: bool) -> Climbed | Refusal:
    """Both engines on standardised lives, each checked; then the boats' spread, if asked for."""
    likelihood = Likelihood(family_named(family), lives)
    refusal = refusal_from_geometry(lives, likelihood.design)
    if refusal:
        return refusal
    maximum = _ascend(family, lives, likelihood)
    if not maximum.settled:
        return _no_convergence(lives, maximum)
    opinion = second_opinion(family, lives, maximum.theta)
    if opinion.optimum > maximum.at.value + _tolerance(maximum):
        maximum = maximise(likelihood, opinion.theta)
        if not maximum.settled:
            return _no_convergence(lives, maximum)
        opinion = second_opinion(family, lives, maximum.theta)
    refusal = _disagreement(maximum, opinion)
    if refusal:
        return refusal
    boats = maximise_with_boats(family, lives, maximum.theta) if boat_effect else None
    if boats is None:
        rows = likelihood.row_scores(maximum.theta)
        return Climbed(maximum, summed_by_cluster(rows, lives.cluster), opinion)
    if not boats.maximum.settled:
        return _no_convergence_with_boats()
    band = spread_band(boats, maximum.at.value)
    return Climbed(boats.maximum, boats.boat_scores, opinion, band)


def _ascend(family: str, lives: Lives, likelihood: Likelihood) -> Maximum:
    """Our maximum. Late entry can add a second, empty summit far off (sigma and location both
    without end), so the climb starts from the single summit of the same lives without it.
    """
    start = np.zeros(likelihood.design.shape[1] + 1)
    if lives.entry.any():
        on_time = replace(lives, entry=np.zeros(len(lives)))
        single = maximise(Likelihood(family_named(family), on_time), start)
        from_there = maximise(likelihood, single.theta) if single.settled else None
        if from_there and from_there.settled:
            return from_there
    return maximise(likelihood, start)


def _tolerance(maximum: Maximum) -> float:
    return AGREE * max(1.0, abs(maximum.at.value))


def _disagreement(maximum: Maximum, opinion: SecondOpinion) -> Refusal | None:
    """Not with a nan on either side either."""
    same = abs(opinion.at_ours - maximum.at.value) <= _tolerance(maximum)
    if same and not opinion.optimum > maximum.at.value + _tolerance(maximum):
        return None
    return Refusal(
        "engines_disagree",
        "The two engines disagree, so neither is believed: at the maximum found, the "
        f"log-likelihood (ages standardised) is {maximum.at.value:.10g} by the closed form and "
        f"{opinion.at_ours:.10g} by lifelines, whose own best is {opinion.optimum:.10g}.",
    )


def _no_convergence(lives: Lives, maximum: Maximum) -> Refusal:
    """Name what ran away: the spread, or the columns still moving."""
    log_sigma, move = maximum.theta[-1], np.abs(maximum.last_move)
    if not LEAST_LOG_SIGMA < log_sigma < GREATEST_LOG_SIGMA:
        way = "grows without end" if log_sigma > 0 else "shrinks to 0"
        return Refusal(
            "no_convergence",
            f"No convergence: the spread sigma {way}, so these lives do not fix its size (deaths "
            "do not become likelier with age in them, or they hardly differ).",
        )
    columns = tuple(
        name for name, step in zip(lives.names, move[1:-1], strict=True) if step > 0.1 * move.max()
    )
    return Refusal(
        "no_convergence",
        "No convergence: no point was found where the score is zero and the likelihood falls in "
        f"every direction (still moving: {listed(columns) or 'intercept'}).",
        columns,
    )


def _no_convergence_with_boats() -> Refusal:
    return Refusal(
        "no_convergence",
        "No convergence: the spread between boats and the spread of lives cannot be told apart "
        "in this record. Fit it without a boat effect.",
    )


def _held(lives: Lives, fixed: Mapping[str, float]) -> dict[str, float]:
    for name, value in fixed.items():
        if name not in lives.names:
            raise ValueError(f"{name!r} is held fixed but is not a column of these lives.")
        if not np.isfinite(value):
            raise ValueError(f"{name!r} is held at {value}, which is not a number.")
    return {name: float(value) for name, value in fixed.items()}


def _with_held(lives: Lives, held: Mapping[str, float]) -> Lives:
    """log T - X held follows the model without the held columns: so rescale each row's ages."""
    if not held:
        return lives
    shift = _shift(lives, held)
    rest = lives.keep(name for name in lives.names if name not in held)
    return rest.rescaled(np.exp(-shift))


def _shift(lives: Lives, held: Mapping[str, float]) -> np.ndarray:
    slopes = np.array([held.get(name, 0.0) for name in lives.names])
    return lives.X @ slopes


def _model(
    family: str,
    counted: Lives,
    held: Mapping[str, float],
    scaling: Scaling,
    climbed: Climbed,
    without: Mapping[str, float],
) -> LifeModel:
    """From standardised ages and covariates back to the file's, held slopes put in their place."""
    names = ("intercept", *counted.names, "log_sigma")
    free = [j for j, name in enumerate(names) if name not in held]
    at, k = climbed.maximum.at, len(free)
    estimate = np.array([held.get(name, 0.0) for name in names])
    estimate[free] = scaling.undo(climbed.maximum.theta[:k])
    inverse = np.linalg.inv(-at.hessian)
    clusters = len(climbed.boat_scores)
    sandwich = inverse @ clustered_meat(climbed.boat_scores) @ inverse
    jacobian = scaling.jacobian()
    exact = counted.weight * counted.exact
    value = at.value - exact @ (np.log(scaling.unit) + _shift(counted, held))
    spread, band = _spread(climbed)
    return LifeModel(
        family=family,
        names=names,
        estimate=estimate,
        covariance=_placed(jacobian @ inverse[:k, :k] @ jacobian.T, free, len(names)),
        covariance_by_cluster=_placed(jacobian @ sandwich[:k, :k] @ jacobian.T, free, len(names)),
        log_likelihood=float(value),
        aic=float(2 * len(at.hessian) - 2 * value),
        lives=float(counted.weight.sum()),
        deaths=counted.deaths,
        clusters=clusters,
        left_out=dict(without),
        warnings=tuple(_warnings(counted, clusters, climbed.opinion)),
        standing=BASELINE_FITTED if held else FITTED,
        fixed=tuple(held),
        boat_spread=spread,
        boat_spread_band=band,
    )


def _spread(climbed: Climbed) -> tuple[float, tuple[float, float] | None]:
    """The spread between boats with its 95 % interval."""
    if climbed.spread_band is None:
        return 0.0, None
    return float(np.exp(climbed.maximum.theta[-1])), climbed.spread_band


def summed_by_cluster(row_scores: np.ndarray, cluster: np.ndarray) -> np.ndarray:
    """(G, k): the scores of each cluster's rows, summed."""
    codes = np.unique(cluster, return_inverse=True)[1]
    return np.column_stack([np.bincount(codes, weights=column) for column in row_scores.T])


def clustered_meat(scores: np.ndarray) -> np.ndarray:
    """(k, k): G/(G-1) times the sum over clusters of the outer product of their scores (G, k).

    Liang and Zeger 1986, Biometrika 73, with the small-sample factor; nan with one cluster only.
    """
    count = len(scores)
    if count < 2:
        return np.full((scores.shape[1],) * 2, np.nan)
    return scores.T @ scores * count / (count - 1)


def _placed(block: np.ndarray, where: list[int], size: int) -> np.ndarray:
    full = np.zeros((size, size))
    full[np.ix_(where, where)] = (block + block.T) / 2
    return full


def _warnings(lives: Lives, clusters: int, opinion: SecondOpinion) -> list[str]:
    warnings = []
    if clusters == 1:
        warnings.append("All lives are of one boat: errors by boat cannot be given.")
    elif clusters < ENOUGH_CLUSTERS:
        warnings.append(
            f"Errors by boat rest on {clusters} boats; below {ENOUGH_CLUSTERS} they are rough."
        )
    if lives.deaths < FEW_DEATHS:
        deaths = "1 death" if lives.deaths == 1 else f"{lives.deaths:g} deaths"
        warnings.append(f"Only {deaths}: every error given here is rough.")
    if not opinion.converged:
        warnings.append(
            "The second engine did not converge from its own start; its likelihood agrees at the "
            "maximum given here."
        )
    return warnings

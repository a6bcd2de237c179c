"""The life of a whole wire as rows for a chart and words for its title."""

import numpy as np

from .survival import LifeModel, log_survival, spots_of

AGES = np.arange(0.0, 25.5, 0.5)
DRAWS, SEED = 1000, 20


def whole_part(model: LifeModel, ages: np.ndarray = AGES) -> list[dict]:
    """Return age (years), middle, low and high (percent not condemned) on the reference boat.

    A whole part stands while each of its spots does: the product over spots, within each draw.
    Low and high are the 5 and 95 % points over draws.
    """
    middle = 100 * stands(model, model.estimate[None, :], ages)[0]
    low, high = np.quantile(
        100 * stands(model, model.draws(DRAWS, SEED), ages), [0.05, 0.95], axis=0
    )
    return [
        {"age": float(age), "middle": round(m, 1), "low": round(lo, 1), "high": round(hi, 1)}
        for age, m, lo, hi in zip(ages, middle, low, high, strict=True)
    ]


def stands(model: LifeModel, theta: np.ndarray, ages: np.ndarray) -> np.ndarray:
    """Return (draws, ages) survival of the whole part; ``theta`` is (draws, parameters)."""
    total = np.zeros((len(theta), len(ages)))
    for spot in spots_of(model.names):
        x = np.array([spot.get(name, 0.0) for name in model.columns])
        location = theta[:, 0] + theta[:, 1:-1] @ x
        sigma = np.exp(theta[:, -1])
        total += log_survival(model.family, ages[None, :], location[:, None], sigma[:, None])
    return np.exp(total)


def headline(model: LifeModel) -> dict:
    """Return the age (years) by which one wire in ten is condemned, with its 90 % interval."""
    if model.evidence:
        low, middle, high = model.evidence.b10
        return {"b10": middle, "low": low, "high": high}
    band = model.part_age_band(0.1)
    return {"b10": float(band.middle), "low": float(band.low), "high": float(band.high)}


def gone_within(model: LifeModel, years: tuple[float, ...]) -> list[float]:
    """Return the chance that a new part on the reference boat is condemned within so many years."""
    return (1 - stands(model, model.estimate[None, :], np.array(years))[0]).tolist()


def factors(model: LifeModel) -> list[dict]:
    """Return name, factor on life and its 5 to 95 % bounds for each covariate, spots included.

    ``held``: the factor is common practice, not from the fleet's own record. ``own``: the share of
    own data in it, None where the model does not say.
    """
    draws = model.draws(DRAWS, SEED)
    shares = model.evidence.slope_shares if model.evidence else {}
    rows = []
    for column, name in enumerate(model.names[1:-1], start=1):
        low, high = np.exp(np.quantile(draws[:, column], [0.05, 0.95]))
        factor = float(np.exp(model.estimate[column]))
        own = shares.get(name)
        held = name in model.fixed or (model.prior is not None and not own)
        row = {"name": name, "factor": factor, "low": low, "high": high, "held": held, "own": own}
        rows.append(row)
    return rows

"""What drives the life of a part: each covariate's factor on life, for words elsewhere."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..survival.model import LifeModel
from .lifetimes import draw_lives

SPOTS = ("run", "upper")


@dataclass(frozen=True)
class Driver:
    """Life is multiplied by `factor` (5 and 95 % bounds low, high) because of `column`."""

    column: str
    factor: float
    low: float
    high: float


def drivers(
    model: LifeModel,
    columns: Sequence[str],
    x: np.ndarray,
    *,
    draws: int = 400,
    seed: int = 0,
) -> list[Driver]:
    """Factors exp(b x) against the reference boat (all zeros), the strongest first.

    columns, x: (p,) names and values of one part's covariates. A covariate at its reference, one
    the model lacks, and the spot itself drive nothing and are left out.
    """
    life = draw_lives({"part": model}, draws, seed)["part"]
    values = dict(zip(columns, np.asarray(x, dtype=float), strict=True))
    found = [
        _driver(name, slopes * values[name])
        for name, slopes in zip(life.columns, life.slopes.T, strict=True)
        if name not in SPOTS and values.get(name, 0.0) != 0
    ]
    return sorted(found, key=lambda d: -abs(np.log(d.factor)))


def _driver(column: str, shift: np.ndarray) -> Driver:
    low, middle, high = np.exp(np.percentile(shift, (5, 50, 95)))
    return Driver(column, float(middle), float(low), float(high))

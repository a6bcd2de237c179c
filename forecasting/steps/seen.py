"""The fitted curve beside what was seen, group by group, and the residual intervals of the fit.

The groups of ground, mast and construction are of lower ends alone for a wire: most go there, and
mixed with the spots that hardly ever go every curve would look right.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleet.models import CruisingGround
from fleet.templatetags.wording import spot_word

from ..life_data import LifeTable
from ..life_data.covariates import REFERENCE_SEVERITY
from ..survival import LifeModel, Lives
from ..survival.goodness import Comparison, beside_steps, cox_snell

FEWEST_DEATHS = 3  # below, a curve without a model says nothing
HALF = 0.5
POINTS = 60


@dataclass(frozen=True)
class Grouping:
    """words: of one row, the name of its group. first_spot: only the spot that goes first."""

    name: str
    words: Callable[[pd.DataFrame], pd.Series]
    first_spot: bool = True


def _ground(rows: pd.DataFrame) -> pd.Series:
    categories = [str(each.label).split(" ", 1)[1] for each in CruisingGround.Corrosivity]
    step = (rows["severity"] + REFERENCE_SEVERITY).round().clip(0, len(categories) - 1)
    return step.astype(int).map(dict(enumerate(categories)))


def _either(column: str, yes: str, no: str) -> Callable[[pd.DataFrame], pd.Series]:
    return lambda rows: pd.Series(np.where(rows[column] >= HALF, yes, no), index=rows.index)


GROUPINGS = (
    Grouping("spot", lambda rows: rows["spot"].map(spot_word), first_spot=False),
    Grouping("ground", _ground),
    Grouping("mast", _either("unstepped", "mast down in the off season", "mast up all winter")),
    Grouping("construction", _either("rod", "rod", "wire rope")),
)


def seen(model: LifeModel, table: LifeTable) -> dict:
    """Return what the page shows: ``groups`` (grouping -> curves) and ``residuals`` (or None)."""
    lives = table.lives.keep(model.columns)
    found = {each.name: _curves(model, lives, table.rows, each) for each in GROUPINGS}
    residuals = cox_snell(model, lives) if lives.deaths >= FEWEST_DEATHS else None
    return {
        "groups": {name: curves for name, curves in found.items() if curves},
        "residuals": told(residuals) if residuals else None,
    }


def _curves(model: LifeModel, lives: Lives, rows: pd.DataFrame, by: Grouping) -> list[dict]:
    words = by.words(rows)
    here = rows["spot"].isin(["lower", "whole"]) if by.first_spot else pd.Series(True, rows.index)
    names = sorted(words[here].unique())
    if by.first_spot and len(names) < 2:
        return []
    found = []
    for name in names:
        group = lives.take(np.flatnonzero((words == name) & here))
        compared = beside_steps(model, group) if group.deaths >= FEWEST_DEATHS else None
        if compared:
            found.append({"name": name, **told(compared)})
    return found


def told(compared: Comparison) -> dict:
    """Return a comparison as plain values; survival in percent, to a decimal."""
    steps = compared.steps
    ages = np.concatenate([[steps.start], steps.right[steps.right <= steps.end], [steps.end]])
    levels = steps.bounds(ages)[1]
    moved = np.concatenate([[True], np.diff(levels) < -1e-4, [True]])[: ages.size]
    moved[-1] = True
    every = np.unique(np.linspace(0, compared.ages.size - 1, POINTS).astype(int))
    return {
        "steps": _points(ages[moved], levels[moved]),
        "curve": _points(compared.ages[every], compared.curve[every]),
        "gap": compared.gap,
        "at": compared.at,
        "above": compared.above,
        "error": compared.error,
        "lives": compared.lives,
        "deaths": compared.deaths,
        "start": steps.start,
        "end": steps.end,
    }


def _points(ages: np.ndarray, survival: np.ndarray) -> list[list[float]]:
    return [
        [round(float(a), 3), round(100 * float(s), 1)] for a, s in zip(ages, survival, strict=True)
    ]

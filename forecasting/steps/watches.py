"""What was said of every spot at every look, put as the condition model takes it."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from inspections.criteria import DEFAULT, SPOTS
from inspections.models import SpotState

from ..condition.foreseen import Foreseen
from ..condition.outlook import foreseen as foreseen_of
from ..condition.panel import Law, Panel, panel
from ..condition.posterior import Condition
from ..life_data import LifeTable, Records
from ..life_data.records import YEAR_DAYS
from ..planning.spots import Standing
from ..survival import LifeModel

WIRE = "wire"
ANY = ""  # construction not on record


def can_be_watched() -> set[tuple[str, str]]:
    """Return (construction, spot) of wires at which some sign can lead to *watch*."""
    signs = [
        sign
        for sign in DEFAULT.values()
        if WIRE in sign.kinds and "watch" in sign.answers and sign.has_limit
    ]
    constructions = {ANY}.union(*(sign.constructions for sign in signs))
    return {
        (construction, spot)
        for construction in constructions
        for sign in signs
        if sign.fits_construction(construction)
        for spot in sign.spots or SPOTS[WIRE]
    }


def _watchable(records: Records, rows: pd.DataFrame) -> np.ndarray:
    """Return (n,) bool: some sign at this spot of this wire can lead to *watch*."""
    made = rows["part"].map(records.parts.set_index("part")["construction"])
    known = can_be_watched()
    return np.array([pair in known for pair in zip(made, rows["spot"], strict=True)], dtype=bool)


def reports(records: Records) -> pd.DataFrame:
    """Return one row per look that saw a spot and left it standing: part, spot, day, watched.

    A look that condemned the part says of its other spots only that they stood.
    """
    sights = records.sights
    found = sights[sights["state"] == SpotState.CONDEMNED].groupby("part")["day"].min()
    good = sights[sights["state"] == SpotState.GOOD]
    standing = ~(good["day"] >= good["part"].map(found))
    return good.loc[standing, ["part", "spot", "day", "watched"]]


def panel_of_lives(records: Records, table: LifeTable, model: LifeModel) -> Panel:
    """Return the panel of all wires in the fit whose spots can be watched."""
    rows = table.rows.reset_index(names="row")
    rows = rows[_watchable(records, rows)].reset_index(drop=True)
    columns = [table.lives.names.index(name) for name in model.columns]
    law = _law(model, table.lives.X[rows["row"]][:, columns])
    fitted = rows["part"].map(records.parts.set_index("part")["fitted"])
    return panel(
        rows["good"].to_numpy(),
        rows["condemned"].to_numpy(),
        _said(reports(records), rows[["part", "spot"]], fitted),
        law,
        rows["weight"].to_numpy(),
    )


def foreseen(
    records: Records, standing: Standing, model: LifeModel, condition: Condition
) -> Foreseen | None:
    """Return what reports of looks say of the wires standing today; None where no wire stands.

    A spot at which no sign leads to *watch* is left to the life model: it has no reports.
    """
    index = np.flatnonzero(standing.kind == WIRE)
    if not index.size:
        return None
    rows = spots_of(standing).iloc[index].reset_index(drop=True)
    ages, today = standing.age[index], pd.Timestamp(records.as_of)
    fitted = pd.Series(today - pd.to_timedelta(np.round(ages * YEAR_DAYS), unit="D"))
    columns = [standing.columns.index(name) for name in model.columns]
    good = standing.good_age(ages, index)
    said_of = rows["spot"].where(_watchable(records, rows), "")
    found = panel(
        good,
        np.full(index.size, np.inf),
        _said(reports(records), rows.assign(spot=said_of), fitted),
        _law(model, standing.X[index][:, columns]),
    )
    row = np.full(standing.kind.size, -1)
    row[index] = np.arange(index.size)
    return foreseen_of(condition, found, np.maximum(ages, good), row)


def first_watched(records: Records, parts: Sequence[int]) -> dict[int, dict[str, str]]:
    """Return part -> spot -> day first judged *watch*, in ISO 8601, of those still standing so."""
    said = reports(records)
    first = said[said["watched"] & said["part"].isin(parts)].groupby(["part", "spot"])["day"].min()
    days: dict[int, dict[str, str]] = {}
    for (part, spot), day in first.items():
        days.setdefault(part, {})[spot] = day.date().isoformat()
    return days


def spots_of(standing: Standing) -> pd.DataFrame:
    """Return part and spot of every row of a standing table."""
    run, upper = (standing.X[:, standing.columns.index(name)] > 0 for name in ("run", "upper"))
    spot = np.where(run, "run", np.where(upper, "upper", "lower"))
    spot = np.where(standing.kind == WIRE, spot, "whole")
    return pd.DataFrame({"part": standing.part, "spot": spot})


def _law(model: LifeModel, X: np.ndarray) -> Law:
    location = model.estimate[0] + X @ model.estimate[1:-1]
    return Law(model.family, location, model.sigma)


def _said(
    said: pd.DataFrame, rows: pd.DataFrame, fitted: pd.Series
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return (row, age, watch) of every report on the rows (part, spot), fitted that day."""
    rows = rows.assign(row=np.arange(len(rows)), fitted=fitted.to_numpy())
    found = said.merge(rows, on=["part", "spot"])
    age = (found["day"] - found["fitted"]).dt.days / YEAR_DAYS
    return found["row"].to_numpy(), age.clip(lower=0).to_numpy(), found["watched"].to_numpy()

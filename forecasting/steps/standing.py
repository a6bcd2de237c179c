"""What stands on the boats, put as the planning rooms take it: one row per spot."""

from dataclasses import dataclass
from itertools import product

import numpy as np
import pandas as pd

from fleet.models import Installation
from inspections.verdicts import reach

from ..life_data.covariates import COLUMNS, of_parts, use
from ..life_data.records import SPOTS, YEAR_DAYS, Records
from ..life_data.spots import spots
from ..planning.spots import LEVELS, Standing

Certainty = Installation.Certainty
ESTIMATED_WITHIN = pd.Timedelta(days=2 * YEAR_DAYS)
MODEL_COLUMNS = ("run", "upper", *COLUMNS)


@dataclass(frozen=True, eq=False)
class Afloat:
    """The boats and parts of a fleet on one day, and the table planning needs of them.

    table   one row per spot, codes are primary keys
    parts   one row per part, in the order of ``table.parts``: the columns of the record, and
            youngest, oldest (ages in years), condemned (bool), and the last day each spot was seen
            good, a column each of lower, run, upper, whole
    boats   one row per boat that carries parts, in the order of ``table.boats``
    """

    table: Standing
    parts: pd.DataFrame
    boats: pd.DataFrame


def afloat(records: Records, *, coming: bool = False) -> Afloat | None:
    """Return what stands on the boats in the fleet that day; None where nothing does.

    coming: with the boats that join later, whose parts are on record already.
    """
    today = pd.Timestamp(records.as_of)
    boats = records.boats[~(records.boats["left"] <= today)]
    if not coming:
        boats = boats[boats["joined"] <= today]
    rows = pd.concat([spots(records, kind) for kind in SPOTS])
    rows = rows[rows["removed"].isna() & rows["boat"].isin(boats.index)]
    if rows.empty:
        return None
    rows = _with_ages(rows.sort_values(["boat", "part"], kind="stable"), boats, today)
    table = _table(rows, boats, records, today)
    parts = rows.drop_duplicates("part").set_index("part", drop=False).loc[table.parts]
    sights = rows.pivot(index="part", columns="spot", values="last_good").reindex(parts.index)
    return Afloat(table, parts.join(sights), boats.loc[table.boats])


def _with_ages(rows: pd.DataFrame, boats: pd.DataFrame, today: pd.Timestamp) -> pd.DataFrame:
    """Add the first and last day it may have been fitted, as ages: youngest, oldest, in years.

    An estimate is two years either way. A date nobody knows lies between the day the boat was
    built, or its predecessor came off, and the first time it was seen.
    """
    certainty, fitted = rows["certainty"], rows["fitted"]
    built = pd.to_datetime(boats["build_year"].astype(str) + "-01-01")
    earliest = rows["before"].fillna(rows["boat"].map(built))
    latest = rows["first_seen"].fillna(today)
    around = (fitted - ESTIMATED_WITHIN, fitted + ESTIMATED_WITHIN)
    estimated, unknown = certainty == Certainty.ESTIMATED, certainty == Certainty.UNKNOWN
    first = fitted.mask(estimated, np.maximum(around[0], earliest)).mask(unknown, earliest)
    last = fitted.mask(estimated, np.minimum(around[1], latest)).mask(unknown, latest)
    rows["oldest"] = ((today - first).dt.days / YEAR_DAYS).clip(lower=0)
    rows["youngest"] = ((today - last).dt.days / YEAR_DAYS).clip(lower=0, upper=rows["oldest"])
    rows["condemned"] = rows["condemned"].notna()
    return rows


def _table(
    rows: pd.DataFrame, boats: pd.DataFrame, records: Records, today: pd.Timestamp
) -> Standing:
    age = (rows["oldest"] + rows["youngest"]) / 2
    since = (today - rows["last_good"]).dt.days / YEAR_DAYS
    supposed = rows.assign(fitted=today - pd.to_timedelta(age * YEAR_DAYS, unit="D").dt.floor("D"))
    covariates = of_parts(supposed, use(records), pd.Series(today, index=rows.index))
    for name in ("run", "upper"):
        covariates[name] = (rows["spot"] == name).astype(float)
    return Standing(
        part=rows["part"].to_numpy(),
        boat=rows["boat"].to_numpy(),
        base=rows["boat"].map(boats["base"]).to_numpy(),
        kind=rows["kind"].to_numpy(dtype=str),
        age=age.to_numpy(),
        since_good=since.where(since < rows["oldest"], np.inf).to_numpy(),
        age_spread=((rows["oldest"] - rows["youngest"]) / 2).to_numpy(),
        X=covariates[list(MODEL_COLUMNS)].to_numpy(dtype=float),
        columns=MODEL_COLUMNS,
        seen_by={level: _seen(rows, level) for level in LEVELS},
        condemned=rows["condemned"].to_numpy(),
    )


def _seen(rows: pd.DataFrame, level: str) -> np.ndarray:
    kind, in_foil = rows["kind"].to_numpy(dtype=str), rows["in_foil"].to_numpy(dtype=bool)
    seen = np.zeros(len(rows), dtype=bool)
    for name, foil in product(SPOTS, (False, True)):
        within = rows["spot"].isin(list(reach(level, name, foil))).to_numpy()
        seen |= (kind == str(name)) & (in_foil == foil) & within
    return seen

"""Every look at a spot as one trial of a forecast: from the sight before it to what it found.

A spot that was not seen is no trial. A death nobody inspected is one on the day of removal, as in
the fit; where its place was not noted each spot is one, with its share of the death.
"""

import datetime as dt

import numpy as np
import pandas as pd

from forecasting.survival.back_test import Trials

from .covariates import COLUMNS, of_parts, use
from .records import SPOTS, YEAR_DAYS, Records
from .spots import sights_that_count, spots
from .table import left_out_for, with_ages

ONE_ROW_A_SPOT = ["part", "spot"]
NEVER_SEEN = ("", "never_seen_since_entry")


def looks(records: Records, kind: str) -> pd.DataFrame:
    """Return every trial on record for a kind of part, whatever day the forecast is made.

    The columns of ``spots`` with day (of the look), start and end (ages at the sight before and at
    the look, in years) and outcome (1 condemned, 0 not, or the share of a death).
    """
    found = with_ages(spots(records, kind), records)
    found = found[left_out_for(found).isin(NEVER_SEEN)]
    died = found[found["death"].notna()]
    each = found.sort_values("death").drop_duplicates(ONE_ROW_A_SPOT)
    good = sights_that_count(records.sights, each).assign(outcome=0.0)
    dead = died.assign(day=died["death"], outcome=died["share"])
    rows = pd.concat([good, dead], ignore_index=True)
    rows = rows.sort_values([*ONE_ROW_A_SPOT, "day"], ignore_index=True)
    rows = rows.drop_duplicates([*ONE_ROW_A_SPOT, "day"], keep="last")
    rows["end"] = (rows["day"] - rows["fitted"]).dt.days / YEAR_DAYS
    before = rows.groupby(ONE_ROW_A_SPOT)["end"].shift()
    rows["start"] = before.clip(lower=rows["entry"]).fillna(rows["entry"])
    return rows[rows["end"] > rows["start"]].reset_index(drop=True)


def foretold(rows: pd.DataFrame, then: Records, kind: str) -> Trials:
    """Return trials with covariates as the record knew them on the day of the forecast.

    rows: some of ``looks``, dated later than ``then``. Of a part fitted since, the boat's use as it
    was that day; its construction and terminal are known once it is up.
    """
    day = pd.Timestamp(then.as_of)
    covariates = of_parts(rows, use(then), rows["fitted"].clip(lower=day))
    dummies = SPOTS[kind][1:]
    spot = [(rows["spot"] == name).to_numpy(dtype=float) for name in dummies]
    return Trials(
        boat=rows["boat"].to_numpy(),
        start=rows["start"].to_numpy(),
        end=rows["end"].to_numpy(),
        outcome=rows["outcome"].to_numpy(dtype=float),
        X=np.column_stack([*spot, covariates.to_numpy(dtype=float)]),
        names=(*dummies, *COLUMNS),
    )


def between(rows: pd.DataFrame, after: dt.date, until: dt.date) -> pd.DataFrame:
    """Return the looks dated after one day and up to another."""
    days = rows["day"]
    return rows[(days > pd.Timestamp(after)) & (days <= pd.Timestamp(until))]

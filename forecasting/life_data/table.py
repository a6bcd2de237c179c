"""The table of a fit, after the days have become ages and what cannot enter has been left out."""

import datetime as dt
import hashlib
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleet.models import Fleet, Installation
from forecasting.survival.lives import Lives

from .covariates import COLUMNS, Use, median_miles, of_parts, use
from .records import SPOTS, YEAR_DAYS, Records, read
from .spots import spots

LEFT_OUT = {
    "after_retermination": "re-terminated wire: not the life of a new one",
    "fitted_unknown": "fitting date unknown",
    "fitted_estimated": "fitting date only estimated",
    "boat_never_inspected": "boat without any inspection on record",
    "ended_before_record": "ended before, or on the day, it comes under record",
    "never_seen_since_entry": "never seen since fitting, or since the record begins",
}
EARLY_BY_AGE_RULE = 2.0  # years before the fleet's rule
ROW_COLUMNS = ("part", "boat", "spot", "entry", "good", "condemned", "weight", *COLUMNS)


@dataclass(frozen=True, eq=False)
class LifeTable:
    """The rows of one fit. n rows; ages in years of 365.25 days since fitting.

    lives     the rows as the fit takes them; clusters are boats
    rows      (n) frame of ROW_COLUMNS (part and boat are primary keys): where each row comes from
    left_out  reason (a key of LEFT_OUT) -> sum of weights of the spots left out for it
    broke_late  parts that broke after their boat's last inspection: in, but good until last seen
    warnings  what is flagged but used, in words
    """

    lives: Lives
    rows: pd.DataFrame
    left_out: dict[str, float]
    broke_late: int
    warnings: tuple[str, ...]

    @property
    def fingerprint(self) -> str:
        """Return the SHA-256 of the rows and of what was left out."""
        text = self.rows.to_csv(index=False) + repr(sorted(self.left_out.items()))
        return hashlib.sha256(text.encode()).hexdigest()


def lives(fleet: Fleet, kind: str, as_of: dt.date, records: Records | None = None) -> LifeTable:
    """Return the lives of all parts of one kind, spot by spot, as the record stood on that day.

    ``records`` of the same fleet and day spare a second reading.

    ===================================================  ====================================
    what happened to a spot                              how it enters
    ===================================================  ====================================
    seen and not condemned                               alive at its last sight
    condemned at an inspection                           died between last sight and that day;
                                                         the part's other spots end at theirs
    seen but not resolved, not seen, not assessed        moves nothing
    failed in service; looked poor; condemned without    died between last sight and removal
    an inspection
    failed after the boat's last inspection              alive at its last sight, counted
    any other removal                                    alive at its last sight
    older than the record                                enters at its age when that begins
    ===================================================  ====================================
    """
    records = records or read(fleet, as_of)
    found = with_ages(spots(records, kind), records)
    reason = left_out_for(found)
    kept = found[reason == ""].reset_index(drop=True)
    used = use(records)
    rows = _rows(kept, used)
    left_out = found["share"].groupby(reason).sum().drop("", errors="ignore")
    return LifeTable(
        lives=_lives(rows, kind),
        rows=rows,
        left_out={name: float(left_out[name]) for name in LEFT_OUT if name in left_out},
        broke_late=int(found["broke_late"].groupby(found["part"]).any().sum()),
        warnings=tuple(_warnings(kept, records, used, fleet)),
    )


def with_ages(found: pd.DataFrame, records: Records) -> pd.DataFrame:
    """Add entry, good, condemned (inf for none) and end: ages in years; NaN where not known."""
    start = found["boat"].map(records.boats["record_start"])

    def age(day: pd.Series) -> pd.Series:
        return (day - found["fitted"]).dt.days / YEAR_DAYS

    found["never_looked"] = start.isna()
    found["entry"] = age(start).clip(lower=0)
    found["good"] = age(found["last_good"]).fillna(0).clip(lower=found["entry"])
    found["condemned"] = age(found["death"]).fillna(np.inf)
    found["end"] = age(found["ended"]).fillna(np.inf)
    return found


def left_out_for(found: pd.DataFrame) -> pd.Series:
    """Return why each row is left out, blank for those that enter. The first that applies."""
    certainty = found["certainty"]
    unseen = ~(found["good"] > found["entry"]) & np.isinf(found["condemned"])
    conditions = {
        "after_retermination": found["after_retermination"],
        "fitted_unknown": certainty == Installation.Certainty.UNKNOWN,
        "fitted_estimated": certainty == Installation.Certainty.ESTIMATED,
        "boat_never_inspected": found["never_looked"],
        "ended_before_record": found[["end", "condemned"]].min(axis=1) <= found["entry"],
        "never_seen_since_entry": unseen,
    }
    picked = np.select(list(conditions.values()), list(conditions), default="")
    return pd.Series(picked, index=found.index, dtype=object)


def _rows(kept: pd.DataFrame, used: Use) -> pd.DataFrame:
    """Covariates run to the last sight; of a spot never seen, to the day it was found dead."""
    seen = kept["last_good"] > kept["fitted"]
    until = kept["last_good"].where(seen, kept["death"])
    covariates = of_parts(kept, used, until.fillna(kept["fitted"]))
    rows = kept.rename(columns={"share": "weight"})
    return pd.concat([rows, covariates], axis=1)[list(ROW_COLUMNS)]


def _lives(rows: pd.DataFrame, kind: str) -> Lives:
    dummies = SPOTS[kind][1:]
    spot = np.column_stack([rows["spot"] == name for name in dummies] or [np.zeros((len(rows), 0))])
    return Lives(
        entry=rows["entry"].to_numpy(),
        good=rows["good"].to_numpy(),
        condemned=rows["condemned"].to_numpy(),
        weight=rows["weight"].to_numpy(),
        cluster=rows["boat"].to_numpy(),
        X=np.hstack([spot.astype(float), rows[list(COLUMNS)].to_numpy(dtype=float)]),
        names=(*dummies, *COLUMNS),
    )


def _warnings(kept: pd.DataFrame, records: Records, used: Use, fleet: Fleet) -> list[str]:
    said = []
    to_the_year = kept["part"][kept["certainty"] == Installation.Certainty.YEAR].nunique()
    if to_the_year:
        said.append(f"{to_the_year} parts are dated to the year: its middle is used.")
    unlogged = int(used.guessed[used.boats.isin(kept["boat"])].any(axis=1).sum())
    if unlogged:
        said.append(
            f"{unlogged} boats have years without logged miles: the fleet's median is used there, "
            f"{median_miles(records.seasons):,.0f} a year."
        )
    early = _early_by_age_rule(kept, fleet)
    if early:
        said.append(
            f"{early} parts were renewed by the age rule over {EARLY_BY_AGE_RULE:g} years before "
            f"the fleet's {fleet.age_rule_years:g}: if they looked poor, correct the reason."
        )
    return said


def _early_by_age_rule(kept: pd.DataFrame, fleet: Fleet) -> int:
    if not fleet.age_rule_years:
        return 0
    early = kept["end"] < fleet.age_rule_years - EARLY_BY_AGE_RULE
    by_rule = kept["reason"] == Installation.Removal.AGE_RULE
    return int(kept["part"][early & by_rule].nunique())

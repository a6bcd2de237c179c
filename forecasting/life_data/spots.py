"""Each spot of each part: when it was last seen good, and when it was found to have died.

Days here, ages later. A spot dies at the inspection that condemns it, at the removal of a part that
failed or looked poor, or by nothing at all: every other end leaves it alive at its last sight.
"""

import numpy as np
import pandas as pd

from fleet.models import Installation
from forecasting.survival.prior import Prior
from inspections.models import SpotState

from .records import SPOTS, Records

Removal = Installation.Removal
DEATH_AT_REMOVAL = (Removal.CONDEMNED, Removal.FAILED, Removal.LOOKED_POOR)


def spots(records: Records, kind: str) -> pd.DataFrame:
    """Return one row per spot of every part of that kind.

    The columns of ``records.parts``, and spot; last_good, death (days, NaT for none); condemned
    and first_seen of the part; ended (day after which no sight counts); share (1, or the weight of
    one of several rows for a death whose place nobody noted); broke_late (bool: a breakage after
    the boat's last inspection).
    """
    parts = records.parts[records.parts["kind"] == kind]
    sights = _before_removal(records.sights, parts)
    found = sights[sights["state"] == SpotState.CONDEMNED]
    parts = parts.assign(condemned=parts["part"].map(found.groupby("part")["day"].min()))
    parts["ended"] = parts["condemned"].fillna(parts["removed"])
    parts["last_look"] = parts["boat"].map(records.boats["last_look"])
    rows = parts.merge(pd.DataFrame({"spot": SPOTS[kind]}), how="cross")
    rows["death"] = _of_spots(_deaths_found(found, parts), rows)
    rows = _with_deaths_at_removal(rows)
    rows["last_good"] = _of_spots(_last_good(sights, rows), rows)
    rows["first_seen"] = rows["part"].map(sights.groupby("part")["day"].min())
    return _shared(rows, records.practice)


def _before_removal(sights: pd.DataFrame, parts: pd.DataFrame) -> pd.DataFrame:
    sights = sights.merge(parts[["part", "removed"]], on="part")
    return sights[~(sights["day"] > sights["removed"])]


def _of_spots(days: pd.Series, rows: pd.DataFrame) -> pd.Series:
    """Days indexed by (part, spot), put beside the rows; NaT where there is none."""
    spots_of_rows = pd.MultiIndex.from_frame(rows[["part", "spot"]])
    return pd.Series(days.reindex(spots_of_rows).to_numpy("datetime64[ns]"), index=rows.index)


def _deaths_found(found: pd.DataFrame, parts: pd.DataFrame) -> pd.Series:
    """Days of the spots condemned at the inspection that condemned their part.

    A spot condemned beside the decisive one died as well: to drop it while a spot seen good at the
    same look gains that sight would count only the survivors.
    """
    found = found.merge(parts[["part", "condemned"]], on="part")
    return found[found["day"] == found["condemned"]].groupby(["part", "spot"])["day"].min()


def _with_deaths_at_removal(rows: pd.DataFrame) -> pd.DataFrame:
    """Deaths nobody inspected: told by the reason of removal, at its place or at one of three.

    A breakage shows itself at once, a sound spot only at the next inspection. After the boat's
    last inspection only breakages would count, so there they are no deaths: the part stays in, good
    until its last sight, as the record stood that day.
    """
    removed = rows["condemned"].isna() & rows["reason"].isin(DEATH_AT_REMOVAL)
    broke = removed & (rows["reason"] == Removal.FAILED)
    rows["broke_late"] = broke & ~(rows["removed"] <= rows["last_look"])
    died = removed & ~rows["broke_late"]
    single = rows.groupby("part")["spot"].transform("size") == 1
    rows["masked"] = died & ~single & ~rows["place"].isin(SPOTS[Installation.Kind.WIRE])
    here = died & (single | rows["masked"] | (rows["place"] == rows["spot"]))
    rows["death"] = rows["death"].fillna(rows["removed"].where(here))
    return rows


def _last_good(sights: pd.DataFrame, rows: pd.DataFrame) -> pd.Series:
    """Last day each spot was seen good."""
    good = sights_that_count(sights, rows[["part", "spot", "ended", "death"]])
    return good.groupby(["part", "spot"])["day"].max()


def sights_that_count(sights: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows beside each day their spot was seen good: before its own death, and not after
    its part's end. ``rows`` has part, spot, ended and death, one row a spot.
    """
    good = sights[sights["state"] == SpotState.GOOD]
    good = rows.merge(good[["part", "spot", "day"]], on=["part", "spot"])
    return good[~(good["day"] > good["ended"]) & ~(good["day"] >= good["death"])]


def _shared(rows: pd.DataFrame, prior: Prior) -> pd.DataFrame:
    """A death at one of several spots, nobody knows which: each dies by its share, else lives.

    The share is the chance, by what is believed of wires, that it was this spot, given the last
    sight of each: hazard share times the growth of the cumulated hazard since (the expectation step
    for a masked cause). To leave such deaths out, or to end them alive, would make parts look
    longer-lived than they are.
    """
    rows["share"] = 1.0
    masked = rows["masked"]
    dying = rows[masked].copy()
    dying["share"] = _chance_it_was_here(dying, prior)
    living = dying.assign(share=1 - dying["share"], death=pd.NaT)
    parted = pd.concat([rows[~masked], dying, living], ignore_index=True)
    parted = parted[parted["share"] > 0]
    return parted.sort_values(["part", "spot", "death"], kind="stable", ignore_index=True)


def _chance_it_was_here(dying: pd.DataFrame, prior: Prior) -> np.ndarray:
    shares = dict(zip(SPOTS[Installation.Kind.WIRE], prior.shares, strict=True))
    born = dying["fitted"].fillna(dying["before"])
    at_death = (dying["death"] - born).dt.days
    at_sight = (dying["last_good"] - born).dt.days.fillna(0)
    grown = 1 - (at_sight / at_death.clip(lower=1)).clip(0, 1) ** prior.shape
    hazard = dying["spot"].map(shares) * grown.fillna(1.0)
    return (hazard / hazard.groupby(dying["part"]).transform("sum")).to_numpy(dtype=float)

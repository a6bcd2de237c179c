"""What the database knew of a fleet on one day, as frames. Nothing dated later gets in.

Days are ``datetime64[ns]``; a day that is not known, or not yet come, is NaT.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from django.db.models import F, QuerySet

from fleet.models import Boat, CruisingGround, Fleet, Installation, SeasonUse
from inspections.models import Inspection, PartVerdict, SpotState

from ..practice import prior_in_force
from ..survival import Prior
from .marks import marks

SPOTS = {
    Installation.Kind.WIRE: ("lower", "run", "upper"),
    Installation.Kind.TURNBUCKLE: ("whole",),
    Installation.Kind.CHAINPLATE: ("whole",),
}
YEAR_DAYS = 365.25
MIDDLE_OF_YEAR = (7, 1)

PART_COLUMNS = {
    "part": "pk",
    "boat": "stay__boat",
    "stay": "stay",
    "stay_name": "stay__name",
    "side": "stay__side",
    "mast": "stay__mast",
    "in_foil": "stay__in_foil",
    "kind": "kind",
    "construction": "construction",
    "diameter": "diameter_mm",
    "pin": "pin_mm",
    "length": "length_mm",
    "lower_terminal": "lower_terminal",
    "fitted": "fitted_on",
    "certainty": "fitted_certainty",
    "removed": "removed_on",
    "reason": "removal_reason",
    "place": "removal_spot",
}
BOAT_COLUMNS = {
    "boat": "pk",
    "base": "base",
    "build_year": "build_year",
    "length": "length_m",
    "joined": "joined",
    "left": "left",
    "planned_exit": "planned_exit",
    "complete_since": "history_complete_since",
    "corrosivity": "base__ground__corrosivity",
    "service": "service",
    "mast_down": "mast_down_off_season",
    "paid_by": "paid_by",
}
SEASON_COLUMNS = {
    "boat": "boat",
    "year": "year",
    "corrosivity": "ground__corrosivity",
    "miles": "miles",
    "mast_down": "mast_down",
    "service": "service",
}
LOOK_COLUMNS = {"boat": "boat", "inspection": "pk", "day": "on", "level": "level"}
SIGHT_COLUMNS = {"part": "installation", "day": "inspection__on", "watched": "watched"} | {
    spot: spot for spot in ("lower", "run", "upper", "whole")
}


@dataclass(frozen=True, eq=False)
class Records:
    """One fleet as of one day.

    parts    one row per part fitted by then: the columns of PART_COLUMNS, and before (removal of
             the part that was there before it), after_retermination
    sights   one row per spot an inspection gave a state: part, spot, day, state, watched (bool)
    looks    one row per inspection, in order of day: boat, inspection, day, level, whole
    boats    one row per boat, indexed by it: the columns of BOAT_COLUMNS, with severity (step of
             the base's ground), record_start and last_look instead of two of them
    seasons  one row per boat and year of use: boat, year, severity, miles, mast_down, service
    practice what was believed of wires that day: where one goes when nobody noted the place
    marks    boat -> the mark of its record just before it was read (see ``marks``)
    """

    as_of: dt.date
    parts: pd.DataFrame
    sights: pd.DataFrame
    looks: pd.DataFrame
    boats: pd.DataFrame
    seasons: pd.DataFrame
    practice: Prior
    marks: Mapping[int, str] = field(default_factory=dict)


def read(fleet: Fleet, as_of: dt.date) -> Records:
    """Return the records of a fleet as they stood at the end of that day."""
    made_from = marks(Boat.objects.of(fleet))  # First: what is recorded from here on is newer.
    looks = _looks(fleet, as_of)
    return Records(
        marks=made_from,
        as_of=as_of,
        parts=_parts(fleet, as_of),
        sights=_sights(fleet, as_of),
        looks=looks,
        boats=_boats(fleet, looks),
        seasons=_seasons(fleet, as_of),
        practice=prior_in_force(fleet, Installation.Kind.WIRE, as_of),
    )


def _frame(
    rows: QuerySet,
    columns: dict[str, str],
    days: tuple[str, ...] = (),
    numbers: tuple[str, ...] = (),
) -> pd.DataFrame:
    """Days become NaT where blank, and numbers floats: a column that is all blank is one too."""
    frame = pd.DataFrame.from_records(rows.values_list(*columns.values()), columns=list(columns))
    for name in days:
        frame[name] = pd.to_datetime(frame[name])
    return frame.astype(dict.fromkeys(numbers, float))


def _parts(fleet: Fleet, as_of: dt.date) -> pd.DataFrame:
    # One after the other in each place: what stands comes last, whatever fitting date it claims.
    rows = Installation.objects.of(fleet).order_by(
        "stay", "kind", F("removed_on").asc(nulls_last=True), "fitted_on", "pk"
    )
    parts = _frame(rows, PART_COLUMNS, ("fitted", "removed"), ("diameter", "pin", "length"))
    place = parts.groupby(["stay", "kind"], sort=False)
    parts["before"] = place["removed"].shift()
    parts["after_retermination"] = place["reason"].shift() == Installation.Removal.RE_TERMINATED
    today = pd.Timestamp(as_of)
    parts = parts[~(_first_day(parts) > today) & ~(parts["before"] > today)].copy()
    parts["fitted"] = _middle_of_known_year(parts)
    not_yet = parts["removed"] > today
    parts["removed"] = parts["removed"].mask(not_yet)
    parts["reason"] = parts["reason"].mask(not_yet, "")
    parts["place"] = parts["place"].mask(not_yet, "")
    return parts.sort_values("part", ignore_index=True)


def _first_day(parts: pd.DataFrame) -> pd.Series:
    """Return the first day a part may have been up: 1 January where only the year is known."""
    new_year = parts["fitted"].dt.to_period("Y").dt.start_time
    return new_year.where(_known_to_the_year(parts), parts["fitted"])


def _known_to_the_year(parts: pd.DataFrame) -> pd.Series:
    return parts["certainty"] == Installation.Certainty.YEAR


def _middle_of_known_year(parts: pd.DataFrame) -> pd.Series:
    month, day = MIDDLE_OF_YEAR
    middle = pd.to_datetime(
        pd.DataFrame({"year": parts["fitted"].dt.year, "month": month, "day": day})
    )
    return middle.where(_known_to_the_year(parts), parts["fitted"])


def _sights(fleet: Fleet, as_of: dt.date) -> pd.DataFrame:
    rows = PartVerdict.objects.filter(
        inspection__boat__fleet=fleet, inspection__on__lte=as_of
    ).order_by("pk")
    wide = _frame(rows, SIGHT_COLUMNS)
    long = wide.melt(["part", "day", "watched"], var_name="spot", value_name="state")
    long = long[long["state"].isin([SpotState.GOOD, SpotState.CONDEMNED])].copy()
    long["day"] = pd.to_datetime(long["day"])
    said = zip(long["spot"], long["watched"], strict=True)
    long["watched"] = np.array([spot in spots for spot, spots in said], dtype=bool)
    return long


def _looks(fleet: Fleet, as_of: dt.date) -> pd.DataFrame:
    rows = Inspection.objects.of(fleet).up_to(as_of).order_by("on", "pk")
    looks = _frame(rows, LOOK_COLUMNS, ("day",))
    looks["whole"] = looks["inspection"].isin(list(rows.whole().values_list("pk", flat=True)))
    return looks


def _boats(fleet: Fleet, looks: pd.DataFrame) -> pd.DataFrame:
    days = ("joined", "left", "planned_exit", "complete_since")
    rows = Boat.objects.of(fleet).order_by("pk")
    boats = _frame(rows, BOAT_COLUMNS, days, ("length",)).set_index("boat")
    by_boat = looks.groupby("boat")["day"]
    boats["last_look"] = by_boat.max().reindex(boats.index)
    first_look = by_boat.min().reindex(boats.index)
    boats["record_start"] = boats.pop("complete_since").fillna(first_look)
    return _with_severity(boats)


def _seasons(fleet: Fleet, as_of: dt.date) -> pd.DataFrame:
    rows = SeasonUse.objects.of(fleet).filter(year__lte=as_of.year).order_by("boat", "year")
    return _with_severity(_frame(rows, SEASON_COLUMNS, numbers=("miles",)))


def _with_severity(frame: pd.DataFrame) -> pd.DataFrame:
    steps = {name: step for step, name in enumerate(CruisingGround.Corrosivity.values)}
    frame["severity"] = frame.pop("corrosivity").map(steps).astype(float)
    return frame

"""Whatever the record says, the rows of the fit keep 0 <= entry <= good < condemned."""

import datetime as dt

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.models import Boat, Fleet, Installation
from forecasting.life_data import lives
from forecasting.life_data.records import SPOTS, Records
from forecasting.survival import COMMON_PRACTICE

DAY_0 = dt.date(2010, 1, 1)
AS_OF = dt.date(2020, 12, 31)
days = st.integers(0, 4000).map(lambda n: DAY_0 + dt.timedelta(days=n))
maybe = st.one_of(st.none(), days)
parts = st.fixed_dictionaries(
    {
        "fitted": days,
        "certainty": st.sampled_from(["day", "day", "year", "estimated", "unknown"]),
        "removed": maybe,
        "reason": st.sampled_from(Installation.Removal.values),
        "place": st.sampled_from(["", "lower", "run", "upper", "whole"]),
        "after_retermination": st.booleans(),
    }
)
sights = st.fixed_dictionaries(
    {
        "part": st.integers(0, 5),
        "spot": st.sampled_from(SPOTS["wire"]),
        "day": days,
        "state": st.sampled_from(["good", "good", "good", "condemned"]),
    }
)


def records(parts: list[dict], sights: list[dict], complete_since: dt.date | None) -> Records:
    frame = pd.DataFrame(parts).assign(boat=1, stay=1, in_foil=False, kind="wire", before=pd.NaT)
    frame = frame.assign(part=range(len(parts)), construction="1x19", lower_terminal="swaged")
    seen = pd.DataFrame(sights, columns=["part", "spot", "day", "state"])
    for table, names in ((frame, ("fitted", "removed")), (seen, ("day",))):
        for name in names:
            table[name] = pd.to_datetime(table[name])
    frame["reason"] = frame["reason"].where(frame["removed"].notna(), "")
    boats = pd.DataFrame(
        {
            "base": 1,
            "build_year": 2009,
            "severity": 2.0,
            "service": Boat.Service.PRIVATE,
            "mast_down": False,
            "record_start": pd.to_datetime(complete_since or seen["day"].min()),
            "last_look": seen["day"].max(),
        },
        index=pd.Index([1], name="boat"),
    )
    seasons = pd.DataFrame(
        {name: [] for name in ("boat", "year", "severity", "miles")}, dtype=float
    )
    seasons = seasons.assign(mast_down=pd.Series(dtype=bool), service=pd.Series(dtype=object))
    looks = seen[["day"]].assign(boat=1, inspection=1, level="aloft")
    return Records(AS_OF, frame, seen, looks, boats, seasons, COMMON_PRACTICE["wire"])


@settings(max_examples=25, deadline=None)
@given(st.lists(parts, min_size=1, max_size=6), st.lists(sights, max_size=25), maybe)
def test_no_reading_gives_a_life_that_contradicts_itself(parts, sights, complete_since):
    table = lives(Fleet(), "wire", AS_OF, records(parts, sights, complete_since))
    rows = table.rows
    assert (rows["entry"] >= 0).all()
    assert (rows["entry"] <= rows["good"]).all()
    assert (rows["good"] < rows["condemned"]).all()
    assert rows["weight"].between(0, 1).all()
    assert not ((rows["good"] == rows["entry"]) & np.isinf(rows["condemned"])).any()


@settings(max_examples=20, deadline=None)
@given(st.lists(parts, min_size=1, max_size=6), st.lists(sights, max_size=25), maybe)
def test_every_spot_is_in_the_fit_or_counted_out(parts, sights, complete_since):
    table = lives(Fleet(), "wire", AS_OF, records(parts, sights, complete_since))
    total = table.rows["weight"].sum() + sum(table.left_out.values())
    assert np.isclose(total, 3 * len(parts))

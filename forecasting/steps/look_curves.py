"""What looking costs by how often it is done, at one base from one level, for three costs of a
failure. The expected cost over the draws; the interval of least cost lies between its bounds."""

from dataclasses import replace

import numpy as np

from ..condition.interval import Costs, band_of
from ..models import LookCurve
from .ages import FAILURES
from .condition import MONTHS, Looked
from .prospects import Prospects
from .schedule import intervals

EVERY = 12  # of the intervals tried, kept for the chart: 34 from half a month to ten years


def look_curve(prospects: Prospects, found: Looked) -> LookCurve:
    """Return the row of one base and level."""
    months = found.ends.interval * MONTHS
    rule = intervals(prospects.fleet)[found.level]
    split = found.ends.cost(found.costs).mean(axis=1)
    kept = np.append(np.arange(0, months.size - 1, EVERY), months.size - 1)
    rows = np.column_stack((months[kept].round(2), split[:, kept].T.round()))
    return LookCurve(
        fleet=prospects.fleet,
        base_id=found.base,
        level=found.level,
        boats=found.boats,
        rule_months=rule,
        defects=found.defects,
        look_minor=round(found.costs.look),
        by_cost=[_answer(found, prospects.prices.failure * times, rule) for times in FAILURES],
        curve=rows.tolist(),
    )


def _answer(found: Looked, failure: float, rule: int) -> dict:
    costs: Costs = replace(found.costs, failure=found.costs.late + failure)
    interval, months = band_of(found.ends, costs), found.ends.interval * MONTHS
    mean = found.ends.cost(costs).sum(axis=0).mean(axis=0)
    names = ("low", "high", "flat_from", "flat_until")
    return {
        "failure": round(failure),
        "best": round(float(months[mean.argmin()]), 2),
        "cost": round(interval.cost),
        "rule": round(float(np.interp(rule, months, mean))),
        "bounded": interval.bounded,
        **{name: round(getattr(interval, name) * MONTHS, 2) for name in names},
    }

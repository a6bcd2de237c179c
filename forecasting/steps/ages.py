"""One renewal age for each group of parts a manager would name, with what other ages cost.

Fibre and galvanised wire are left out: no record tells how long those last apart from other wire.
"""

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd

from fleet.models import Installation

from ..models import AgeGroup, ModelRun
from ..planning.group_ages import GroupCurve, group_curves
from .prospects import Prospects, by_rule_of_thumb, unplanned_costs

FAILURES = (1 / 3, 1.0, 3.0)  # times the fleet's cost of a failure, the second its own
FEWEST = 4  # parts: below, there is no group to speak of
NO_LIFE_KNOWN = (Installation.Construction.FIBRE, Installation.Construction.GALVANISED)
OF_A_GROUP = ["kind", "construction", "base", "service"]
POINTS = 48  # of a curve that is kept
DEAREST = 2.5  # times the least: young ages that cost more are not kept
PAST = 1.6  # times the last age worth telling, up to which a curve is kept


def age_rows(prospects: Prospects, runs: Mapping[str, ModelRun]) -> Iterator[AgeGroup]:
    """Yield a row for each group of parts. runs: kind -> the run its model came from."""
    parts = grouped(prospects)
    planned, late, breaks = unplanned_costs(prospects.fleet, prospects.afloat, prospects.prices,
                                            prospects.breakage)  # fmt: skip
    failure = prospects.prices.failure * np.array(FAILURES)
    unplanned = late + breaks * failure[:, None]
    group = parts["group"].to_numpy()
    curves = group_curves(
        prospects.lives,
        prospects.afloat.table,
        group,
        np.maximum(planned, 1.0),
        np.maximum(unplanned, 1.0),
    )
    thumb = by_rule_of_thumb(prospects.afloat, prospects.models)
    for code, curve in curves.items():
        own = group == code
        first = parts[own].iloc[0]
        rule = float(prospects.rule_age[own][0])
        yield AgeGroup(
            fleet=prospects.fleet,
            base_id=int(first["base"]),
            kind=first["kind"],
            construction=first["construction"],
            service=first["service"],
            boats=int(parts["boat"][own].nunique()),
            parts=int(own.sum()),
            by_thumb=bool(thumb[own][0]),
            oldest=round(float(runs[first["kind"]].inputs["oldest_age"]), 2),
            rule_age=rule if np.isfinite(rule) else None,
            planned_minor=round(float(planned[own].mean())),
            late_minor=round(float(late[own].mean())),
            breaks=breaks,
            by_cost=[_answer(curve, k, round(failure[k]), rule) for k in range(failure.size)],
            curve=_kept(curve, rule),
        )


def grouped(prospects: Prospects) -> pd.DataFrame:
    """Return kind, construction, base, service, boat and group of every part, -1: in none."""
    parts, boats = prospects.afloat.parts, prospects.afloat.boats
    wire = parts["kind"] == Installation.Kind.WIRE
    rows = pd.DataFrame(
        {
            "kind": parts["kind"].astype(str),
            "construction": parts["construction"].where(wire, "").astype(str),
            "base": parts["boat"].map(boats["base"]),
            "service": parts["boat"].map(boats["service"]).astype(str),
            "boat": parts["boat"],
        }
    )
    by = rows.groupby(OF_A_GROUP)["boat"]
    in_none = (by.transform("size") < FEWEST) | rows["construction"].isin(NO_LIFE_KNOWN)
    return rows.assign(group=by.ngroup().mask(in_none, -1))


def _answer(curve: GroupCurve, k: int, failure: int, rule: float) -> dict:
    return {
        "failure": failure,
        "age": _years(curve.age[k]),
        "flat_from": _years(curve.flat_from[k]),
        "flat_until": _years(curve.flat_until[k]),
        "least": round(float(curve.cost_rate[k])),
        "keep": round(float(curve.keep[k])),
        "rule": round(float(curve.rate_at(rule)[k])) if np.isfinite(rule) else None,
    }


def _years(age: float) -> float | None:
    return round(float(age), 2) if np.isfinite(age) else None


def _kept(curve: GroupCurve, rule: float) -> list[list[float]]:
    """Return the part of the curve that somebody would choose from, evenly spaced in age."""
    dear = curve.rates.max(axis=0) > DEAREST * curve.cost_rate.max()
    first = curve.ages[int(dear.argmin())]
    told = [curve.age, curve.flat_from, curve.flat_until, np.array([rule])]
    ages = np.concatenate([each[np.isfinite(each)] for each in told])
    last = PAST * (ages.max() if ages.size else 4 * first)
    ages = np.linspace(first, min(max(last, 2 * first), curve.ages[-1]), POINTS).round(2)
    rates = np.array([curve.rate_at(age) for age in ages]).round().astype(int)
    return [[float(age), *each] for age, each in zip(ages, rates.tolist(), strict=True)]

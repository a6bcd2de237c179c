"""Common practice as a fleet holds it: what is believed of a kind of part before its own record."""

import datetime as dt
from dataclasses import replace

from fleet.models import Fleet
from fleet.templatetags.wording import day

from .models import ForecastPractice
from .survival import COMMON_PRACTICE, Prior


def prior_in_force(fleet: Fleet, kind: str, as_of: dt.date) -> Prior:
    """Return what is believed on that day: the fleet's latest decision, else common practice.

    The fleet's rule of thumb in years speaks of wires, until a decision with its reason takes over.
    """
    prior = common_practice(fleet, kind)
    latest = ForecastPractice.objects.of(fleet).filter(kind=kind, since__lte=as_of).first()
    return with_decision(prior, latest) if latest else prior


def common_practice(fleet: Fleet, kind: str) -> Prior:
    prior = COMMON_PRACTICE[kind]
    return replace(prior, b10=fleet.rule_of_thumb_years) if kind == "wire" else prior


def with_decision(prior: Prior, decision: ForecastPractice) -> Prior:
    """Return the prior with what was decided. Raises ValueError where that makes no sense."""
    decided = {**decision.data, "slopes": {**prior.slopes, **decision.data.get("slopes", {})}}
    decided["shares"] = tuple(decided.get("shares", prior.shares))
    source = f"the fleet's own practice since {day(decision.since)}: {decision.reason}"
    return replace(prior, **decided, source=source)

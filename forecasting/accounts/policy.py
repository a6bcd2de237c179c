"""How a fleet accounts for rigging on a day."""

import datetime as dt

from fleet.models import Fleet

from ..models import AccountsPolicy


def in_force(fleet: Fleet, on: dt.date) -> AccountsPolicy | None:
    """Return the latest decision of that day and before; None where nobody decided yet."""
    return AccountsPolicy.objects.of(fleet).filter(since__lte=on).first()


def tax_factor(fleet: Fleet, on: dt.date) -> float:
    """Return by what listed prices are multiplied: tax that is not recovered is a cost."""
    policy = in_force(fleet, on)
    return 1 + float(policy.tax_rate * (1 - policy.tax_recovered)) if policy else 1.0


def capital_from(fleet: Fleet, on: dt.date) -> int:
    """Return the cost, minor units, from which a renewal is capitalised; 0 for any."""
    policy = in_force(fleet, on)
    return policy.capital_from_minor if policy else 0

"""By which rules and prices refit list and budget were made, and whether those changed since."""

import datetime as dt
import hashlib
import json

from fleet.models import Base, Fleet, Price

from ..models import AccountsPolicy, PlanBasis

# What a plan follows from, beside the record and the models. The rule of thumb is the models'.
RULES = (
    "currency",
    "off_season_start",
    "off_season_end",
    "fiscal_year_start",
    "budget_years",
    "deck_check_months",
    "aloft_months",
    "mast_down_months",
    "deck_check_hours",
    "aloft_hours",
    "mast_down_hours",
    "age_rule_years",
    "insurer_age_years",
    "risk_limit",
    "price_growth",
    "rigging_paid_by",
)
OF_A_BASE = ("pk", "off_season_start", "off_season_end")
OF_THE_BOOKS = ("since", "capital_from_minor", "tax_rate", "tax_recovered")
OF_A_PRICE = ("item", "construction", "diameter_mm", "price_minor", "hours")


def basis(fleet: Fleet, as_of: dt.date) -> PlanBasis:
    """Return the row, not yet saved, that says what a plan made now rests on."""
    return PlanBasis(fleet=fleet, as_of=as_of, digest=digest(fleet))


def digest(fleet: Fleet) -> str:
    """Return the SHA-256 of the fleet's rules and prices as they stand."""
    # As the database gives them back: 12 years set a moment ago are the 12.0 that are stored.
    rules = [Fleet._meta.get_field(name).to_python(getattr(fleet, name)) for name in RULES]
    bases = Base.objects.of(fleet).order_by("pk").values_list(*OF_A_BASE)
    prices = Price.objects.of(fleet).order_by(*OF_A_PRICE).values_list(*OF_A_PRICE)
    books = AccountsPolicy.objects.of(fleet).order_by("pk").values_list(*OF_THE_BOOKS)
    text = json.dumps([rules, list(bases), list(prices), [[str(v) for v in row] for row in books]])
    return hashlib.sha256(text.encode()).hexdigest()


def is_behind(fleet: Fleet) -> bool:
    """Return whether rules or prices changed since the plan in place; without one nothing did."""
    planned = PlanBasis.objects.of(fleet).first()
    return planned is not None and planned.digest != digest(fleet)

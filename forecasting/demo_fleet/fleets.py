"""The settings of the demo fleets and the three people who sign in."""

from typing import Any

from .names import email
from .plans import AS_OF, PLANS, SEED, Plan

PEOPLE = {
    "maren": ("Maren", "Saltmarsh"),
    "oskar": ("Oskar", "Eikemoen"),
    "joana": ("Joana", "Marchetto"),
}
MEMBERS = {
    "thornquay": {"maren": "manager", "oskar": "bosun", "joana": "accountant"},
    "vessmark": {"maren": "manager", "oskar": "bosun", "joana": "accountant"},
    "lysnevik": {"oskar": "bosun", "joana": "accountant"},
}
PRICE_GROWTH = 0.03
SAME_NAME = (
    "name slug kind time_zone fiscal_year_start boats_owned_by rigging_paid_by "
    "deck_check_months aloft_months mast_down_months risk_limit"
)


def settings(seed: int = SEED, plans: tuple[Plan, ...] = PLANS) -> dict[str, Any]:
    """What ``fleets.json`` holds: everything of the fleets that is not in their workbooks.

    Per fleet ``workbook``, ``fleet`` (fields of the fleet) and ``members`` with their roles.
    """
    return {"seed": seed, "fleets": [_told(plan) for plan in plans]}


def _told(plan: Plan) -> dict[str, Any]:
    return {
        "workbook": f"{plan.slug}.xlsx",
        "fleet": _fields(plan),
        "members": [_member(name, role) for name, role in MEMBERS[plan.slug].items()],
    }


def _fields(plan: Plan) -> dict[str, Any]:
    begins, ends = plan.off_season
    same = {name: getattr(plan, name) for name in SAME_NAME.split()}
    return same | {
        "currency": "EUR",
        "off_season_start": begins,
        "off_season_end": ends,
        "as_of": AS_OF.isoformat(),
        "age_rule_years": plan.age_rule,
        "price_growth": PRICE_GROWTH,
    }


def _member(username: str, role: str) -> dict[str, str]:
    first, last = PEOPLE[username]
    address = email(f"{first} {last}")
    return {
        "username": username,
        "first_name": first,
        "last_name": last,
        "email": address,
        "role": role,
    }

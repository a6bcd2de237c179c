"""Filters that put numbers into words: money, ages, chances."""

import datetime as dt
from decimal import Decimal

from django import template

register = template.Library()

# ISO 4217 currencies without minor units that a fleet is likely to keep its books in.
WHOLE_UNITS = {"JPY", "KRW", "CLP", "ISK", "VND", "XPF"}


@register.filter
def money(minor: int | None, currency: str = "") -> str:
    """Return ``1,234`` whole units of an amount in minor units, with the currency when given."""
    if minor is None:
        return ""
    units = Decimal(minor) if currency in WHOLE_UNITS else Decimal(minor) / 100
    return f"{units:,.0f}" + (f" {currency}" if currency else "")


@register.filter
def figure(minor: int | None, currency: str) -> str:
    """Return the digits of ``money`` alone, where a header names the currency."""
    return money(minor, currency).removesuffix(f" {currency}")


@register.filter
def about(minor: int | None, currency: str = "") -> str:
    """Return an amount to two or three figures, as a forecast deserves: ``95,000 EUR``."""
    if not minor:
        return money(minor, currency)
    step = 10 ** max(0, len(str(abs(int(minor)))) - (2 if str(abs(minor))[0] > "2" else 3))
    return money(round(minor / step) * step, currency)


@register.filter
def about_figure(minor: int | None, currency: str) -> str:
    """Return the digits of ``about`` alone."""
    return about(minor, currency).removesuffix(f" {currency}")


@register.filter
def exact_money(minor: int, currency: str) -> str:
    """Return an amount with its minor units, ``12.50``."""
    return f"{minor:,}" if currency in WHOLE_UNITS else f"{Decimal(minor) / 100:,.2f}"


@register.filter
def age(years: float | None) -> str:
    """Return ``9 y 4 m`` for an age in years, ``not known`` for none."""
    if years is None:
        return "not known"
    months = round(years * 12)
    return f"{months // 12} y {months % 12} m"


@register.filter
def one_in(chance: float | None) -> str:
    """Return a chance as people say it: ``1 in 12``; the extremes in words."""
    if chance is None:
        return ""
    if chance >= 0.95:
        return "almost certain"
    if chance >= 0.4:
        return f"{round(chance * 10)} in 10"
    if chance < 0.0005:
        return "under 1 in 2,000"
    return f"1 in {_readable(1 / chance)}"


def _readable(value: float) -> str:
    """Round to what one would say: whole up to 20, then two figures."""
    step = 1 if value < 20 else 5 if value < 100 else 10 if value < 200 else 100
    return f"{round(value / step) * step:,}"


@register.filter
def millimetres(value: float) -> str:
    """Return a length as on a cut sheet, in the words of every page: ``13,684``, ``9.5``."""
    return f"{value:,.10g}"


@register.filter
def percent(chance: float | None) -> str:
    if chance is None:
        return ""
    if chance < 0.0005:
        return "under 0.1%"
    return f"{chance:.0%}" if chance >= 0.1 else f"{chance:.1%}"


@register.filter
def rate(part: Decimal | float) -> str:
    """Return a rate that somebody fixed, in percent, as it was given: ``0%``, ``7.7%``, ``19%``."""
    return f"{100 * float(part):.6g}%"


@register.filter
def share(part: float) -> str:
    """Return a small share in percent to two figures: ``0.072%``."""
    return f"{100 * part:.2g}%"


@register.filter
def day(date: dt.date | str | None) -> str:
    """Return a date, or one in ISO 8601 text, as written here: ``3 Jun 2026``."""
    if isinstance(date, str) and date:
        date = dt.date.fromisoformat(date)
    return f"{date.day} {date:%b %Y}" if date else ""


@register.filter
def hyphenless(code: str) -> str:
    """Return a code as words: ``cap_shroud`` as ``cap shroud``."""
    return code.replace("_", " ")


SPOT_WORDS = {"lower": "lower end", "run": "wire", "upper": "upper end", "whole": "whole"}


@register.filter
def spot_word(spot: str) -> str:
    return SPOT_WORDS.get(spot, spot)


COLUMN_WORDS = {
    "run": "The wire between its ends, beside the lower end",
    "upper": "The upper end, beside the lower end",
    "severity": "One step saltier ground",
    "log2_miles": "Twice the miles a year",
    "rod": "Rod instead of 1x19",
    "mechanical": "Mechanical instead of swaged lower terminal",
    "unstepped": "Mast down every off season",
    "charter": "Charter instead of private use",
}


@register.filter
def column_words(name: str) -> str:
    """Return a column of the model in words."""
    return COLUMN_WORDS.get(name, hyphenless(name))

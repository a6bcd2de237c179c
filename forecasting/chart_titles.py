"""The sentence each chart says, with its number: title on the page, in the paper and in mail."""

from collections.abc import Sequence
from math import isfinite

from fleet.models import Fleet
from fleet.templatetags.wording import about, about_figure

from .models import BudgetFigure

FAR = 99  # Years: no bound of a life is worth more figures than this.


def year_label(year: int, fleet: Fleet) -> str:
    """Return 2027, or 2026/27 where the fiscal year does not begin in January."""
    return str(year) if fleet.fiscal_year_start == 1 else f"{year}/{(year + 1) % 100:02d}"


def survival(headline: dict, drawn: float, thumb: bool) -> str:
    """Return by when one wire in ten is condemned. ``drawn``: the oldest age in the chart, years.

    ``headline``: b10, low, high in years. ``thumb``: it rests on a rule of thumb.
    """
    where = "on the reference boat"
    if not headline["b10"] <= drawn:
        said = f"Fewer than one wire in ten is condemned by {drawn:.0f} years {where}"
    else:
        between = f"{headline['low']:.1f} to {years(headline['high'])}"
        said = f"One wire in ten is condemned by {years(headline['b10'])} years ({between}) {where}"
    return by_thumb(said, thumb)


def years(value: float) -> str:
    return f"{value:.1f}" if isfinite(value) and value <= FAR else f"over {FAR}"


def budget(figures: Sequence[BudgetFigure], fleet: Fleet, thumb: bool) -> str:
    """Return which year costs most and which least, each from its P10 to its P90."""
    first, last = (year_label(figures[end].year, fleet) for end in (0, -1))
    when = f"in {first}" if len(figures) == 1 else f"from {first} to {last}"
    if not any(figure.p90_minor for figure in figures):
        return by_thumb(f"No rigging cost is forecast {when}", thumb)
    most = max(figures, key=lambda figure: (figure.p50_minor, figure.p90_minor, -figure.year))
    least = min(figures, key=lambda figure: (figure.p50_minor, figure.p90_minor, figure.year))
    high, low = span(most, fleet), span(least, fleet)
    if high == low:
        each = when if len(figures) == 1 else f"in each year {when}"
        return by_thumb(f"Rigging will most likely cost {high} {each}", thumb)
    return by_thumb(
        f"Rigging will cost most in {year_label(most.year, fleet)}, most likely {high}, "
        f"and least in {year_label(least.year, fleet)}, {low}",
        thumb,
    )


def span(figure: BudgetFigure, fleet: Fleet) -> str:
    """Return P10 to P90 as a forecast deserves, e.g. ``135,000 to 165,000 EUR``."""
    low, high = (about(minor, fleet.currency) for minor in (figure.p10_minor, figure.p90_minor))
    return f"about {high}" if low == high else (
        f"{about_figure(figure.p10_minor, fleet.currency)} to {high}"
    )  # fmt: skip


def by_thumb(said: str, thumb: bool) -> str:
    return f"By rule of thumb, {said[0].lower()}{said[1:]}" if thumb else said

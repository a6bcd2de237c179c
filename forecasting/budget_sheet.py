"""The replacement budget as rows: for the page, its chart and the CSV file."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from fleet.models import Fleet
from fleet.spreadsheets.csv_files import guard
from fleet.templatetags.wording import WHOLE_UNITS

from . import chart_titles, charts, reads
from .chart_titles import year_label
from .models import BudgetFigure, ModelRun

HEADER = (
    "fleet", "as of", "currency", "scope", "base", "boat", "fiscal year", "mean",
    "of which planned", "of which expensed", "P10", "P50", "P90", "parts renewed",
)  # fmt: skip
NOTE = (
    "Working figures, not a frozen version. Means add, boats to bases to fleet. "
    "Percentiles are each total's own and do not add."
)


def units(minor: int, currency: str) -> Decimal:
    return Decimal(minor) if currency in WHOLE_UNITS else Decimal(minor) / 100


def by_year(figures: Iterable[BudgetFigure]) -> list[dict]:
    """Return one row a base or boat: its name, the figures in order of year, and their sum."""
    rows: dict[tuple, dict] = {}
    for figure in figures:
        row = rows.setdefault(
            (figure.base_id, figure.boat_id),
            {"of": figure.boat or figure.base, "boat": figure.boat, "figures": [], "total": 0},
        )
        row["figures"].append(figure)
        row["total"] += figure.mean_minor
    return list(rows.values())


def chart(figures: list[BudgetFigure], fleet: Fleet) -> dict | None:
    """Return the spec of the chart for page and paper; nothing to draw gives none."""
    if not figures:
        return None
    run = reads.wire_model(fleet)
    hatched = run is None or run.state == ModelRun.State.RULE_OF_THUMB
    title = chart_titles.budget(figures, fleet, hatched)
    return charts.budget(chart_rows(figures, fleet), fleet.currency, hatched, title)


def chart_rows(figures: Iterable[BudgetFigure], fleet: Fleet) -> list[dict]:
    fields = ("mean", "p10", "p50", "p90")
    return [
        {"year": year_label(figure.year, fleet)}
        | {f: float(units(getattr(figure, f"{f}_minor"), fleet.currency)) for f in fields}
        for figure in figures
    ]


def rows(fleet: Fleet) -> Iterator[tuple]:
    """Yield the CSV file's rows, header first; money in whole units with their decimals."""
    yield HEADER
    for scope in ("fleet", "base", "boat"):
        for figure in reads.budget(fleet, scope):
            yield line(fleet, scope, figure)
    yield ("note", NOTE)


def line(fleet: Fleet, scope: str, figure: BudgetFigure) -> tuple:
    money = [
        units(minor, fleet.currency)
        for minor in (figure.mean_minor, figure.planned_minor, figure.expensed_minor,
                      figure.p10_minor, figure.p50_minor, figure.p90_minor)
    ]  # fmt: skip
    base = figure.base or (figure.boat.base if figure.boat else "")
    names = (guard(str(base)), guard(str(figure.boat or "")))
    year = year_label(figure.year, fleet)
    where = (guard(fleet.name), fleet.today(), fleet.currency, scope, *names, year)
    return (*where, *money, round(figure.renewals, 2))

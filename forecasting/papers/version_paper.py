"""A frozen budget as a paper: who froze what, when, on what; by year and base; against actuals."""

import datetime as dt

from fleet import chart_picture
from fleet.models import Fleet
from fleet.templatetags.wording import about, about_figure, day, exact_money, rate

from .. import chart_titles, charts
from ..accounts import versions
from ..budget_sheet import chart_rows
from ..chart_titles import year_label
from ..models import BudgetFigure, BudgetVersion
from .masthead import CAUTION
from .press import press

WIDTH, HEIGHT = 690, 150
NOT_ADDED = (
    "Means add: boats to bases to the fleet, to the cent. P10, P50 and P90 do not add: each is its "
    "own total's, since not every boat and not every base has a bad year at once."
)
FORECAST = "A forecast of cost, frozen as it stood; not a liability."
CHANGED = "THE FIGURES ARE NOT THOSE THAT WERE FROZEN: somebody changed the database."
ROWS = (
    ("P90", "p90"), ("P50", "p50"), ("P10", "p10"), ("Mean", "mean"), ("of it planned", "planned"),
    ("of it expensed", "expensed"),
)  # fmt: skip


def version_paper(version: BudgetVersion, today: dt.date) -> bytes:
    """Return the PDF."""
    return press("version", contents(version, today), today)


def contents(version: BudgetVersion, today: dt.date) -> dict:
    """Return what the paper says, as words, and the chart of the frozen lines as SVG."""
    fleet, currency = version.fleet, version.currency
    lines = versions.lines(version, "fleet")
    spec = chart(version, lines)
    title = f"Budget, version {version.number}: {version.name}"
    return {
        "title": title,
        "answer": answer(version, lines),
        "fleet": fleet.name,
        "as_of": day(today),
        "currency": currency,
        "standing": marks(version),
        "models": "",
        "caution": CAUTION,
        "whole": versions.is_whole(version),
        "changed": CHANGED,
        "facts": facts(version),
        "years": [year_label(line["year"], fleet) for line in lines],
        "chart": chart_picture.svg(spec, WIDTH, HEIGHT),
        "chart_title": spec["description"],
        "rows": [
            [words, *(exact_money(line[name], currency) for line in lines)] for words, name in ROWS
        ],
        "not_added": f"{NOT_ADDED} {FORECAST}",
        "bases": bases(version),
        "variance": variance(version, today),
    }


def facts(version: BudgetVersion) -> list[list[str]]:
    planned = day(version.planned_as_of) if version.planned_as_of else "not known"
    return [
        ["Frozen on", day(version.on)],
        ["By", version.frozen_by],
        ["Rules, prices and models of", planned],
        ["Price growth", f"{rate(version.growth)} a year"],
    ]


def marks(version: BudgetVersion) -> str:
    """Return the fingerprints by which the same figures, data and models are known again."""
    models = "; ".join(f"{kind} {mark[:12]}" for kind, mark in sorted(version.rests_on.items()))
    return (
        f"Figures {version.figures_mark[:24]}; data and models {version.data_mark[:24]}. "
        f"Models: {models or 'none'}."
    )


def answer(version: BudgetVersion, lines: list[dict]) -> str:
    first, currency = lines[0], version.currency
    total = sum(line["mean"] for line in lines)
    return (
        f"In {year_label(first['year'], version.fleet)} rigging was budgeted at "
        f"{exact_money(first['mean'], currency)} {currency} on average, most likely "
        f"{about_figure(first['p10'], currency)} to {about(first['p90'], currency)}; over "
        f"{len(lines)} years at {exact_money(total, currency)} {currency}."
    )


def chart(version: BudgetVersion, lines: list[dict]) -> dict:
    """Return the budget's own chart, of the lines as they were frozen."""
    figures = [
        BudgetFigure(year=line["year"], mean_minor=line["mean"], p10_minor=line["p10"],
                     p50_minor=line["p50"], p90_minor=line["p90"])
        for line in lines
    ]  # fmt: skip
    fleet = in_currency(version)
    title = chart_titles.budget(figures, fleet, thumb=False)
    return charts.budget(chart_rows(figures, fleet), version.currency, False, title)


def in_currency(version: BudgetVersion) -> Fleet:
    """Return the fleet, not to be saved, in the currency the version was frozen in."""
    fleet = Fleet.objects.get(pk=version.fleet_id)
    fleet.currency = version.currency
    return fleet


def bases(version: BudgetVersion) -> list[dict]:
    """Return each base with its mean by year and their sum, then its own percentiles."""
    found: dict[str, list[dict]] = {}
    for line in versions.lines(version, "base"):
        found.setdefault(line["base"], []).append(line)
    return [
        {"name": name, "rows": [
            [words, *(exact_money(line[field], version.currency) for line in own)]
            for words, field in (("Mean", "mean"), ("P10", "p10"), ("P50", "p50"), ("P90", "p90"))
        ]}
        for name, own in found.items()
    ]  # fmt: skip


def variance(version: BudgetVersion, today: dt.date) -> list[list[str]]:
    """Return the years begun, with what they cost and how that stands."""
    currency = version.currency
    return [
        [row.of, *(exact_money(minor, currency) for minor in
                   (row.budget, row.p10, row.p90, row.actual, row.over)), row.within]
        for row in versions.by_year(version, today)
        if row.actual is not None
    ]  # fmt: skip

"""The replacement budget as a paper, with the page's own chart."""

from itertools import groupby

from fleet import chart_picture
from fleet.models import Fleet
from fleet.templatetags.wording import about, about_figure, exact_money, percent, rate

from .. import budget_sheet, reads
from ..accounts import behind
from ..models import BudgetFigure
from .masthead import masthead
from .press import press

WIDTH, HEIGHT = 690, 165  # px of the plot, as wide as the paper's text.
NOTE = (
    "Means add: the boats' to their base's, the bases' to the fleet's, to the cent. Percentiles do "
    "not add: each is its own total's, since not every boat has a bad year at once. This is a "
    "forecast of cost, not a liability. Working figures, not a frozen version."
)
ROWS = (
    ("P90", "p90_minor"),
    ("P50", "p50_minor"),
    ("P10", "p10_minor"),
    ("Mean", "mean_minor"),
    ("of it planned", "planned_minor"),
    ("capitalised", "capital_minor"),
    ("expensed", "expensed_minor"),
)


def budget_paper(fleet: Fleet) -> bytes:
    """Return the PDF."""
    return press("budget", contents(fleet), fleet.today())


def contents(fleet: Fleet) -> dict:
    """Return what the paper says, as words, and the chart as SVG."""
    figures = list(reads.budget(fleet, "fleet")) if reads.has_outlook(fleet) else []
    head = masthead(fleet, "Replacement budget", answer(fleet, figures))
    if not figures:
        return head | {"years": []}
    spec = budget_sheet.chart(figures, fleet)
    return head | {
        "years": [budget_sheet.year_label(figure.year, fleet) for figure in figures],
        "chart": chart_picture.svg(spec, WIDTH, HEIGHT),
        "chart_title": spec["description"],
        "rows": rows(figures, fleet),
        "bases": means(reads.budget(fleet, "base"), fleet),
        "boats": boats(fleet),
        "payers": payers(fleet),
        **ways(fleet),
        "growth": rate(fleet.price_growth),
        "note": NOTE,
    }


def answer(fleet: Fleet, figures: list[BudgetFigure]) -> str:
    if not figures:
        return "No budget yet: the fleet has not been forecast."
    first = figures[0]
    year = budget_sheet.year_label(first.year, fleet)
    return (
        f"Rigging will most likely cost {about_figure(first.p10_minor, fleet.currency)} to "
        f"{about(first.p90_minor, fleet.currency)} in {year}; "
        f"on average {about(first.mean_minor, fleet.currency)}, "
        f"{about(first.planned_minor, fleet.currency)} of it planned work."
    )


def rows(figures: list[BudgetFigure], fleet: Fleet) -> list[list[str]]:
    money = [
        [words, *(exact_money(getattr(figure, field), fleet.currency) for figure in figures)]
        for words, field in ROWS
    ]
    return [*money, ["Parts renewed", *(f"{figure.renewals:.0f}" for figure in figures)]]


def boats(fleet: Fleet) -> list[dict]:
    """Return the bases by name, each with the rows of its boats."""
    figures = reads.budget(fleet, "boat")
    return [
        {"name": own[0].base.name, "rows": means(own, fleet)}
        for _, group in groupby(figures, key=lambda figure: figure.base_id)
        if (own := list(group))
    ]


def payers(fleet: Fleet) -> list[list[str]]:
    """Return who pays with the mean of each year and their sum; nothing where one pays all."""
    rows = behind.by_payer(fleet)
    return [
        [row.name.capitalize(),
         *(exact_money(minor, fleet.currency) for minor in (*row.means, row.total))]
        for row in rows
    ] if len(rows) > 1 else []  # fmt: skip


def ways(fleet: Fleet) -> dict:
    """Return the ways to keep the rigs compared, as words, and the sentence they say."""
    rows = behind.ways(fleet)
    cells = [
        [row.get_way_display().capitalize(), exact_money(row.mean_minor, fleet.currency),
         exact_money(row.p10_minor, fleet.currency), exact_money(row.p90_minor, fleet.currency),
         f"{row.renewals:,.0f}", f"{row.failures:.1f}", percent(row.chance_failing)]
        for row in rows
    ]  # fmt: skip
    said = {"ways_title": behind.ways_words(fleet, rows), "ways_note": behind.ways_note(rows)}
    return {"ways": cells, **said}


def means(figures, fleet: Fleet) -> list[list[str]]:
    """Return name, the mean of each year and their sum, one row a base or boat."""
    return [
        [
            row["of"].name,
            *(exact_money(figure.mean_minor, fleet.currency) for figure in row["figures"]),
            exact_money(row["total"], fleet.currency),
        ]
        for row in budget_sheet.by_year(figures)
    ]

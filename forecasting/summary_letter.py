"""The summary as a message: what rigging will cost and what is renewed, with chart and papers."""

from collections.abc import Sequence
from email.utils import formataddr

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from fleet.models import Fleet
from fleet.templatetags.wording import figure as digits
from inspections.letters import Letter, picture

from . import budget_sheet, chart_titles, reads
from .models import BudgetFigure
from .papers.budget_paper import budget_paper
from .papers.masthead import rests_on
from .papers.refit_list import contents as refit_contents
from .papers.refit_list import refit_list

HEIGHT = 170  # px of the plot
YEARS = ("fiscal year", "P10", "P50", "P90", "mean")
BASES = ("base", "boats", "parts", "cannot wait", "hours", "cost")
PDF = "application/pdf"


def letter(fleet: Fleet, name: str, email: str, message_id: str) -> Letter:
    """Return the message. Draws the chart and sets two papers: only where mail is sent.

    Expects a fleet that has a budget.
    """
    figures = list(reads.budget(fleet, "fleet"))
    chart = picture(budget_sheet.chart(figures, fleet), HEIGHT)
    about = contents(fleet, figures) | {"name": name, "picture": chart}
    message = Letter(
        subject=" ".join(about["subject"].split()),
        body=render_to_string("mail/summary.txt", about),
        to=[formataddr((name, email))],
        headers={"Message-ID": message_id, "Auto-Submitted": "auto-generated"},
        pictures=[chart],
    )
    message.attach_alternative(render_to_string("mail/summary.html", about), "text/html")
    for what, paper in (("budget", budget_paper), ("refit", refit_list)):
        message.attach(f"{fleet.slug}-{what}-{fleet.today()}.pdf", paper(fleet), PDF)
    return message


def contents(fleet: Fleet, figures: Sequence[BudgetFigure]) -> dict:
    """Return what both bodies say, as words; each table's head with its rows."""
    refit = refit_contents(fleet)
    years = [year_row(figure, fleet) for figure in figures]
    bases = [base_row(base["name"], base["total"]) for base in refit["bases"]]
    if bases:
        bases.append(base_row("Together", refit["total"]))
    first = chart_titles.year_label(figures[0].year, fleet)
    span = chart_titles.span(figures[0], fleet)
    standing, models = rests_on(fleet)
    links = {
        page: settings.STAYWARD_SITE + reverse(page, args=[fleet.slug])
        for page in ("budget", "refit")
    }
    return {
        "fleet": fleet,
        "today": fleet.today(),
        "subject": f"{fleet.name}: rigging in {first}, {span}",
        "answer": f"Rigging will most likely cost {span} in {first}.",
        "refit": f"{refit['title']}: {refit['answer']}",
        "year_head": YEARS,
        "years": years,
        "year_lines": lines([YEARS, *years]),
        "base_head": BASES,
        "bases": bases,
        "base_lines": lines([BASES, *bases]),
        "standing": standing,
        "models": models,
        "links": links,
    }


def year_row(figure: BudgetFigure, fleet: Fleet) -> tuple[str, ...]:
    minor = (figure.p10_minor, figure.p50_minor, figure.p90_minor, figure.mean_minor)
    return (
        chart_titles.year_label(figure.year, fleet),
        *(digits(each, fleet.currency) for each in minor),
    )


def base_row(name: str, total: dict[str, str]) -> tuple[str, ...]:
    return (name, *(total[key] for key in ("boats", "parts", "must", "hours", "cost")))


def lines(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as lines of text whose columns stand under each other; numbers to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  ".join(
            [row[0].ljust(widths[0])]
            + [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        )
        for row in rows
    ]

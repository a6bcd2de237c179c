"""The reserve schedule as a paper, with the page's chart."""

from fleet import chart_picture
from fleet.models import Fleet
from fleet.templatetags.wording import exact_money, percent

from ..accounts import reserve as reserves
from .masthead import masthead
from .press import press
from .reserve_sheet import EMPTY, HEADERS, notes

WIDTH, HEIGHT = 400, 125  # px: beside what it says of itself, so that all is one page.


def reserve_paper(fleet: Fleet, found: reserves.Reserve | None) -> bytes:
    """Return the PDF."""
    return press("reserve", contents(fleet, found), fleet.today())


def contents(fleet: Fleet, found: reserves.Reserve | None) -> dict:
    head = masthead(fleet, "Reserve for renewals", f"{found.answer}." if found else EMPTY)
    if found is None:
        return head | {"rows": []}
    spec = reserves.chart(found)
    return head | {
        "chart": chart_picture.svg(spec, WIDTH, HEIGHT),
        "chart_title": spec["description"],
        "headers": [header.capitalize() for header in HEADERS],
        "rows": [line(each, fleet) for each in found.rows],
        "together": together(found, fleet),
        "notes": notes(found),
    }


def line(each: dict, fleet: Fleet) -> list[str]:
    found = each["line"]
    money = {
        name: exact_money(getattr(found, name), fleet.currency)
        for name in ("opening", "contribution", "interest", "expenditure", "closing")
    }
    rate = f"{float(found.rate) * 100:.2f} %"
    dry = percent(each["dry"]) if each["dry"] else "0%"
    return [found.year, money["opening"], money["contribution"], rate, money["interest"],
            money["expenditure"], money["closing"], dry]  # fmt: skip


def together(found: reserves.Reserve, fleet: Fleet) -> list[str]:
    sums = {name: exact_money(minor, fleet.currency) for name, minor in found.totals().items()}
    return ["Together", "", sums["contribution"], "", sums["interest"], sums["expenditure"], "", ""]

"""Ways to go through the match step as a browser would, for tests."""

import datetime as dt
import re
from html import unescape

from fleet.models import Fleet, Installation
from fleet.work import rounds
from tests import bosun_sheets as book
from tests import builders
from tests.inspections.test_import_page import at

D = dt.date


def two_boats() -> Fleet:
    fleet = builders.empty_fleet("harbour")
    for name in ("Tern", "Skua"):
        builders.boat(fleet, name, build_year=2005, joined=D(2005, 4, 1))
    return fleet


def text_of(response) -> str:
    return unescape(response.content.decode())


def fields_of(response) -> dict[str, str]:
    """Return the fields of the match form as a browser would send them back."""
    page = text_of(response)
    page = page[page.index('<form method="post" class="form match">') :]
    page = page[: page.index("</form>")]
    fields = {}
    for tag in re.findall(r"<input[^>]*>", page):
        name, value = (re.search(rf'\b{what}="([^"]*)"', tag) for what in ("name", "value"))
        fields[name[1]] = value[1] if value else ""
    for name, options in re.findall(r'<select name="([^"]*)".*?>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options)
        first = re.search(r'value="([^"]*)"', options)
        fields[name] = chosen[1] if chosen else first[1]
    return fields


def questions_in(response) -> list[str]:
    return re.findall(r'<li><a href="#t[^>]*>(.*?)</a>', text_of(response))


def use(client, fleet, page, **answers):
    """Answer the form and use the match; names with - written as __."""
    said = {name.replace("__", "-"): value for name, value in answers.items()}
    fields = fields_of(page) | said | {"use": "1"}
    return client.post(at("import_match", fleet), fields, follow=True)


def write(client, fleet, page, take="all"):
    found = {name: re.search(rf'name="{name}" value="([\w-]+)"', text_of(page))[1]
             for name in ("file", "match")}  # fmt: skip
    page = client.post(at("import_check", fleet), found | {"take": take}, follow=True)
    rounds.work_through()
    return client.get(page.redirect_chain[-1][0])


def parts(fleet) -> list[tuple]:
    """Return boat, place, kind, size, length, date, certainty of every part."""
    return sorted(
        (
            part.stay.boat.name, part.stay.name, part.stay.side, part.kind, part.diameter_mm,
            part.length_mm, str(part.fitted_on or ""), part.fitted_certainty,
        )
        for part in Installation.objects.of(fleet).select_related("stay__boat")
    )  # fmt: skip


def sheet(name: str) -> book.Rows:
    rows = [list(row) for row in book.ALL[name]]
    if name == "by part":
        rows[3][-1] = "age"  # Where a wire broke must be said; this sheet has no column for it.
    return rows

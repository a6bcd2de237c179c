"""Sheets of what somebody signed, decided or attached: written by the export, never read back.

A release must not be forged by a spreadsheet, nor a second signature; and the files of reports are
not in a workbook. See ``fleet.spreadsheets.written_only``.
"""

from collections.abc import Iterator
from typing import Any

from fleet.models import Fleet, Installation, Stay
from fleet.sheets import Choice, Column, Day, Layout, Text, Whole
from fleet.spreadsheets.sheet_definitions import NAME, exported
from fleet.spreadsheets.written_only import WrittenOnly

from ..followups import Competence, ConsumableOrder, Recommendation, Rejudgement, Report, Stepping
from ..models import Inspection
from .sheet_definitions import LEVEL

DAY = Day(future=True)  # Whatever stands in such a sheet, its rows are read to be compared.
PLACE = (
    Column("mast", Choice(dict(Stay.Mast.choices)), "Which mast."),
    Column("stay", Choice(dict(Stay.Name.choices)), "Which stay or shroud."),
    Column("side", Text(20), "Port or starboard."),
    Column("part", Choice(dict(Installation.Kind.choices)), "Which part."),
)


def place_of(part: Installation | None) -> dict[str, Any]:
    if part is None:
        return {}
    stay = part.stay
    return {"mast": stay.mast, "stay": stay.name, "side": stay.side, "part": part.kind}


def look_of(look: Inspection) -> dict[str, Any]:
    return {"boat": look.boat.name, "date": look.on, "level": look.level, "person": look.person}


LOOK = (
    Column("boat", NAME, "Whose."),
    Column("date", DAY, "The day of the inspection."),
    Column("level", LEVEL, "What could be seen."),
    Column("person", Text(120), "Who looked."),
)


class SecondLooks(WrittenOnly):
    """Condemned parts judged by a second person."""

    layout = Layout(
        "second looks",
        "Condemned parts judged again by a second person, who signed for it.",
        (
            *LOOK,
            *PLACE,
            Column("judgement", Choice(dict(Rejudgement.Value.choices)), "What they judged."),
            Column("what they saw", Text(600, lines=True), "In their words."),
            Column("again by", DAY, "By when to look again."),
        ),
    )
    why = (
        "A condemned part is judged again on its own page, by a rigger or surveyor who signs: no "
        "file releases a boat. Until then it is held as its condemned part asks."
    )
    fields = {"judgement": "value", "what they saw": "saw", "again by": "again_by"}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = Rejudgement.objects.of(fleet).select_related(
            "inspection__boat", "installation__stay"
        )
        order = ("inspection__boat__name", "inspection__on", "inspection__person", "installation")
        for row in found.order_by(*order):
            yield look_of(row.inspection) | place_of(row.installation) | exported(row, self.fields)


class Steppings(WrittenOnly):
    """Masts stepped, with their signatures."""

    layout = Layout(
        "steppings",
        "Masts stepped: what was checked, who signed first and second, and the re-tension.",
        (
            Column("boat", NAME, "Whose."),
            Column("date", DAY, "The day."),
            Column("checked", Text(4000), "What was signed for."),
            Column("tune", Text(300), "Readings or turns."),
            Column("first signature", Text(120), "Who checked it."),
            Column("second signature", Text(120), "Who else."),
            Column("signed second on", DAY, "When."),
            Column("re-tensioned on", DAY, "After the first hard sail."),
            Column("re-tensioned by", Text(120), "Who did it."),
        ),
    )
    why = "Each of the two who answer for a stepped mast signs on its page."
    fields = {"date": "on", "tune": "tune", "first signature": "person",
              "second signature": "second_person", "signed second on": "second_on",
              "re-tensioned on": "retensioned_on", "re-tensioned by": "retensioned_by"}  # fmt: skip

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = Stepping.objects.of(fleet).select_related("boat").order_by("boat__name", "on")
        for row in found:
            own = {"boat": row.boat.name, "checked": "; ".join(row.checked)}
            yield own | exported(row, self.fields)


class Reports(WrittenOnly):
    """Reports of others, without their files."""

    layout = Layout(
        "reports",
        "Reports of surveyors and riggers. The PDF itself is not in the workbook: download it from "
        "the boat's reports.",
        (
            Column("boat", NAME, "Whose."),
            Column("date", DAY, "Of the report."),
            Column("written by", Text(120), "Who."),
            Column("competence", Choice(dict(Competence.choices)), "Of that person."),
            Column("file", Text(200), "As it was called."),
            Column("bytes", Whole("bytes", 0, 10**9), "Its size."),
            Column("SHA-256", Text(64), "What tells that a file is this one, FIPS 180-4."),
        ),
    )
    why = "Attach the report itself, as PDF, on its boat's page."
    fields = {"date": "on", "written by": "author", "competence": "competence", "file": "name",
              "bytes": "size", "SHA-256": "sha256"}  # fmt: skip

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = Report.objects.of(fleet).select_related("boat")
        for row in found.order_by("boat__name", "on", "sha256"):
            yield {"boat": row.boat.name, **exported(row, self.fields)}


class Recommendations(WrittenOnly):
    """What reports recommend, and what became of it."""

    layout = Layout(
        "recommendations",
        "What reports recommend, followed until it is done or declined.",
        (
            Column("boat", NAME, "Whose."),
            Column("report", Text(64), "The SHA-256 of its file, as in the sheet reports."),
            Column("recommendation", Text(300), "What."),
            *PLACE,
            Column("who answers", Text(120), "For it."),
            Column("by when", DAY, "By when."),
            Column("state", Choice(dict(Recommendation.State.choices)), "Open, done, declined."),
            Column("closed on", DAY, "When."),
            Column("closed by", Text(120), "Who."),
            Column("evidence", Text(300), "Of the work, or why it was declined."),
            Column("inspection since", DAY, "The inspection that is the evidence."),
            Column("part fitted", DAY, "The day of the renewal that is the evidence."),
        ),
    )
    why = "Enter them with their report, on its page."
    fields = {"recommendation": "text", "who answers": "answers", "by when": "by_when",
              "state": "state", "closed on": "closed_on", "closed by": "closed_by",
              "evidence": "how"}  # fmt: skip

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = Recommendation.objects.of(fleet).select_related(
            "report__boat", "installation__stay", "inspection", "renewal"
        )
        order = ("report__boat__name", "report__on", "report__sha256", "by_when", "text")
        for row in found.order_by(*order):
            yield {
                "boat": row.report.boat.name,
                "report": row.report.sha256,
                "inspection since": row.inspection and row.inspection.on,
                "part fitted": row.renewal and row.renewal.fitted_on,
                **place_of(row.installation),
                **exported(row, self.fields),
            }


class Orders(WrittenOnly):
    """Small things ordered for a base."""

    layout = Layout(
        "orders",
        "Small things ordered for a base: what was found before that is not ordered again.",
        (
            Column("base", NAME, "For which."),
            Column("date", DAY, "When."),
            Column("item", Choice(dict(ConsumableOrder.Item.choices)), "What."),
            Column("pieces", Whole("pieces", 0, 10**6), "How many."),
        ),
    )
    why = "An order is noted on the page of small things, which says what counts as ordered."
    fields = {"date": "on", "item": "item", "pieces": "pieces"}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = ConsumableOrder.objects.of(fleet).select_related("base")
        for row in found.order_by("base__name", "on", "item", "pieces", "pk"):
            yield {"base": row.base.name, **exported(row, self.fields)}

"""Sheets of what stands behind the record: the fleet's own limits, what an inspection said before
it was corrected, and its photos. Written by the export, never read back."""

from collections.abc import Iterator, Mapping
from typing import Any

from fleet.models import Fleet
from fleet.sheets import Column, Layout, Text, Whole, YesNo
from fleet.spreadsheets.sheet_definitions import NAME, exported
from fleet.spreadsheets.written_only import WrittenOnly

from ..limits.versions import decisions
from ..models import InspectionVersion, Photo
from ..version_words import FACTS, fact, finding_words, verdict_word, worst_first
from .signed_sheets import DAY, LOOK, PLACE, look_of, place_of

LONGEST = 30_000  # Characters; a cell of a workbook holds 32,767.


class Limits(WrittenOnly):
    """The fleet's own limits, a row for each thing a decision changed."""

    layout = Layout(
        "limits",
        "The fleet's own limits of the signs: what each decision changed, and from when on.",
        (
            Column("holds from", DAY, "The first day judged by it."),
            Column("entered on", DAY, "When it was decided."),
            Column("decided by", Text(120), "Who."),
            Column("reason", Text(200), "Why."),
            Column("sign", Text(200), "Which sign."),
            Column("what", Text(60), "Verdict, limit or days."),
            Column("before", Text(120), "As it was."),
            Column("after", Text(120), "As it is."),
        ),
    )
    why = "A manager sets them on the page of signs and limits, for days not judged yet."
    fields = {"holds from": "since", "entered on": "entered_on", "decided by": "decided_by",
              "reason": "reason"}  # fmt: skip

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for made in decisions(fleet):
            for each in made.differences:
                said = {"sign": each.label, "what": each.what}
                said |= {"before": each.before, "after": each.after}
                yield exported(made.row, self.fields) | said


class EarlierVersions(WrittenOnly):
    """Inspections as they were before they were corrected or withdrawn."""

    layout = Layout(
        "earlier versions",
        "What an inspection said before it was corrected or withdrawn. It is not judged any more.",
        (
            Column("boat", NAME, "Whose."),
            Column("inspection", Whole("a number", 0, 10**12), "Its number."),
            Column("version", Whole("a number", 0, 10**6), "Which of its versions."),
            Column("withdrawn", YesNo(blank=None), "Or corrected."),
            Column("changed at", Text(40), "When, UTC."),
            Column("changed by", Text(120), "Who."),
            Column("why", Text(300), "Why."),
            Column("what it said", Text(LONGEST, lines=True), "Look, findings, verdicts."),
        ),
    )
    why = "An inspection is corrected on its own page; what it said before is kept there."
    fields = {"inspection": "was", "version": "number", "withdrawn": "withdrawn",
              "changed by": "by_name", "why": "why"}  # fmt: skip

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = InspectionVersion.objects.of(fleet).select_related("boat")
        for row in found.order_by("boat__name", "was", "number"):
            yield {
                "boat": row.boat.name,
                "changed at": row.at.isoformat(timespec="seconds"),
                "what it said": "\n".join(lines(row.data))[:LONGEST],
                **exported(row, self.fields),
            }


def lines(data: Mapping[str, Any]) -> Iterator[str]:
    """Yield in lines what one version of an inspection said."""
    for name, label in FACTS.items():
        yield f"{label}: {fact(name, data['look'][name])}"
    for each in data["findings"]:
        done = f", made good {each['done_on']} by {each['done_by']}" if each["done_on"] else ""
        yield f"{each['where']}: {finding_words(each)}{done}"
    for each in worst_first(data):
        again = f", again by {each['again_by']}" if each["again_by"] else ""
        said = " ".join(each["reasons"])
        yield f"{each['part']}: {verdict_word(each['value'])}{again}. {said}".strip()


class Photos(WrittenOnly):
    """Photos, without the pictures."""

    layout = Layout(
        "photos",
        "Which photos are kept of which finding. The pictures themselves are not in the workbook.",
        (
            *LOOK,
            *PLACE,
            Column("place", Text(40), "Where it was found."),
            Column("sign", Text(60), "Which sign, by its code."),
            Column("taken on", DAY, "When."),
            Column("photo", Text(40), "Its number, as in its address."),
            Column("width", Whole("pixels", 0, 10**6), "Pixels."),
            Column("height", Whole("pixels", 0, 10**6), "Pixels."),
            Column("bytes", Whole("bytes", 0, 10**9), "Its size."),
            Column("SHA-256", Text(64), "Of the file, FIPS 180-4."),
        ),
    )
    why = "Photos are taken or added with the inspection."
    fields = {"taken on": "taken_on", "width": "width", "height": "height",
              "bytes": "bytes", "SHA-256": "sha256"}  # fmt: skip

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = Photo.objects.of(fleet).select_related(
            "inspection__boat", "finding__installation__stay"
        )
        for row in found.order_by("taken_on", "pk"):
            finding = row.finding
            at = {"place": finding.place, "sign": finding.sign} if finding else {}
            yield {
                **(look_of(row.inspection) if row.inspection else {}),
                **place_of(finding.installation if finding else None),
                **at,
                "photo": str(row.pk),
                **exported(row, self.fields),
            }

"""The sheet of findings: signs at spots of parts, signs on the boat, and what was not seen."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fleet.importing import Sheet
from fleet.models import Fleet, Installation, Stay
from fleet.sheets import Choice, Column, Day, Layout, Number, Row, Table, Text, YesNo, folded
from fleet.spreadsheets.drafts import Draft, Problem
from fleet.spreadsheets.part_places import PartKey, place_of
from fleet.spreadsheets.part_sheet import Located
from fleet.spreadsheets.sheet_definitions import NAME

from ..criteria import DEFAULT, PLACES, SPOTS
from ..models import SKIPPED, Finding, Inspection, PartVerdict, VerdictValue
from ..verdicts import reach
from .finding_targets import (
    NOT_SEEN,
    WHOLE,
    Looks,
    Target,
    key_in,
    part_up_on,
    target_of,
    target_problems,
)
from .sheet_definitions import LEVEL, PERSON, not_looked_at

SIGN = Choice({code: sign.label for code, sign in DEFAULT.items()} | {NOT_SEEN: "not seen"})
PLACE = Choice(
    dict(Installation.Spot.choices) | {place: place.replace("_", " ") for place in PLACES}
)

FINDING_SHEET = Layout(
    "findings",
    "One row for each sign found, and for each part or spot that was not seen though its level "
    "could have shown it. What is not listed here was seen and found in order.",
    (
        Column("boat", NAME, "As in the sheet inspections.", True, "Guillemot"),
        Column("date", Day(), "The day of the inspection.", True, "2024-03-12"),
        Column("level", LEVEL, "Of the inspection; blank if the boat had only one that day.",
               example="aloft"),
        Column("person", PERSON, "Who looked; blank if there is only one such inspection.",
               example="R. Example"),
        Column("mast", Choice(dict(Stay.Mast.choices), blank="main"), "Blank: main mast.",
               example="main mast"),
        Column("stay", Choice(dict(Stay.Name.choices)), "Which stay; blank for a place of the "
               "boat.", example="cap shroud"),
        Column("side", Choice({"port": "port", "starboard": "starboard"},
                              also={"centre": "", "center": "", "stbd": "starboard"}),
               "Port or starboard; blank: centre.", example="port"),
        Column("part", Choice(dict(Installation.Kind.choices)), "Blank: the kind of part the sign "
               "belongs to, else the wire.", example="wire"),
        Column("place", PLACE, "Lower end, wire or upper end of a wire; whole part; or a place of "
               "the boat.", example="lower end"),
        Column("sign", SIGN, "The sign in the words of the criteria; or “not seen”, with the "
               "reason as the note.", True, DEFAULT["rust_at_mouth"].label),
        Column("measure", Number("the measure", 0, 1_000_000), "In the unit of the sign.",
               example="0.2"),
        Column("cleaned", YesNo(blank=None), "Whether it came away when cleaned; blank: not tried.",
               example="yes"),
        Column("note", Text(300), "Anything else.", example="Cleaned with a plastic brush."),
        Column("made good on", Day(), "When it was put right.", example="2024-03-20"),
        Column("made good by", Text(120), "Who put it right.", example="B. Example"),
    ),
)  # fmt: skip
FIELDS = {
    "measure": "measure",
    "cleaned": "cleaned",
    "note": "note",
    "made good on": "done_on",
    "made good by": "done_by",
}


class Findings(Sheet):
    """Findings. Without all of its findings an inspection would say that all was well: it is
    taken with all of them or not at all."""

    layout = FINDING_SHEET
    model = Finding
    needs = ("boats", "parts", "inspections")

    def stored(self, fleet: Fleet) -> dict[tuple, Finding]:
        findings = Finding.objects.filter(inspection__boat__fleet=fleet).select_related(
            "inspection__boat", "installation__stay"
        )
        return {stored_key(finding): finding for finding in findings}

    def key(self, row: Row) -> tuple:
        return (row.number,)  # Nothing refers to a finding.

    def plan(self, table: Table, draft: Draft) -> None:
        looks = Looks(draft)
        wrong = {row.number: list(finding_problems(row, looks, draft)) for row in table.rows}
        self._refuse_repeats(table, wrong, looks, draft)
        blamed = looks.left_out([*table.bad, *(row for row in table.rows if wrong[row.number])])
        for row in table.rows:
            if not wrong[row.number] and (cause := blamed.get(looks.key_of(row))):
                wrong[row.number] = [Problem(
                    "sign", f"It goes with row {cause} of the same inspection, which has a fault.",
                    "Put that row right first.",
                )]  # fmt: skip
            if wrong[row.number]:
                draft.refuse(self.layout, row, wrong[row.number])
        looks.take_back(blamed)
        for row in table.rows:
            if not wrong[row.number]:
                self._put(target_of(row, draft), row, looks.of(row), draft)
        self._put_not_looked_at(looks, draft)

    def _refuse_repeats(
        self, table: Table, wrong: dict[int, list[Problem]], looks: "Looks", draft: Draft
    ) -> None:
        first: dict[tuple, int] = {}
        for row in table.rows:
            if not wrong[row.number]:
                key = finding_key(looks.of(row), target_of(row, draft), row["sign"])
                if first.setdefault(key, row.number) != row.number:
                    wrong[row.number] = [self.twice(first[key])]

    def _put(self, target: Target, row: Row, look: Inspection, draft: Draft) -> None:
        said = {name: row[header] for header, name in FIELDS.items() if header in row}
        self._put_finding(target, look, row["sign"], said, draft)

    def _put_not_looked_at(self, looks: "Looks", draft: Draft) -> None:
        for row, look in looks.good_rows():
            for mast, stay, side in not_looked_at(row, draft):
                for kind in SPOTS:
                    key = (folded(row["boat"]), mast, stay, side, kind)
                    part = part_up_on(draft, key, row["date"])
                    if part and reach(row["level"], kind, part.stay.in_foil):
                        target, said = Target(part, WHOLE), {"note": SKIPPED}
                        self._put_finding(target, look, NOT_SEEN, said, draft)

    def _put_finding(
        self, target: Target, look: Inspection, sign: str, said: dict[str, Any], draft: Draft
    ) -> None:
        known = draft.known[self.name]
        key = finding_key(look, target, sign)
        values = {
            "inspection": look, "installation": target.part, "place": target.place,
            "side": target.side, "sign": sign, **said,
        }  # fmt: skip
        known[key], state = draft.put(Finding, known.get(key), values)
        draft.counts[self.name].add(state)
        if state != "same":
            draft.touch(look.boat)

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        findings = sorted(self.stored(fleet).values(), key=export_order)
        for finding in findings:
            look, part = finding.inspection, finding.installation
            where = {"side": finding.side}
            if part is not None:
                stay = part.stay
                where = {"mast": stay.mast, "stay": stay.name, "side": stay.side, "part": part.kind}
            yield {
                "boat": look.boat.name,
                "date": look.on,
                "level": look.level,
                "person": look.person,
                **where,
                "place": finding.place,
                "sign": finding.sign,
                **{header: getattr(finding, name) for header, name in FIELDS.items()},
            }


def identity(made: Any) -> Any:
    """Return what tells an object from others, stored or not yet."""
    return None if made is None else made.pk or f"new {id(made)}"


def finding_key(look: Inspection, target: Target, sign: str) -> tuple:
    return identity(look), identity(target.part), target.place, target.side, sign


def stored_key(finding: Finding) -> tuple:
    part = finding.installation_id
    return finding.inspection_id, part, finding.place, finding.side, finding.sign


def export_order(finding: Finding) -> tuple:
    look, part = finding.inspection, finding.installation
    stay = (part.stay.mast, part.stay.name, part.stay.side, part.kind) if part else ()
    return (
        look.boat.name, look.on, look.level, look.person, stay, finding.place, finding.side,
        finding.sign,
    )  # fmt: skip


def finding_problems(row: Row, looks: Looks, draft: Draft) -> Iterator[Problem]:
    """Yield what is wrong with a row whose cells could all be read."""
    unknown = list(draft.refers("boats", "boat", row["boat"]))
    if unknown:
        yield from unknown
        return
    yield from looks.problems(row)
    yield from target_problems(row, draft)
    done = row.get("made good on")
    if done and done < row["date"]:
        yield Problem("made good on", f"It was found later, on {row['date']}.", "Correct one.")
    if row.get("made good by") and not done:
        yield Problem("made good on", "Somebody made it good, and no day is given.", "Write it.")


def condemned_where(draft: Draft) -> Located:
    """Return whether a finding, of the file or on record, says where a wire was condemned."""
    days: dict[PartKey, list[dt.date]] = {}
    for row in draft.table(FINDING_SHEET.name).rows:
        sign = DEFAULT.get(row["sign"])
        if sign and sign.outcome == VerdictValue.REPLACE and row.get("stay") and row.get("place"):
            days.setdefault(key_in(row, "wire"), []).append(row["date"])
    on_record = PartVerdict.objects.filter(
        inspection__boat__fleet=draft.fleet, value=VerdictValue.REPLACE, installation__kind="wire"
    ).exclude(spot="")
    for verdict in on_record.select_related("inspection", "installation__stay__boat"):
        days.setdefault(place_of(verdict.installation), []).append(verdict.inspection.on)

    def located(key: PartKey, fitted: dt.date | None, removed: dt.date) -> bool:
        return any((fitted or dt.date.min) <= day <= removed for day in days.get(key, ()))

    return located

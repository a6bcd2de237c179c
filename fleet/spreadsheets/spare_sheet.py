"""The sheet of parts in store: what lies there, what was taken out, and what of it is fitted."""

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from typing import Any

from ..importing import Sheet
from ..models import Fleet, Installation, Spare, Stay
from ..sheets import Choice, Column, Day, Layout, Row, Table, Text, YesNo, folded
from .drafts import Draft, Problem
from .part_places import PartKey
from .part_sheet import HAND, LENGTH, SIZE, TERMINAL
from .sheet_definitions import NAME, exported, said

SPARE_SHEET = Layout(
    "spares",
    "One row for each part kept ready in store, those taken out too. Two alike are two rows.",
    (
        Column("base", NAME, "Where it lies, as in the sheet bases.", True, "North quay"),
        Column("part", Choice(dict(Installation.Kind.choices), blank="wire"), "Blank: wire.",
               example="wire"),
        Column("construction", Choice(dict(Installation.Construction.choices)),
               "Of a wire; blank: not known.", example="1x19"),
        Column("alloy", Text(30), "As on the certificate.", example="AISI 316"),
        Column("diameter mm", SIZE, "Of the wire, or the thread of a turnbuckle.", example="8"),
        Column("pin to pin mm", LENGTH, "Length between pins.", example="13250"),
        Column("lower terminal", TERMINAL, "Blank: not known.", example="swaged"),
        Column("upper terminal", TERMINAL, "Blank: not known.", example="T- or ball-end"),
        Column("pin mm", SIZE, "Diameter of the clevis pin.", example="16"),
        Column("thread", Text(40), "As written on it or on its invoice.", example="M16"),
        Column("thread hand", HAND, "Which way the thread runs; blank: not known.",
               example="right-hand"),
        Column("mast end fitting", Text(60), "What its upper end goes into at the mast.",
               example="slotted plate"),
        Column("batch", Text(60), "Of the wire or terminal.", example="B77"),
        Column("invoice", Text(60), "Number of the invoice.", example="R-1041"),
        Column("in store since", Day(), "The day it came.", True, "2025-11-03"),
        Column("where it lies", Text(80), "Shelf or box.", example="loft, left"),
        Column("taken", Day(), "The day it was taken out; blank while it is there."),
        Column("taken by", Text(120), "Who took it."),
        Column("taken for", Text(200), "What for."),
        Column("withdrawn", YesNo(), "Whether it was not there to be used: lost, unfit, counted "
               "twice; “taken for” says why."),
        Column("fitted boat", NAME, "The boat it was fitted on, if it was."),
        Column("fitted mast", Choice(dict(Stay.Mast.choices), blank="main"), "Blank: main mast."),
        Column("fitted stay", Choice(dict(Stay.Name.choices)), "Which stay."),
        Column("fitted side", Choice({"port": "port", "starboard": "starboard"}),
               "Port or starboard; blank: centre."),
        Column("fitted on", Day(), "The day the part there was fitted, as in the sheet parts."),
    ),
)  # fmt: skip

OF_THE_PART = {
    "part": "kind", "construction": "construction", "alloy": "alloy", "diameter mm": "diameter_mm",
    "pin to pin mm": "length_mm", "lower terminal": "lower_terminal",
    "upper terminal": "upper_terminal", "pin mm": "pin_mm", "thread": "thread",
    "thread hand": "hand", "mast end fitting": "mast_end", "batch": "batch", "invoice": "invoice",
    "in store since": "stored_on",
}  # fmt: skip
OUT = {"taken": "taken_on", "taken by": "taken_by", "taken for": "taken_for",
       "withdrawn": "withdrawn"}  # fmt: skip
FITTED = ("fitted boat", "fitted stay")


class Spares(Sheet):
    """Parts in store. What is the same in all that describes it is the same part, counted; what was
    taken out of store since a file was made stays out."""

    layout = SPARE_SHEET
    model = Spare
    needs = ("bases", "boats", "parts")

    def stored(self, fleet: Fleet) -> dict[tuple, Spare]:
        rows = Spare.objects.of(fleet).select_related("base", "fitted_as__stay__boat")
        nth: Counter = Counter()
        found = {}
        # Those fitted or taken first: of two alike a file names them so too.
        for row in sorted(rows, key=order):
            own = (folded(row.base.name), *(getattr(row, name) for name in OF_THE_PART.values()))
            nth[own] += 1
            found[*own, nth[own]] = row
        return found

    def key(self, row: Row) -> tuple:
        """Return what describes the part; ``plan`` adds which of those alike it is."""
        return (
            folded(row["base"]),
            *(row.get(header, self.layout[header].kind.blank) for header in OF_THE_PART),
        )

    def plan(self, table: Table, draft: Draft) -> None:
        nth: Counter = Counter()
        known = draft.known[self.name]
        for row in sorted(table.rows, key=lambda row: (row.get("taken") is None, row.number)):
            problems = list(self.check(row, draft))
            if problems:
                draft.refuse(self.layout, row, problems)
                continue
            own = self.key(row)
            nth[own] += 1
            before = known.get((*own, nth[own]))
            made, state = draft.put(Spare, before, self.values_for(row, before, draft))
            known[*own, nth[own]] = made
            draft.counts[self.name].add(state)

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        yield from draft.refers("bases", "base", row["base"])
        taken = row.get("taken")
        if taken and not row.get("taken by"):
            yield Problem("taken by", "It was taken out; nobody is named.", "Write who took it.")
        if taken and taken < row["in store since"]:
            yield Problem("taken", "It was not in store yet.", "Correct one of the two days.")
        if row.get("withdrawn") and not (taken and row.get("taken for")):
            yield Problem("withdrawn", "It is not said when and why.",
                          "Fill “taken”, “taken by” and “taken for”.")  # fmt: skip
        if any(row.get(header) for header in (*FITTED, "fitted on")):
            yield from self._fitted_problems(row, draft)

    def _fitted_problems(self, row: Row, draft: Draft) -> Iterator[Problem]:
        if not all(row.get(header) for header in FITTED):
            yield Problem("fitted stay", "Where it was fitted is not said in full.",
                          "Fill “fitted boat” and “fitted stay”, or empty them.")  # fmt: skip
        elif not row.get("taken") or row.get("withdrawn"):
            yield Problem("taken", "It is fitted on a boat, and so it was taken out for that.",
                          "Write the day and who took it.")  # fmt: skip
        elif fitted_as(row, draft) is None:
            yield Problem("fitted on", "No such part was fitted there on that day.",
                          "Write place and day as in the sheet parts.")  # fmt: skip

    def values_for(self, row: Row, before: Spare | None, draft: Draft) -> dict[str, Any]:
        """Return the fields of a row; one on record as taken out keeps how it went."""
        values = {"base": draft.find("bases", row["base"]), "stored_on": row["in store since"]}
        values |= said(row, OF_THE_PART | {"where it lies": "place"})
        if before is None or before.taken_on is None:
            values |= said(row, OUT)
            if all(row.get(header) for header in FITTED):
                values["fitted_as"] = fitted_as(row, draft)
        return values

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for spare in sorted(self.stored(fleet).values(), key=order):
            part = spare.fitted_as
            where = {} if part is None else {
                "fitted boat": part.stay.boat.name,
                "fitted mast": part.stay.mast,
                "fitted stay": part.stay.name,
                "fitted side": part.stay.side,
                "fitted on": part.fitted_on,
            }  # fmt: skip
            yield {
                "base": spare.base.name,
                "where it lies": spare.place,
                **exported(spare, OF_THE_PART | OUT),
                **where,
            }


def order(spare: Spare) -> tuple:
    taken = spare.taken_on or dt.date.max
    described = (str(getattr(spare, name)) for name in OF_THE_PART.values())
    part = spare.fitted_as
    where = (part.stay.boat.name, str(part), str(part.fitted_on)) if part else ()
    return (
        spare.base.name, taken, *described, spare.place, spare.taken_by, spare.taken_for, where
    )  # fmt: skip


def fitted_as(row: Row, draft: Draft) -> Installation | None:
    """Return the part on a boat that came out of store, as far as it is not another one's."""
    key: PartKey = (
        folded(row["fitted boat"]), row.get("fitted mast") or "main", row["fitted stay"],
        row.get("fitted side") or "", row.get("part") or "wire",
    )  # fmt: skip
    parts = draft.known["parts"].get(key, ())
    return next((part for part in parts if part.fitted_on == row.get("fitted on")), None)

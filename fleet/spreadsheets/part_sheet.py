"""The sheet of parts: rows into stays and the parts fitted there one after the other."""

import datetime as dt
from collections.abc import Callable, Iterator
from typing import Any

from .. import rig_patterns
from ..importing import Sheet
from ..models import Boat, Fleet, Installation, Stay
from ..sheets import (
    Choice,
    Column,
    Day,
    DayOrYear,
    Layout,
    Number,
    Row,
    Table,
    Text,
    Whole,
    YesNo,
    folded,
)
from .drafts import Draft, Problem
from .part_places import FilePart, PartKey, Places, place_of

WHOLE_RIG = "whole_rig"
EVERY = "every "  # "every Sloop 38": a whole rig for each boat of that design.
BOTH = "both"

LENGTH = Whole("mm", 1, 200_000)
SIZE = Number("mm", 0.1, 200)
HAND = Choice(
    dict(Installation.Hand.choices), also={"rh": "right", "lh": "left", "right and left": "both"}
)
TERMINAL = Choice(dict(Installation.Terminal.choices))
STAY = Choice({**dict(Stay.Name.choices), WHOLE_RIG: "whole rig"})
SIDE = Choice(
    {"port": "port", "starboard": "starboard", BOTH: "both"},
    also={"centre": "", "center": "", "stbd": "starboard"},
)

PART_SHEET = Layout(
    "parts",
    "One row for each part, from fitting to removal, removed ones too. A whole rig can be one row: "
    "write “whole rig” as the stay, and “every Sloop 38” as the boat for all boats of a design.",
    (
        Column("boat", Text(90), "As in the sheet boats; for a whole rig also “every” and a "
               "design.", True, "Guillemot"),
        Column("mast", Choice(dict(Stay.Mast.choices), blank="main"), "Blank: main mast.",
               example="main mast"),
        Column("stay", STAY, "Which stay or shroud.", True, "cap shroud"),
        Column("side", SIDE, "Port, starboard, or both for the same part twice; blank: centre.",
               example="port"),
        Column("part", Choice(dict(Installation.Kind.choices), blank=None),
               "Blank: wire; for a whole rig: all three kinds.", example="wire"),
        Column("inside foil", YesNo(blank=None), "Whether the wire runs inside a furler foil.",
               example="no"),
        Column("construction", Choice(dict(Installation.Construction.choices)),
               "Of the wire; blank: not known.", example="1x19"),
        Column("alloy", Text(30), "As on the certificate.", example="AISI 316"),
        Column("diameter mm", SIZE, "Of the wire, or the thread of a turnbuckle.", example="8"),
        Column("pin to pin mm", LENGTH, "Length between pins.", example="13250"),
        Column("lower terminal", TERMINAL, "Blank: not known.", example="swaged"),
        Column("upper terminal", TERMINAL, "Blank: not known.", example="T- or ball-end"),
        Column("pin mm", SIZE, "Diameter of the clevis pin.", example="16"),
        Column("thread", Text(40), "Of a turnbuckle, or of a terminal that screws in.",
               example="M16"),
        Column("thread hand", HAND, "Which way the thread runs; blank: not known.",
               example="right- and left-hand"),
        Column("mast end fitting", Text(60), "What its upper end goes into at the mast.",
               example="slotted plate"),
        Column("adjuster setting", Text(60), "How far its turnbuckle stood open at that length.",
               example="half open, 60 mm in sight"),
        Column("fitted", DayOrYear(), "The day, or the year alone; blank: not known.",
               example="2016-03-14"),
        Column("date certainty", Choice(dict(Installation.Certainty.choices)), "How the date is "
               "known. Blank: a day is from invoice or log, a year known to the year.",
               example="invoice or log"),
        Column("invoice", Text(60), "Number of the invoice: the proof of age.", example="R-1041"),
        Column("batch", Text(60), "Of the wire or terminal.", example="B77"),
        Column("fitter", Text(120), "Who fitted it.", example="Example Rigging"),
        Column("removed", Day(), "The day it came off; blank while it is up.",
               example="2026-02-10"),
        Column("removal reason", Choice(dict(Installation.Removal.choices)),
               "Why; blank: unknown.", example="failed in service"),
        Column("place", Choice(dict(Installation.Spot.choices)),
               "Where it was condemned or failed.", example="lower end"),
        Column("renewal needs proof", YesNo(), "Whether it held its boat, condemned or failed: "
               "then day, invoice and fitter of the part after it are asked for.", example="no"),
    ),
)  # fmt: skip

FIELDS = {
    "construction": "construction",
    "alloy": "alloy",
    "diameter mm": "diameter_mm",
    "pin to pin mm": "length_mm",
    "lower terminal": "lower_terminal",
    "upper terminal": "upper_terminal",
    "pin mm": "pin_mm",
    "thread": "thread",
    "thread hand": "hand",
    "mast end fitting": "mast_end",
    "adjuster setting": "adjuster",
    "invoice": "invoice",
    "batch": "batch",
    "fitter": "fitter",
}
ENDED_AT_A_SPOT = ("condemned", "failed_in_service", "looked_poor")
NEEDS_A_SPOT = ("condemned", "failed_in_service")

Located = Callable[[PartKey, dt.date | None, dt.date], bool]


def nowhere(key: PartKey, fitted: dt.date | None, removed: dt.date) -> bool:
    return False


class Parts(Sheet):
    """Parts. ``located`` tells whether a finding says where a part was condemned."""

    layout = PART_SHEET
    model = Installation
    needs = ("boats",)
    first = True

    def __init__(self, located: Callable[[Draft], Located] = lambda draft: nowhere) -> None:
        self.located = located

    def stored(self, fleet: Fleet) -> dict[PartKey, list[Installation]]:
        """Return the parts of each place in order of fitting."""
        parts = Installation.objects.of(fleet).select_related("stay__boat").order_by(
            "stay__boat__name", "stay__mast", "stay__name", "stay__side", "kind", "fitted_on", "pk"
        )  # fmt: skip
        places: dict[PartKey, list[Installation]] = {}
        for part in parts:
            places.setdefault(place_of(part), []).append(part)
        return places

    def key(self, row: Row) -> PartKey:
        return (
            folded(row["boat"]), row.get("mast", "main"), row["stay"],
            row.get("side") or "", row.get("part") or "wire",
        )  # fmt: skip

    def plan(self, table: Table, draft: Draft) -> None:
        located = self.located(draft)
        places = Places(draft, self.layout)
        for row in table.rows:
            problems = list(self.check(row, draft))
            parts = [] if problems else list(parts_of(row, draft))
            for part in parts:
                problems += part_problems(part, located, draft.today)
            if problems:
                places.refuse(row, problems)
                draft.bad[self.name][self.key(row)] = row.number
            places.parts += parts
        places.settle()

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        boats = list(boat_problems(row, draft))
        yield from boats
        stay, side = row["stay"], row.get("side") or ""
        if stay in rig_patterns.PAIRED and not side:
            yield Problem("side", "These stand in pairs.", "Write port, starboard or both.")
        if stay == WHOLE_RIG and (side or row.get("mast", "main") != "main"):
            yield Problem("stay", "A whole rig has no one side or mast.", "Empty side and mast.")
        if not boats and stay != WHOLE_RIG and row.get("mast") == "mizzen":
            boat = draft.find("boats", row["boat"])
            if boat.rig != Boat.Rig.KETCH:
                wrong = f"{boat.name} is a {boat.rig} and has no mizzen mast."
                yield Problem("mast", wrong, "Leave it blank, or make the boat a ketch in boats.")
        yield from date_problems(row)

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for parts in self.stored(fleet).values():
            for part in parts:
                yield exported_part(part)


def boat_problems(row: Row, draft: Draft) -> Iterator[Problem]:
    word = row["boat"]
    if not is_for_every(row):
        yield from draft.refers("boats", "boat", word)
    elif not boats_of(row, draft):
        wrong = f"No boat has the design “{word[len(EVERY) :]}”."
        yield Problem("boat", wrong, "Write “every” and a design as in the sheet boats.")


def is_for_every(row: Row) -> bool:
    return row["stay"] == WHOLE_RIG and row["boat"].casefold().startswith(EVERY)


def boats_of(row: Row, draft: Draft) -> list[Boat]:
    if not is_for_every(row):
        return [draft.find("boats", row["boat"])]
    design = folded(row["boat"][len(EVERY) :])
    return [boat for boat in draft.known["boats"].values() if folded(boat.design) == design]


def date_problems(row: Row) -> Iterator[Problem]:
    """Yield what is wrong with the dates of a row, taken by themselves."""
    fitted, certainty = row.get("fitted"), row.get("date certainty", "")
    removed, reason = row.get("removed"), row.get("removal reason", "")
    if fitted is None and certainty not in ("", "unknown"):
        yield Problem("date certainty", "There is no date it could be said of.",
                      "Write when the part was fitted, or “unknown”.")  # fmt: skip
    if isinstance(fitted, int) and certainty == "day":
        yield Problem("fitted", "A year alone is not a day.",
                      "Write the day, or “known to the year” as the certainty.")  # fmt: skip
    if reason and removed is None:
        yield Problem("removed", "A reason is given and no day.", "Write when the part came off.")
    if row.get("place") and reason not in ENDED_AT_A_SPOT:
        yield Problem("place", "Only a part that was condemned, looked poor or failed has a place.",
                      "Empty the place, or correct the reason.")  # fmt: skip


def parts_of(row: Row, draft: Draft) -> Iterator[FilePart]:
    """Yield the parts one row stands for."""
    said = common(row)
    if row["stay"] == WHOLE_RIG:
        yield from pattern_parts(row, said, draft)
        return
    boat = draft.find("boats", row["boat"])
    side = row.get("side") or ""
    for each in rig_patterns.SIDES if side == BOTH else (side,):
        place = (row.get("mast", "main"), row["stay"], each)
        yield FilePart(row, boat, place, row.get("part") or "wire", **said)


def pattern_parts(row: Row, said: dict[str, Any], draft: Draft) -> Iterator[FilePart]:
    kinds = (row["part"],) if row.get("part") else rig_patterns.KINDS
    values = said.pop("values")
    flat = {**values, **said}
    for boat in boats_of(row, draft):
        for part in rig_patterns.expand(rig_facts(boat), flat, kinds):
            dates = {name: part.said[name] for name in said}
            shared = {name: part.said[name] for name in values}
            yield FilePart(row, boat, part.place, part.kind, values=shared, pattern=True, **dates)


def rig_facts(boat: Boat) -> rig_patterns.RigFacts:
    return rig_patterns.RigFacts(
        boat.name, boat.rig, boat.fractional, boat.spreader_pairs, boat.build_year, boat.design
    )


def common(row: Row) -> dict[str, Any]:
    """Return what a row says of its part or parts, dates and certainty made definite."""
    fitted, certainty = row.get("fitted"), row.get("date certainty", "")
    if isinstance(fitted, int):
        fitted, certainty = dt.date(fitted, 7, 1), certainty or "year"
    elif not certainty:
        certainty = "unknown" if fitted is None else "day"
    removed = row.get("removed")
    return {
        "fitted": fitted,
        "certainty": certainty,
        "removed": removed,
        "reason": (row.get("removal reason") or "unknown") if removed else "",
        "spot": row.get("place", ""),
        "proof_due": bool(row.get("renewal needs proof")),
        "foil": row.get("inside foil"),
        "values": {name: row[header] for header, name in FIELDS.items() if header in row},
    }


def part_problems(part: FilePart, located: Located, today: dt.date) -> Iterator[Problem]:
    """Yield what is wrong with one part and its boat."""
    fitted, removed, year_alone = part.fitted, part.removed, isinstance(part.row.get("fitted"), int)
    if fitted and fitted > today:
        yield Problem("fitted", f"A year alone stands for 1 July, and {fitted} is still to come.",
                      "Write the day it was fitted.")  # fmt: skip
    slack = 2 if part.certainty == "estimated" else 0
    if fitted and fitted.year < part.boat.build_year - slack:
        yield Problem("fitted", f"{part.boat.name} was built later, in {part.boat.build_year}.",
                      "Correct the date, or the build year in the sheet boats.")  # fmt: skip
    if fitted and removed and removed < fitted:
        right = "Write the day it was fitted: a year alone stands for 1 July."
        yield Problem("removed", f"It came off before it was fitted, on {fitted}.",
                      right if year_alone else "Correct one of the two.")  # fmt: skip
    yield from spot_problems(part, located)


def spot_problems(part: FilePart, located: Located) -> Iterator[Problem]:
    wire = part.kind == "wire"
    if part.spot and wire == (part.spot == "whole") and not part.pattern:
        right = "Write lower end, wire or upper end." if wire else "Write whole part."
        yield Problem("place", f"A {part.kind} has no such place.", right)
    unsaid = wire and not part.spot and part.reason in NEEDS_A_SPOT
    if unsaid and not located(part.key, part.fitted, part.removed):
        yield Problem("place", "It is not said where the wire was condemned or failed.",
                      "Write lower end, wire or upper end; or give the finding in the sheet "
                      "findings; or write “unknown” as the reason.")  # fmt: skip


def exported_part(part: Installation) -> dict[str, Any]:
    stay, fitted = part.stay, part.fitted_on
    if part.fitted_certainty == "year" and (fitted.month, fitted.day) == (7, 1):
        fitted = fitted.year
    return {
        "boat": stay.boat.name,
        "mast": stay.mast,
        "stay": stay.name,
        "side": stay.side,
        "part": part.kind,
        "inside foil": stay.in_foil,
        "fitted": fitted,
        "date certainty": part.fitted_certainty,
        "removed": part.removed_on,
        "removal reason": part.removal_reason,
        "place": part.removal_spot,
        "renewal needs proof": part.proof_due,
        **{header: getattr(part, name) for header, name in FIELDS.items()},
    }

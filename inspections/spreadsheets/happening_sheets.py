"""The sheets of what happened: parts that let go, moves to a yard, what skippers said.

None of them releases a boat: a part that let go holds it by its own removal, in the sheet parts.
"""

from collections.abc import Iterator
from typing import Any

from fleet.importing import Sheet
from fleet.models import Fleet, Installation, Stay
from fleet.sheets import Choice, Column, Day, Layout, Row, Text, Whole, YesNo, folded
from fleet.spreadsheets.drafts import Draft, Problem
from fleet.spreadsheets.part_places import PartKey, place_of
from fleet.spreadsheets.sheet_definitions import NAME, exported, said

from ..followups import Failure, YardMove
from ..models import HandIn

FAILED = Installation.Removal.FAILED
PLACE = (
    Column("mast", Choice(dict(Stay.Mast.choices), blank="main"), "Blank: main mast.",
           example="main mast"),
    Column("stay", Choice(dict(Stay.Name.choices)), "Which stay or shroud.", True, "cap shroud"),
    Column("side", Choice({"port": "port", "starboard": "starboard"},
                          also={"centre": "", "center": "", "stbd": "starboard"}),
           "Port or starboard; blank: centre.", example="port"),
    Column("part", Choice(dict(Installation.Kind.choices), blank="wire"), "Blank: wire.",
           example="wire"),
)  # fmt: skip


class OfBoats(Sheet):
    """A sheet whose rows are of one boat each, and are the same if they say the same."""

    fields: dict[str, str]
    of: tuple[str, ...]  # The headers that, with the boat, tell a row from others.

    def key(self, row: Row) -> tuple:
        own = (row.get(header, self.layout[header].kind.blank) for header in self.of)
        return folded(row["boat"]), *(self._folded(value) for value in own)

    def stored(self, fleet: Fleet) -> dict[tuple, Any]:
        rows = self.model.objects.of(fleet).select_related("boat").order_by("boat__name", "pk")
        found = {}
        for made in rows:
            own = (self._folded(getattr(made, self.fields[header])) for header in self.of)
            found.setdefault((folded(made.boat.name), *own), made)
        return found

    @staticmethod
    def _folded(value: Any) -> Any:
        return folded(value) if isinstance(value, str) else value

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        yield from draft.refers("boats", "boat", row["boat"])

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        return {"boat": draft.find("boats", row["boat"]), **said(row, self.fields)}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        made = self.stored(fleet).values()
        for each in sorted(made, key=lambda one: (one.boat.name, one.on, *self._words(one))):
            yield {"boat": each.boat.name, **exported(each, self.fields)}

    def _words(self, made: Any) -> tuple[str, ...]:
        return tuple(str(getattr(made, name)) for name in self.fields.values())


class YardMoves(OfBoats):
    """Moves of held boats to a yard."""

    layout = Layout(
        "yard moves",
        "Held boats taken to a yard under engine, without guests. They release nothing.",
        (
            Column("boat", NAME, "As in the sheet boats.", True, "Guillemot"),
            Column("date", Day(), "The day.", True, "2024-03-14"),
            Column("from", Text(120), "Where it lay.", True, "North quay"),
            Column("to", Text(120), "Which yard.", True, "Example Yard"),
            Column("skipper", Text(120), "Who took it.", True, "B. Example"),
            Column("weather", Text(300), "Forecast, and as it was.", True, "SW 3, calm in the bay"),
            Column("under engine, no guests", YesNo(blank=None), "Yes: any other voyage of a held "
                   "boat is not allowed.", True, "yes"),
        ),
    )  # fmt: skip
    model = YardMove
    needs = ("boats",)
    fields = {"date": "on", "from": "origin", "to": "destination", "skipper": "skipper",
              "weather": "weather"}  # fmt: skip
    of = ("date", "from", "to")

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        yield from super().check(row, draft)
        if not row["under engine, no guests"]:
            yield Problem("under engine, no guests", "Such a voyage of a held boat is not allowed.",
                          "Leave the row out, and talk to whoever made it.")  # fmt: skip

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for values in super().rows(fleet):
            yield values | {"under engine, no guests": True}


class HandIns(OfBoats):
    """What skippers said on handing a boat in."""

    layout = Layout(
        "hand-ins",
        "What skippers said on handing a boat in. A note of damage asks for a look; it is none.",
        (
            Column("boat", NAME, "As in the sheet boats.", True, "Guillemot"),
            Column("date", Day(), "The day.", True, "2024-08-03"),
            Column("miles", Whole("nautical miles", 0, 100_000), "Sailed, as far as said.",
                   example="310"),
            Column("note", Text(300), "Damage, in a line.", example="kink in the backstay"),
        ),
    )  # fmt: skip
    model = HandIn
    needs = ("boats",)
    fields = {"date": "on", "miles": "miles", "note": "note"}
    of = ("date", "miles", "note")


class Failures(Sheet):
    """What is told of parts that let go. That they did stands in the sheet parts."""

    layout = Layout(
        "failures",
        "What happened when a part let go. The part stands in the sheet parts, removed that day, "
        "with “failed in service” as the reason.",
        (
            Column("boat", NAME, "As in the sheet boats.", True, "Guillemot"),
            *PLACE,
            Column("date", Day(), "The day it let go.", True, "2026-02-10"),
            Column("what happened", Text(300), "In a line.", True, "parted in a gybe"),
            Column("told by", Text(120), "Who says so.", True, "S. Example"),
        ),
    )  # fmt: skip
    model = Failure
    needs = ("boats", "parts")
    fields = {"what happened": "what", "told by": "person"}

    def key(self, row: Row) -> tuple[PartKey, Any]:
        return (
            folded(row["boat"]), row.get("mast", "main"), row["stay"], row.get("side", ""),
            row.get("part", "wire"),
        ), row["date"]  # fmt: skip

    def stored(self, fleet: Fleet) -> dict[tuple[PartKey, Any], Failure]:
        rows = Failure.objects.of(fleet).filter(
            installation__removal_reason=FAILED, installation__removed_on__isnull=False
        )
        rows = rows.select_related("installation__stay__boat")
        return {(place_of(row.installation), row.installation.removed_on): row for row in rows}

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        unknown = list(draft.refers("boats", "boat", row["boat"]))
        yield from unknown
        if not unknown and self._part(row, draft) is None:
            wrong = "No part there is on record as failed in service that day."
            yield Problem("date", wrong, "Write it as in the sheet parts, or add the part there.")

    def _part(self, row: Row, draft: Draft) -> Installation | None:
        key, day = self.key(row)
        for part in draft.known["parts"].get(key, ()):
            if (part.removed_on, part.removal_reason) == (day, FAILED):
                return part
        return None

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        return {"installation": self._part(row, draft), **said(row, self.fields)}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        found = self.stored(fleet)
        for key in sorted(found, key=lambda key: (key[0], key[1].isoformat())):
            part = found[key].installation
            stay = part.stay
            yield {
                "boat": stay.boat.name,
                "mast": stay.mast,
                "stay": stay.name,
                "side": stay.side,
                "part": part.kind,
                "date": part.removed_on,
                **exported(found[key], self.fields),
            }

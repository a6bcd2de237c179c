"""The sheet of inspections."""

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any

from fleet.importing import Sheet
from fleet.models import Fleet, Stay
from fleet.sheets import Choice, Column, Day, Layout, Row, Table, Text, YesNo, folded
from fleet.sheets.kinds import letters
from fleet.spreadsheets.drafts import Draft, Problem
from fleet.spreadsheets.sheet_definitions import NAME

from ..models import Inspection

LEVEL = Choice(dict(Inspection.Level.choices), also={"mast-down": "mast_down"})
PERSON = Text(120)
LISTED_BY = ";"
NONE = "none"
A_DAY = dt.timedelta(days=1)  # A moment of another time zone may be on the day before or after.

InspectionKey = tuple[str, dt.date, str, str]  # boat, date, level, person
StayPlace = tuple[str, str, str]  # mast, stay, side


class Inspections(Sheet):
    """Inspections: who looked at which boat, when and how."""

    layout = Layout(
        "inspections",
        "One row for each look at a boat. It counts for all its level can see, except what the "
        "sheet findings lists as “not seen” and the stays not looked at.",
        (
            Column("boat", NAME, "As in the sheet boats.", True, "Guillemot"),
            Column("date", Day(), "The day of the inspection.", True, "2024-03-12"),
            Column("level", LEVEL, "What could be seen.", True, "aloft"),
            Column("person", PERSON, "Who looked.", True, "R. Example"),
            Column("competence", Choice(dict(Inspection.Competence.choices)), "Of that person.",
                   True, "rigger"),
            Column("method", Choice(dict(Inspection.Method.choices), blank="eye"), "Blank: eye.",
                   example="loupe"),
            Column("stays looked at", Text(4000), "Blank: all. Otherwise the stays, with "
                   "semicolons between; “none” if only a place of the boat was looked at.",
                   example="cap shroud port"),
            Column("note", Text(10_000, lines=True), "Anything else.", example="After the gale."),
            Column("turn-round check", YesNo(), "Whether it was one, made in two minutes by "
                   "exceptions: it counts for what it saw and puts no deck check off.",
                   example="no"),
            Column("signed", Text(40), "When that person signed it, with its time zone. Of an "
                   "inspection on record it is not changed.", example="2024-03-12T16:20:00+00:00"),
        ),
    )  # fmt: skip
    model = Inspection
    needs = ("boats", "parts")

    def plan(self, table: Table, draft: Draft) -> None:
        draft.known["stays"] = stays_by_boat(draft)
        super().plan(table, draft)

    def stored(self, fleet: Fleet) -> dict[InspectionKey, Inspection]:
        looks = Inspection.objects.of(fleet).select_related("boat")
        looks = looks.order_by("boat__name", "boat", "on", "level", "person")
        return {
            (folded(look.boat.name), look.on, look.level, folded(look.person)): look
            for look in looks
        }

    def key(self, row: Row) -> InspectionKey:
        return folded(row["boat"]), row["date"], row["level"], folded(row["person"])

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        unknown = list(draft.refers("boats", "boat", row["boat"]))
        yield from unknown
        if unknown:
            return
        boat = draft.find("boats", row["boat"])
        if row["date"].year < boat.build_year:
            yield Problem("date", f"{boat.name} was built later, in {boat.build_year}.",
                          "Correct the date, or the build year in the sheet boats.")  # fmt: skip
        if boat.left and row["date"] > boat.left:
            yield Problem("date", f"{boat.name} left the fleet before, on {boat.left}.",
                          "Correct the date, or “left” in the sheet boats.")  # fmt: skip
        yield from signature_problems(row, draft.today)
        for word in words_of(row):
            if not stays_called(word, stays_of(row, draft)):
                right = "Write names of its stays, as in the sheet parts, with semicolons between."
                yield Problem("stays looked at", f"{boat.name} has no stay “{word}”.", right)

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        values = {
            "boat": draft.find("boats", row["boat"]),
            "on": row["date"],
            "level": row["level"],
            "person": row["person"],
            "competence": row["competence"],
        }
        if "turn-round check" in row:
            values["turn_round"] = row["turn-round check"]
        stored = draft.known[self.name].get(self.key(row))
        if row.get("signed") and stored is None:
            values["signed_at"] = moment(row["signed"])
        elif row.get("signed") and stored.signed_at != moment(row["signed"]):
            note_signatures_stay(draft)
        return values | {name: row[name] for name in ("method", "note") if name in row}

    def noted(self, made: Inspection, state: str, draft: Draft) -> None:
        if state != "same":
            draft.touch(made.boat)

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for look in self.stored(fleet).values():
            yield {
                "boat": look.boat.name,
                "date": look.on,
                "level": look.level,
                "person": look.person,
                "competence": look.competence,
                "method": look.method,
                "note": look.note,
                "turn-round check": look.turn_round,
                "signed": look.signed_at.isoformat() if look.signed_at else "",
            }


def moment(words: str) -> dt.datetime | None:
    """Return the moment that is written; None unless it is one, with its time zone."""
    try:
        at = dt.datetime.fromisoformat(words)
    except ValueError:
        return None
    return at if at.tzinfo else None


def note_signatures_stay(draft: Draft) -> None:
    words = "Inspections on record stay signed, or not signed, as they are there."
    if words not in draft.notes:
        draft.notes.append(words)


def signature_problems(row: Row, today: dt.date) -> Iterator[Problem]:
    at = moment(row["signed"]) if row.get("signed") else None
    if row.get("signed") and at is None:
        yield Problem("signed", "This is no moment with its time zone.",
                      "Write it like 2024-03-12T16:20:00+00:00, or empty the cell.")  # fmt: skip
    elif at and at.date() > today + A_DAY:
        yield Problem("signed", "This moment is still to come.", "Correct it, or empty the cell.")
    elif at and at.date() < row["date"] - A_DAY:
        yield Problem("signed", f"It was looked at later, on {row['date']}.", "Correct one.")


def words_of(row: Row) -> list[str]:
    """Return the stays a row lists as looked at, as words; none for "none" and for blank."""
    text = row.get("stays looked at", "")
    listed = [word.strip() for word in text.split(LISTED_BY) if word.strip()]
    return [] if [folded(word) for word in listed] == [NONE] else listed


def stays_by_boat(draft: Draft) -> dict[str, set[StayPlace]]:
    """Return the places of each boat's stays, as far as they hold or held a part."""
    stays: dict[str, set[StayPlace]] = {}
    for (boat, *place, _), parts in draft.known["parts"].items():
        if parts:
            stays.setdefault(boat, set()).add(tuple(place))
    return stays


def stays_of(row: Row, draft: Draft) -> set[StayPlace]:
    return draft.known["stays"].get(folded(row["boat"]), set())


def stays_called(word: str, stays: Iterable[StayPlace]) -> set[StayPlace]:
    """Return the stays a word means: ``mizzen cap shroud port``; without a side, both of a pair."""
    wanted = letters(word)
    return {place for place in stays if wanted in {letters(name) for name in names_of(place)}}


def names_of(place: StayPlace) -> Iterator[str]:
    mast, stay, side = place
    name = Stay.Name(stay).label
    if mast == Stay.Mast.MIZZEN:
        name = f"mizzen {name}"
    yield name
    if side:
        yield f"{name} {side}"
        yield f"{side} {name}"


def not_looked_at(row: Row, draft: Draft) -> list[StayPlace]:
    """Return the stays of the boat that a row leaves out of those looked at."""
    if not row.get("stays looked at"):
        return []
    stays = stays_of(row, draft)
    seen = {place for word in words_of(row) for place in stays_called(word, stays)}
    return sorted(stays - seen)

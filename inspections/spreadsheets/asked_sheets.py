"""The sheets of what is to come: bookings, and what insurers, owners, flag and class ask.

A demand on record is changed on its page, which keeps who changed what; no file changes it.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from fleet.importing import Sheet
from fleet.models import Boat, Fleet, Installation, Stay
from fleet.sheets import Choice, Column, Day, Layout, Number, Row, Table, Text, folded
from fleet.spreadsheets.drafts import Draft, Problem
from fleet.spreadsheets.sheet_definitions import exported, said
from fleet.spreadsheets.written_only import plain

from ..bookings.sheet import LAYOUT as BOOKINGS
from ..bookings.sheet import wrong_days
from ..models import Booking, Demand

LONGEST_LIST = 30_000  # Characters; a cell of a workbook holds 32,767.
ASKED = "boats of demands"  # Where a draft keeps which boats each new demand is about.
State = Demand.State
CLOSED = (State.ACCEPTED, State.WITHDRAWN)


class Bookings(Sheet):
    """Bookings: the same sheet that the page of bookings takes."""

    layout = BOOKINGS
    model = Booking
    needs = ("boats",)

    def stored(self, fleet: Fleet) -> dict[tuple, Booking]:
        rows = Booking.objects.of(fleet).select_related("boat")
        rows = rows.order_by("boat__name", "boat", "first", "last")
        return {(folded(row.boat.name), row.first, row.last): row for row in rows}

    def key(self, row: Row) -> tuple:
        return folded(row["boat"]), row["from"], row["to"]

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        yield from draft.refers("boats", "boat", row["boat"])
        for header, _, wrong, right in wrong_days((row["from"], row["to"])):
            yield Problem(header, wrong, right)

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        values = {"boat": draft.find("boats", row["boat"]), "first": row["from"],
                  "last": row["to"], **said(row, {"reference": "reference"})}  # fmt: skip
        if self.key(row) not in draft.known[self.name]:
            values["source"] = Booking.Source.SHEET
        return values

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        names = {"from": "first", "to": "last", "reference": "reference"}
        for booking in self.stored(fleet).values():
            yield {"boat": booking.boat.name, **exported(booking, names)}


class Demands(Sheet):
    """Demands: who asks what of which boats, by when, and how far the answer has come."""

    layout = Layout(
        "demands",
        "What an insurer, owner, flag or class asks of boats. Whether a boat satisfies it is "
        "worked out from the record. One on record is changed on its page, not by a file.",
        (
            Column("who asks", Choice(dict(Demand.Asker.choices)), "What they are.", True,
                   "insurer"),
            Column("name", Text(120), "Their name.", True, "Example Mutual"),
            Column("reference", Text(80), "Policy or file number.", example="P-7001"),
            Column("clause", Text(600, lines=True), "What they ask, in their words.", True,
                   "Standing rigging older than 15 years is to be renewed."),
            Column("boats", Text(LONGEST_LIST, lines=True), "As in the sheet boats, with "
                   "semicolons between, or one a line.", True, "Guillemot"),
            Column("asked on", Day(), "The day they asked.", True, "2026-09-30"),
            Column("counts from", Day(future=True), "What was done from this day on answers it; "
                   "blank: from the day it was asked.", example="2026-09-30"),
            Column("deadline", Day(future=True), "The day by which they want it.", True,
                   "2027-03-31"),
            Column("what satisfies it", Choice(dict(Demand.Wanted.choices)), "Of these three.",
                   True, "parts renewed"),
            Column("part", Choice(dict(Installation.Kind.choices)), "Blank: the whole rig.",
                   example="wire"),
            Column("stay", Choice(dict(Stay.Name.choices)), "Blank: all.", example="backstay"),
            Column("older than years", Number("years", 0.5, 100), "Of parts to be renewed: only "
                   "those older; blank: all.", example="15"),
            Column("letter", Text(4000, lines=True), "That goes with the answer; blank: a short "
                   "one is written."),
            Column("notes", Text(2000, lines=True), "Anything else."),
            Column("state", Choice(dict(State.choices), also={"answered": "sent"}, blank="open"),
                   "Blank: open.", example="open"),
            Column("sent on", Day(), "The day the answer went out."),
            Column("sent by", Text(120), "Who sent it."),
            Column("sent how", Text(200), "And what was with it."),
            Column("closed on", Day(), "The day they accepted it, or asked no longer."),
            Column("closed by", Text(120), "Who of theirs said so."),
        ),
    )  # fmt: skip
    model = Demand
    needs = ("boats",)
    fields = {
        "who asks": "asker", "name": "asker_name", "reference": "reference", "clause": "clause",
        "asked on": "asked_on", "counts from": "since", "deadline": "deadline",
        "what satisfies it": "wanted", "part": "part_kind", "stay": "stay_name",
        "older than years": "older_than_years", "letter": "letter", "notes": "notes",
        "state": "state", "sent on": "sent_on", "sent by": "sent_by", "sent how": "sent_how",
        "closed on": "closed_on", "closed by": "closed_by",
    }  # fmt: skip
    # The headers that tell a demand from others; of those alike in all of them, which it is.
    of = (
        "who asks",
        "name",
        "reference",
        "clause",
        "asked on",
        "what satisfies it",
        "part",
        "stay",
    )

    def stored(self, fleet: Fleet) -> dict[tuple, Demand]:
        found, nth = {}, Counter()
        rows = Demand.objects.of(fleet).prefetch_related("boats")
        for row in rows.order_by("asked_on", "asker_name", "deadline", "pk"):
            own = tuple(_alike(getattr(row, self.fields[header])) for header in self.of)
            nth[own] += 1
            found[*own, nth[own]] = row
        return found

    def key(self, row: Row) -> tuple:
        """Return what tells a demand from others; ``plan`` adds which of those alike it is."""
        return tuple(_alike(row.get(header, self.layout[header].kind.blank)) for header in self.of)

    def plan(self, table: Table, draft: Draft) -> None:
        known, nth, otherwise = draft.known[self.name], Counter(), []
        taken: dict[tuple[str, ...], int] = {}
        for row in table.rows:
            own, cells = self.key(row), plain(self.layout.cells(row.values))
            stored = known.get((*own, nth[own] + 1))
            same = stored is not None and self._says(stored, row, draft)
            problems = [] if same else list(self.check(row, draft))
            if stored is None and cells in taken:
                problems.append(self.twice(taken[cells]))
            taken.setdefault(cells, row.number)
            if problems:
                draft.refuse(self.layout, row, problems)
                continue
            nth[own] += 1
            if stored is None:
                self._put(row, draft)
            elif not same:
                otherwise.append(row.number)
            draft.counts[self.name].add("same" if stored else "new")
        if otherwise:
            draft.notes.append(stays(otherwise))

    def _put(self, row: Row, draft: Draft) -> None:
        made, _ = draft.put(Demand, None, self.values(row, draft))
        boats = [draft.find("boats", name) for name in names(row, draft)]
        draft.known.setdefault(ASKED, {})[row.number] = made, boats

    def _says(self, stored: Demand, row: Row, draft: Draft) -> bool:
        """Return whether the file says the same as the record, in the columns that it has."""
        before, listed = self._said(stored), {"boats": _joined(names(row, draft))}
        now = before | row.values | listed
        own = sorted(folded(boat.name) for boat in stored.boats.all())
        if own == sorted(folded(name) for name in names(row, draft)):
            now["boats"] = before["boats"]
        return plain(self.layout.cells(now)) == plain(self.layout.cells(before))

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        listed = names(row, draft)
        for name in listed:
            for problem in draft.refers("boats", "boats", name):
                yield Problem("boats", f"“{name}”: {problem.wrong}", problem.right)
        if not listed:
            yield Problem(
                "boats", "No boat is named.", "Write at least one, as in the sheet boats."
            )
        if row["deadline"] < row["asked on"]:
            yield Problem("deadline", f"It was asked later, on {row['asked on']}.", "Correct one.")
        if row.get("older than years") and row["what satisfies it"] != Demand.Wanted.RENEW:
            yield Problem("older than years", "An age belongs to a demand for parts to be renewed.",
                          "Empty the cell, or write “parts renewed”.")  # fmt: skip
        yield from answer_problems(row)

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        return {"fleet": draft.fleet, **said(row, self.fields)}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for demand in self.stored(fleet).values():
            yield self._said(demand)

    def _said(self, demand: Demand) -> dict[str, Any]:
        boats = _joined(sorted(boat.name for boat in demand.boats.all()))
        return exported(demand, self.fields) | {"boats": boats}


def _alike(value: Any) -> Any:
    return folded(value) if isinstance(value, str) else value


def _joined(boats: list[str]) -> str:
    """Return names in one cell; one a line where a name holds a semicolon itself."""
    return ("\n" if any(";" in name for name in boats) else "; ").join(boats)


def names(row: Row, draft: Draft) -> list[str]:
    """Return the boats a row lists, each once, as it writes them."""
    found: dict[str, str] = {}
    for line in row["boats"].splitlines():
        whole = folded(line) in draft.known["boats"] or folded(line) in draft.bad["boats"]
        for word in [line] if whole else line.split(";"):
            if word.strip():
                found.setdefault(folded(word), " ".join(word.split()))
    return list(found.values())


def answer_problems(row: Row) -> Iterator[Problem]:
    """Yield what does not fit together of a state and the days and names that go with it."""
    state = row.get("state", State.OPEN)
    if state == State.SENT:
        yield from _unsaid(row, "sent", "It is said to be answered")
    if state in CLOSED:
        yield from _unsaid(row, "closed", "It is said to be closed")
    elif row.get("closed on") or row.get("closed by"):
        yield Problem("state", "It is said to be closed, and not how.",
                      "Write accepted or no longer asked, or empty both cells of it.")  # fmt: skip
    if state == State.OPEN and row.get("sent on"):
        yield Problem("state", "An answer was sent, so it is not open.",
                      "Write “answered, not accepted yet”, or empty “sent on”.")  # fmt: skip
    for header in ("sent on", "closed on"):
        if row.get(header) and row[header] < row["asked on"]:
            wrong = f"This is before it was asked, on {row['asked on']}."
            yield Problem(header, wrong, "Correct one of the two days.")


def _unsaid(row: Row, what: str, wrong: str) -> Iterator[Problem]:
    for header, unsaid in ((f"{what} on", "not when"), (f"{what} by", "not by whom")):
        if not row.get(header):
            yield Problem(header, f"{wrong}, and {unsaid}.", "Fill the cell, or correct “state”.")


def stays(numbers: list[int]) -> str:
    """Return what is said of rows whose demand is on record with something else."""
    rows = f"row {numbers[0]} says" if len(numbers) == 1 else (
        f"rows {', '.join(map(str, numbers[:20]))}{' and more' if numbers[20:] else ''} say"
    )  # fmt: skip
    return (
        f"Sheet “demands”: {rows} something else than the record, which stays as it is. A demand "
        "on record is changed on its own page, where it is kept who changed what."
    )


def put_boats(draft: Draft) -> None:
    """Write which boats each new demand is about, once both are written."""
    asked: Iterable[tuple[Demand, list[Boat]]] = draft.known.get(ASKED, {}).values()
    through = Demand.boats.through
    through.objects.bulk_create(
        through(demand_id=demand.pk, boat_id=boat.pk) for demand, boats in asked for boat in boats
    )

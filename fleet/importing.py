"""Import: a spreadsheet is read and checked whole, then written in one short transaction."""

import logging
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import IntegrityError, models, transaction

from .models import Fleet
from .sheets import Fault, Layout, Row, Table, read_sheet
from .sheets.faults import and_more, nearest
from .spreadsheets.drafts import Counts, Draft, Key, Problem, TooMany
from .spreadsheets.workbooks import Book, Source, open_book
from .undoing import remember

log = logging.getLogger(__name__)


class Sheet:
    """One sheet of the workbook: its layout, and how its rows become rows of the fleet.

    Subclasses give ``layout``, ``model`` and the methods below, or a ``plan`` of their own.
    ``needs`` names the sheets its rows refer to; ``first``: a fleet that has no such rows yet
    cannot do without this sheet; ``written_only``: the export writes it, and no row of a file
    changes what is on record (see ``spreadsheets.written_only``).
    """

    layout: Layout
    model: type[models.Model]
    needs: tuple[str, ...] = ()
    first = False
    written_only = False

    @property
    def name(self) -> str:
        return self.layout.name

    def stored(self, fleet: Fleet) -> dict[Key, Any]:
        raise NotImplementedError

    def key(self, row: Row) -> Key:
        """Return the natural key; KeyError when the row lacks a cell of it."""
        raise NotImplementedError

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        raise NotImplementedError

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        """Return the fields of the model for a row that ``check`` finds good."""
        raise NotImplementedError

    def rows(self, fleet: Fleet) -> Iterable[Mapping[str, Any]]:
        """Return what the export writes: values by header, in a fixed order."""
        raise NotImplementedError

    def noted(self, made: Any, state: str, draft: Draft) -> None:
        """Hear what became of a row."""

    def plan(self, table: Table, draft: Draft) -> None:
        """Put every good row of the sheet into the draft, and every fault."""
        known, bad = draft.known[self.name], draft.bad[self.name]
        taken: dict[Key, int] = {}
        for row in table.rows:
            problems = list(self.check(row, draft))
            key = self.key(row)
            if key in taken:
                problems.append(self.twice(taken[key]))
            elif problems:
                bad[key] = row.number
            taken.setdefault(key, row.number)
            if problems:
                draft.refuse(self.layout, row, problems)
                continue
            made, state = draft.put(self.model, known.get(key), self.values(row, draft))
            known[key] = made
            draft.counts[self.name].add(state)
            self.noted(made, state, draft)

    def twice(self, number: int) -> Problem:
        return Problem(
            self.layout.columns[0].header,
            f"Row {number} says the same thing already.",
            "Keep one of the two rows.",
        )


@dataclass(frozen=True)
class Report:
    """What an import found, and whether it wrote it. ``unused``: sheets of the file not read;
    ``notes``: what is no fault and should be known, in a sentence each."""

    counts: Mapping[str, Counts]
    faults: tuple[Fault, ...]
    written: bool
    unused: tuple[str, ...] = ()
    whole: bool = True
    notes: tuple[str, ...] = ()

    @property
    def new(self) -> int:
        return sum(count.new for count in self.counts.values())

    @property
    def changed(self) -> int:
        return sum(count.changed for count in self.counts.values())

    @property
    def same(self) -> int:
        return sum(count.same for count in self.counts.values())

    @property
    def can_take_good_rows(self) -> bool:
        """Return whether there is something to take beside the faults, the file being sound."""
        return bool(self.faults) and self.whole and self.new + self.changed > 0


def run(
    fleet: Fleet,
    source: Source,
    sheets: Sequence[Sheet],
    *,
    take_good_rows: bool = False,
    dry_run: bool = True,
    after: Callable[[Draft], None] | None = None,
    checked: Callable[[Draft], None] | None = None,
    by=None,
    say: Callable[[str], None] = lambda step: None,
) -> Report:
    """Check a workbook or a set of CSV files against a fleet, and write it if all is good.

    With faults nothing is written, unless ``take_good_rows``: then the rows with faults, and those
    that depend on them, are left out. A sheet that is missing or cannot be read stops everything.
    ``checked`` is called with the draft once it is checked, and may add notes. ``after`` is called
    inside the transaction with what was written; what undoing it takes is kept, with the person who
    imported (``by``, a user or None). ``say`` is called outside of it, after reading and after
    checking; what it raises ends the import with nothing written.
    """
    book = open_book(source, [sheet.name for sheet in sheets])
    tables, faults = read_all(fleet, book, sheets)
    say(f"Read: {sum(len(table.rows) for table in tables.values())} rows")
    whole = not faults and not any(table.broken for table in tables.values())
    draft, all_checked = draw_up(fleet, tables, sheets)
    whole = whole and all_checked
    if whole and checked is not None:
        checked(draft)
    faults += [fault for table in tables.values() for fault in table.faults] + draft.faults
    order = {sheet.name: n for n, sheet in enumerate(sheets)}
    faults.sort(key=lambda f: (order.get(f.sheet, -1), f.row, f.column))
    say(f"Checked: {len(faults)} faults")
    may_write = whole and not dry_run and (take_good_rows or not faults)
    if may_write:
        faults += write(draft, after, names_of(source), by)
    written = may_write and not any(fault is CROSSED for fault in faults)
    counts = {
        name: count for name, count in draft.counts.items() if name in tables or count != Counts()
    }
    return Report(counts, tuple(faults), written, book.unused, whole, tuple(draft.notes))


CROSSED = Fault(
    "", 0, "", "", "Somebody changed the fleet while the file was read, so nothing was written.",
    "Try again.",
)  # fmt: skip


def read_all(
    fleet: Fleet, book: Book, sheets: Sequence[Sheet]
) -> tuple[dict[str, Table], list[Fault]]:
    """Return the table of each sheet, and the faults of the file as a whole."""
    faults = list(book.faults)
    tables = {}
    for sheet in sheets:
        raw = book.sheets.get(sheet.name)
        if raw is not None and any(fault.sheet == sheet.name for fault in book.faults):
            tables[sheet.name] = Table(sheet.name, broken=True)
        elif raw is not None:
            table = read_sheet(sheet.layout, raw, fleet.today())
            if sheet.written_only:  # Nothing in it can be wrong: nothing of it is taken.
                table = Table(sheet.name, table.rows, table.bad)
            tables[sheet.name] = table
        elif not book.faults and sheet.first and not sheet.stored(fleet):
            faults.append(missing_sheet(sheet.name, book))
            tables[sheet.name] = Table(sheet.name, broken=True)
    if not book.faults and not book.sheets:
        faults = [nothing_known(book, sheets)]
    return tables, faults


def missing_sheet(name: str, book: Book) -> Fault:
    near = [word for word in book.unused if nearest(word, [name])]
    right = f"Rename the sheet “{near[0]}” to “{name}”." if near else f"Add a sheet named “{name}”."
    wrong = "This sheet is missing, and the fleet has no such rows yet."
    return Fault(name, 0, "", "", wrong, right)


def nothing_known(book: Book, sheets: Sequence[Sheet]) -> Fault:
    names = ", ".join(sheet.name for sheet in sheets if not sheet.written_only)
    found = ", ".join(book.unused) or "none"
    return Fault(
        "", 0, "", "", f"The file has no sheet that could be read; it has: {found}.",
        f"Name the sheets {names}; the template shows them.",
    )  # fmt: skip


def draw_up(
    fleet: Fleet, tables: Mapping[str, Table], sheets: Sequence[Sheet]
) -> tuple[Draft, bool]:
    """Check the rows against each other and against the fleet, sheet by sheet.

    Return the draft, and whether all were checked: not when there are too many faults.
    """
    draft = Draft(fleet, fleet.today(), tables)
    broken = {name for name, table in tables.items() if table.broken}
    for sheet in sheets:
        table = draft.table(sheet.name)
        draft.counts[sheet.name] = Counts(left_out=len(table.bad))
        draft.known[sheet.name] = sheet.stored(fleet)
        draft.bad[sheet.name] = {key: row.number for row in table.bad for key in keys(sheet, row)}
        if broken & {sheet.name, *sheet.needs}:
            broken.add(sheet.name)  # Its rows cannot be checked; one fault above says why.
        else:
            try:
                sheet.plan(table, draft)
            except TooMany:
                draft.faults.append(and_more(sheet.name))
                return draft, False
    return draft, True


def keys(sheet: Sheet, row: Row) -> Iterator[Key]:
    """Yield the key of a faulty row if the cells of it could be read."""
    try:
        yield sheet.key(row)
    except KeyError:
        return


def names_of(source: Source) -> tuple[str, ...]:
    """Return the names of the files an import was read from."""
    if isinstance(source, (str, Path)):
        return (Path(source).name,)
    return source.files if isinstance(source, Book) else tuple(file.name for file in source)


def write(
    draft: Draft, after: Callable[[Draft], None] | None, files: Sequence[str] = (), by=None
) -> list[Fault]:
    """Write the draft in one transaction; return a fault if the tables refuse what was checked.

    The check is done before, so that the transaction is short: others can write in between.
    """
    try:
        with transaction.atomic():
            # no_key: rows that only refer to the fleet, such as work asked for, need not wait.
            Fleet.objects.select_for_update(no_key=True).get(pk=draft.fleet.pk)
            draft.write()
            if after is not None:
                after(draft)
            remember(draft, files, by)
    except IntegrityError:
        log.exception("The tables refused rows that had been checked.")
        return [CROSSED]
    return []

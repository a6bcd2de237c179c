"""Files in a layout of the fleet's own: is it one, how was it read before, and its import."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils import timezone

from fleet.importing import Report, names_of
from fleet.matching import Match, Matched, apply, fingerprint, propose, settled_match
from fleet.matching.headers import width
from fleet.models import Fleet, SheetMatch
from fleet.sheets import RawSheet, folded
from fleet.sheets.faults import shown
from fleet.sheets.kinds import is_blank
from fleet.sheets.reading import header_row
from fleet.spreadsheets.workbooks import Book, Source, open_book

from ..importing import SHEETS, import_workbook

MOST_COLUMNS = 150  # Of a sheet that somebody answers for column by column.
LAYOUTS = {sheet.name: sheet.layout for sheet in SHEETS}


@dataclass(frozen=True)
class Proposal:
    """What is proposed for a file; ``kept`` is the match it comes from, if it was read before."""

    match: Match
    kept: SheetMatch | None = None


def opened(source: Source) -> Book:
    """Return every sheet of the file under its own title."""
    return open_book(source, None)


def raws_of(book: Book) -> list[RawSheet]:
    """Return the sheets that can be matched; none if the file has faults or is too wide a form."""
    raws = list(book.sheets.values())
    return [] if book.faults or any(width(raw) > MOST_COLUMNS for raw in raws) else raws


def is_hopeless(book: Book) -> bool:
    """Return whether nothing in the file could be read: there is nothing to match or to check."""
    return bool(book.faults) and not any(raw.rows for raw in book.sheets.values())


def needs_match(book: Book) -> bool:
    """Return whether a file that can be opened has no sheet in our own layout."""
    if not any(raw.rows for raw in raws_of(book)):
        return False
    ours = {folded(name): layout for name, layout in LAYOUTS.items()}
    return not any(
        in_own_layout(ours[folded(title)], raw)
        for title, raw in book.sheets.items()
        if folded(title) in ours
    )


def in_own_layout(layout, raw: RawSheet) -> bool:
    """Return whether at least half of a sheet's headers are ours; an empty sheet counts as ours."""
    if not any(not is_blank(cell) for row in raw.rows for cell in row):
        return True
    cells = [shown(cell) for cell in raw.rows[header_row(layout, raw.rows)] if not is_blank(cell)]
    known = {folded(header) for header in layout.headers}
    return 2 * sum(folded(cell) in known for cell in cells) >= len(cells)


def proposal(fleet: Fleet, raws: Sequence[RawSheet]) -> Proposal:
    """Return the match kept for these headers, or else what the file itself proves."""
    known = kept_proposal(fleet, raws)
    return known or Proposal(propose(raws, LAYOUTS, fleet.today()))


def kept_proposal(fleet: Fleet, raws: Sequence[RawSheet]) -> Proposal | None:
    """Return the match kept for these headers, with what this file proves beyond it."""
    titles = [raw.name for raw in raws]
    for kept in SheetMatch.objects.of(fleet).select_related("made_by").order_by("-made_at", "-pk"):
        match = Match.from_dict(kept.match)
        if fingerprint(match, raws) == kept.fingerprint:
            match = settled_match(match.titled(titles), raws, LAYOUTS, fleet.today())
            return Proposal(match, kept)
    return None


def keep(fleet: Fleet, user, name: str, match: Match, raws: Sequence[RawSheet]) -> SheetMatch:
    """Keep a match for the fleet, in place of the one for the same headers."""
    mark, name = fingerprint(match, raws), name[:120]
    known = SheetMatch.objects.of(fleet).filter(fingerprint=mark).first()
    if known:
        before = Match.from_dict(known.match)
        match = match.with_words_of(before)
        if (name, match) == (known.name, before.titled([raw.name for raw in raws])):
            return known  # Used as it stood: who made it, and when, stays true.
    made = {"name": name, "match": match.to_dict(), "made_by": user, "made_at": timezone.now()}
    kept, _ = SheetMatch.objects.update_or_create(fleet=fleet, fingerprint=mark, defaults=made)
    return kept


def note_use(fleet: Fleet, pk: int | str) -> None:
    """Note that a file was written by this match just now."""
    SheetMatch.objects.of(fleet).filter(pk=pk).update(used_at=timezone.now())


def matched(fleet: Fleet, kept: SheetMatch, source: Source) -> Matched | None:
    """Return the file in our layout; None if its headers are not those of the match."""
    raws = raws_of(opened(source))
    match = Match.from_dict(kept.match)
    if fingerprint(match, raws) != kept.fingerprint:
        return None
    return apply(match.titled([raw.name for raw in raws]), raws, LAYOUTS, fleet.today())


def import_matched(fleet: Fleet, files: Source, made: Matched, **how) -> Report:
    """Check or write files as ``made`` reads them; every fault names their own row and column."""
    report = import_workbook(fleet, Book(made.sheets, files=names_of(files)), **how)
    # One cell of a boat's row stands for many of our rows; its fault is said once.
    theirs = dict.fromkeys(made.theirs(fault) for fault in report.faults)
    return replace(report, faults=tuple(theirs))


def by_match(fleet: Fleet, pk: str, files: Source) -> Matched | None:
    """Return the file as the match of that number reads it; None if there is none that fits."""
    if not re.fullmatch(r"[0-9]{1,15}", pk):
        return None
    kept = SheetMatch.objects.of(fleet).filter(pk=pk).first()
    return matched(fleet, kept, files) if kept else None


def read_with(fleet: Fleet, files: Source, made: Matched | None, **how) -> Report:
    """Check or write files in our layout, or as ``made`` reads them."""
    if made is None:
        return import_workbook(fleet, files, **how)
    return import_matched(fleet, files, made, **how)

"""Where their headers stand, in one row or two, and what each of them may be."""

import difflib
import hashlib
import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..sheets import Layout, RawSheet
from ..sheets.faults import shown
from ..sheets.kinds import Cell, is_blank
from .match import UNDECIDED, ColumnMatch, Match
from .stay_words import PAIRED, UNKNOWN, part_in, stays_in
from .vocabulary import known_headers, unit_in

WITHIN = 10  # Rows in which a header is looked for.
NEAR = 0.85  # Likeness from which a misspelt header is recognised, and asked about.
BY_STAY = ("diameter mm", "pin to pin mm", "fitted", "construction", "lower terminal",
           "upper terminal", "pin mm", "inside foil", "invoice", "alloy", "batch", "fitter",
           "removed", "removal reason")  # fmt: skip
WHOLE_RIG = "whole_rig"


@dataclass(frozen=True)
class Headers:
    """Header rows from ``top``; ``columns`` as far as their labels tell; how many are known."""

    top: int
    count: int
    columns: tuple[ColumnMatch, ...]
    known: int


def width(raw: RawSheet) -> int:
    return max((len(row) for row in raw.rows), default=0)


def cell_at(raw: RawSheet, row: int, place: int) -> Cell:
    cells = raw.rows[row] if row < len(raw.rows) else []
    return cells[place] if place < len(cells) else None


def filled_rows(raw: RawSheet) -> list[int]:
    return [n for n, row in enumerate(raw.rows) if any(not is_blank(cell) for cell in row)]


def labels(raw: RawSheet, top: int, count: int) -> list[str]:
    """Return one label a column; of two header rows the upper holds until the next upper one."""
    lower = [shown(cell_at(raw, top + count - 1, n)).strip() for n in range(width(raw))]
    if count == 1:
        return lower
    made, above = [], ""
    for place, word in enumerate(lower):
        upper = shown(cell_at(raw, top, place)).strip()
        above = upper or (above if word else "")
        made.append(" ".join(filter(None, (above, word))))
    return made


def fingerprint(match: Match, raws: Sequence[RawSheet]) -> str:
    """Return what tells a file by its headers: the same for next year's file of the same form.

    "" when the file has not as many sheets as the match reads.
    """
    if any(table.sheet >= len(raws) for table in match.tables):
        return ""
    said = [
        [table.sheet, table.top, labels(raws[table.sheet], table.top, table.header_rows)]
        for table in match.tables
    ]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def column_for(label: str, layout: Layout) -> ColumnMatch:
    """Return what a label says, or nearly says; what it does not say stays undecided."""
    known = known_headers(layout)
    return near_column(plain_column(label, layout, known), known)


def plain_column(label: str, layout: Layout, known: dict[str, str]) -> ColumnMatch:
    if not label:
        return ColumnMatch(label)
    words, unit = unit_in(label)
    if words in known:
        return ColumnMatch(label, known[words], unit=unit)
    if layout.name == "parts" and (column := stay_column(label, words, unit, known)):
        return column
    return ColumnMatch(label, unit=unit, sure=False)


def near_column(column: ColumnMatch, known: dict[str, str]) -> ColumnMatch:
    """Return a column that nobody knows as the one whose name is spelt nearly so, not for sure."""
    words = unit_in(column.label)[0]
    if column.sure or column.to or len(words) <= 4:
        return column
    near = difflib.get_close_matches(words, known, n=1, cutoff=NEAR)
    return replace(column, to=known[near[0]]) if near else column


def stay_column(label: str, words: str, unit: str, known: dict[str, str]) -> ColumnMatch | None:
    for way in stays_in(words):
        part, rest = part_in(way.rest)
        to = known.get(rest, UNDECIDED) if rest else UNDECIDED
        if rest and to not in BY_STAY:
            continue
        # One column for a stay that stands in pairs may mean either side or both.
        unsaid = way.stay in PAIRED and not way.side
        stay = f"{way.mast}/{way.stay}/?" if unsaid else way.code
        return ColumnMatch(label, to, UNKNOWN if way.stay == UNKNOWN else stay, unit, part=part)
    return fitting_column(label, words, unit, known)


def fitting_column(label: str, words: str, unit: str, known: dict[str, str]) -> ColumnMatch | None:
    """Return a column about the turnbuckles or chainplates of the boat; not for sure."""
    part, rest = part_in(words)
    to = known.get(rest, UNDECIDED) if rest else UNDECIDED
    if not part or (rest and to not in BY_STAY):
        return None
    return ColumnMatch(label, to, WHOLE_RIG, unit, sure=False, part=part)


def beside_a_stay(columns: Sequence[ColumnMatch]) -> list[ColumnMatch]:
    """Let a turnbuckle's column beside one that says the stay be about the turnbuckle there."""
    said = any(column.to == "stay" for column in columns)
    return [
        replace(column, stay="") if said and column.part and column.stay == WHOLE_RIG else column
        for column in columns
    ]


def score(columns: Sequence[ColumnMatch]) -> int:
    """Count the columns that are known for sure, each header of ours and each stay once."""
    found = Counter((column.to, *column.about) for column in columns
                    if column.sure and (column.to or column.stay))  # fmt: skip
    return len(found)


def once_each(columns: Sequence[ColumnMatch]) -> tuple[ColumnMatch, ...]:
    """Leave undecided what would fill a header a second time."""
    taken, kept = set(), []
    for column in sorted(columns, key=lambda each: not each.sure):
        place = (column.to, *column.about)
        again = column.to and place in taken
        kept.append((column, replace(column, to=UNDECIDED, sure=False) if again else column))
        taken.add(place)
    by_column = {id(old): new for old, new in kept}
    return tuple(by_column[id(column)] for column in columns)


def read_headers(raw: RawSheet, layout: Layout, top: int, count: int) -> Headers:
    """Return what those header rows say."""
    known = known_headers(layout)
    plain = [plain_column(label, layout, known) for label in labels(raw, top, count)]
    columns = beside_a_stay([near_column(column, known) for column in plain])
    return Headers(top, count, once_each(columns), score(columns))


def find_headers(raw: RawSheet, layout: Layout) -> Headers:
    """Return the header rows, among the first rows, that say the most in words of that sheet."""
    known = known_headers(layout)

    def says(place: tuple[int, int]) -> tuple[int, int, int]:
        top, count = place
        columns = [plain_column(label, layout, known) for label in labels(raw, top, count)]
        return score(columns), -count, -top

    tops = [n for n in filled_rows(raw) if n < WITHIN] or [0]
    places = [(top, 1) for top in tops] + [(top, 2) for top in tops if may_be_two(raw, top)]
    return read_headers(raw, layout, *max(places, key=says))


def may_be_two(raw: RawSheet, top: int) -> bool:
    """Return whether a row may head groups of columns named in the row below it."""
    upper = [cell_at(raw, top, n) for n in range(width(raw))]
    lower = [cell_at(raw, top + 1, n) for n in range(width(raw))]
    texts = [cell for cell in lower if not is_blank(cell)]
    grouped = any(
        not is_blank(upper[n - 1]) and is_blank(upper[n]) and not is_blank(lower[n])
        for n in range(1, len(upper))
    )
    return grouped and len(texts) > 1 and all(
        isinstance(cell, str) and not any(c.isdigit() for c in cell) for cell in texts
    )  # fmt: skip

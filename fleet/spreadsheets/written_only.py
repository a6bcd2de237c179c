"""Sheets of what is on record and cannot be brought in by a file: signatures, files, decisions.

The export writes them, so that nothing is lost to whoever reads it. An import compares them with
the record and says that they stay as they are there.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from ..importing import Sheet
from ..models import Fleet
from ..sheets import Row, Table
from ..sheets.kinds import Cell
from .drafts import Draft


class WrittenOnly(Sheet):
    """One such sheet. ``why`` says, in a sentence, where its rows are put on record."""

    written_only = True
    why = ""

    def stored(self, fleet: Fleet) -> dict:
        return {}

    def key(self, row: Row) -> tuple[int]:
        return (row.number,)

    def plan(self, table: Table, draft: Draft) -> None:
        """Take nothing; note how many rows the record has otherwise, or not at all."""
        if not table.rows and not table.bad:
            return
        known = Counter(plain(self.layout.cells(values)) for values in self.rows(draft.fleet))
        file = Counter(plain(self.layout.cells(row.values)) for row in table.rows)
        same = sum((file & known).values())
        other = sum(file.values()) - same + len(table.bad)
        draft.counts[self.name].same, draft.counts[self.name].left_out = same, 0
        if other:
            is_not = "is not" if other == 1 else "are not"
            draft.notes.append(
                f"Sheet “{self.name}”: {rows_in_words(other)} {is_not} on record here and will not "
                f"be imported. {self.why}"
            )


def plain(cells: Sequence[Cell]) -> tuple[str, ...]:
    """Return the cells as words, whatever blanks and breaks a spreadsheet made of them."""
    return tuple("" if cell is None else " ".join(str(cell).split()) for cell in cells)


def rows_in_words(number: int) -> str:
    return f"{number} row{'' if number == 1 else 's'}"


def note_what_stays(sheets: Iterable[Sheet], draft: Draft) -> None:
    """Note in one sentence what of the file is on record just so and was not looked at further."""
    said = list(_stays(sheets, draft))
    if said:
        draft.notes.append(f"Kept as it is on record, not imported: {', '.join(said)}.")


def _stays(sheets: Iterable[Sheet], draft: Draft) -> Iterator[str]:
    for sheet in sheets:
        if sheet.written_only and draft.counts[sheet.name].same:
            yield f"{sheet.name} ({rows_in_words(draft.counts[sheet.name].same)})"

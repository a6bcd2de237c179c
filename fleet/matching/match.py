"""A match: how one file's columns and words become ours. Frozen, and JSON as it is kept."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

Words = Mapping[str, Mapping[str, str]]

UNDECIDED = ""  # Nobody has said yet, so it is asked.
LEFT_OUT = "-"  # Said: this column, or this word, is not taken over.
AS_IT_IS = "!"  # Said: the word goes to the import as it stands, which will say what is wrong.


@dataclass(frozen=True)
class ColumnMatch:
    """One of their columns. ``to`` is a header of ours, UNDECIDED or LEFT_OUT.

    ``stay`` is set where the column is about one stay of the boat ("main/cap_shroud/port"; "?"
    while nobody has said which), ``part`` where it is about the turnbuckle or chainplate there.
    ``unit`` is that of numbers written without one. ``sure`` is False for what was recognised only
    by a near spelling or by its cells.
    """

    label: str
    to: str = UNDECIDED
    stay: str = ""
    unit: str = ""
    sure: bool = True
    part: str = ""

    @property
    def about(self) -> tuple[str, str]:
        """Return which stay and which kind of part of it the column alone is about."""
        return self.stay, self.part


@dataclass(frozen=True)
class TableMatch:
    """One of their sheets read as one of ours.

    ``sheet`` counts their sheets from 0; ``top`` is the index of the first of ``header_rows``.
    ``words`` maps our header to {their word: our code}; ``fixed`` gives a header one value on
    every row; ``empty`` are words that mean an empty cell; ``order`` is day, month or year (which
    comes first); ``decimal`` is "." or ","; ``fill`` says whether an empty boat cell means the
    boat above ("yes" or "no").
    """

    sheet: int
    title: str
    target: str
    top: int = 0
    header_rows: int = 1
    columns: tuple[ColumnMatch, ...] = ()
    order: str = ""
    decimal: str = ""
    fill: str = ""
    words: Words = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)
    empty: tuple[str, ...] = ()

    @property
    def first(self) -> int:
        """Return the index of the first row below the headers."""
        return self.top + self.header_rows

    def used(self) -> list[tuple[int, ColumnMatch]]:
        """Return the columns that are taken over, with their places."""
        return [
            (place, column)
            for place, column in enumerate(self.columns)
            if column.to not in (UNDECIDED, LEFT_OUT)
        ]


@dataclass(frozen=True)
class Match:
    """How a whole file is read."""

    tables: tuple[TableMatch, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_dict(cls, kept: Mapping[str, Any]) -> "Match":
        return cls(tuple(_table(table) for table in kept["tables"]))

    def titled(self, titles: list[str]) -> "Match":
        """Return the match with the sheet names of another file of the same headers."""
        return Match(tuple(replace(table, title=titles[table.sheet]) for table in self.tables))

    def with_words_of(self, before: "Match") -> "Match":
        """Return the match with the words that an earlier file had and this one does not."""
        known = {(table.sheet, table.target): table.words for table in before.tables}
        tables = (
            replace(table, words=_joined(known.get((table.sheet, table.target), {}), table.words))
            for table in self.tables
        )
        return Match(tuple(tables))


def _joined(before: Words, now: Words) -> Words:
    return {
        header: {**before.get(header, {}), **now.get(header, {})} for header in {**before, **now}
    }


def _table(kept: Mapping[str, Any]) -> TableMatch:
    columns = tuple(ColumnMatch(**column) for column in kept["columns"])
    return TableMatch(**{**kept, "columns": columns, "empty": tuple(kept["empty"])})

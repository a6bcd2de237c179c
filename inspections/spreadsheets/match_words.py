"""A kept match in words: what of a sheet is read, and as what."""

from collections.abc import Iterator
from dataclasses import dataclass

from fleet.matching import ColumnMatch, Match, TableMatch
from fleet.matching.days import ORDERS
from fleet.matching.match import AS_IT_IS, LEFT_OUT
from fleet.matching.sizes import SIZED, UNIT_LABELS
from fleet.sheets import Choice

from .match_form import code_words
from .matched_files import LAYOUTS

SIGNS = {".": "a point", ",": "a comma"}


@dataclass(frozen=True)
class TableWords:
    """One of their sheets: our sheet, (their column, what it becomes), what else is said."""

    title: str
    target: str
    columns: list[tuple[str, str]]
    said: list[str]


def in_words(match: Match) -> list[TableWords]:
    """Return each sheet that the match reads, in words."""
    return [
        TableWords(table.title, table.target, list(columns(table)), list(said(table)))
        for table in match.tables
        if table.target != LEFT_OUT
    ]


def short(match: Match) -> str:
    """Return the match in one line: ``Rigging as parts, 11 columns``."""
    tables = [f"{table.title} as {table.target}, {len(table.columns)} columns"
              for table in in_words(match)]  # fmt: skip
    return "; ".join(tables) or "nothing"


def columns(table: TableMatch) -> Iterator[tuple[str, str]]:
    for _, column in table.used():
        yield column.label, " ".join(filter(None, [column.to, about(column), unit(column)]))


def about(column: ColumnMatch) -> str:
    """Return of what a column of its own speaks: ``of the turnbuckle, cap shroud, both``."""
    stay = code_words(column.stay)
    if column.part:
        return f"of the {column.part}, {stay}" if stay else f"of the {column.part}"
    return f"of the {stay}" if stay else ""


def unit(column: ColumnMatch) -> str:
    known = column.to in SIZED and column.unit
    return f"(bare numbers are {UNIT_LABELS[column.unit]})" if known else ""


def said(table: TableMatch) -> Iterator[str]:
    if table.order:
        yield f"In dates in figures {ORDERS[table.order]} comes first."
    if table.decimal:
        yield f"Decimals follow {SIGNS[table.decimal]}."
    if table.fill == "yes":
        yield "A row without a boat belongs to the boat above."
    for header, text in table.fixed.items():
        yield f"On every row, {header} is {text}."
    for header, words in table.words.items():
        for word, code in words.items():
            yield f"“{word}” under {header}: {meaning(table.target, header, code)}."


def meaning(target: str, header: str, code: str) -> str:
    """Return what a word was answered to mean, in the words of our sheet."""
    fixed = {LEFT_OUT: "nothing, the cell is left empty", AS_IT_IS: "left to the check"}
    layout = LAYOUTS.get(target)
    kind = layout[header].kind if layout and header in layout.headers else None
    words = kind.words if isinstance(kind, Choice) else {}
    return fixed.get(code) or words.get(code) or code_words(code) or "still to be said"

"""One XML member of a workbook read as a stream, before a reader lays its cells out in memory.

The reader makes a full rectangle of a sheet and a text of its own for each cell, so one stray cell,
or one long text that many cells share, could take gigabytes; and it shows a formula's error as an
empty cell. All of that is found here, while nothing is kept but counts.
"""

import re
from collections import Counter
from collections.abc import Iterable
from xml.parsers import expat

from .packed import Refused

MOST_TEXT_OF_A_CELL = 32_767  # Characters; the most a spreadsheet program itself takes.
MOST_STRINGS = 2_000_000
MOST_MERGED = 5_000
MOST_ERRORS = 20_000
CELL = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})")


class Damaged(ValueError):
    """XML that is not well formed, or that a spreadsheet program would not write."""


def declares_entities() -> Refused:
    """Entities that multiply are declared by a document type; no spreadsheet program writes one."""
    return Refused(
        "The file declares XML entities, which no spreadsheet program does.",
        "Do not trust it: ask whoever sent it for a new file.",
    )


class Walk:
    """What the cells of one member come to, in rows, columns, cells and characters.

    ``strings``: the length of each shared text. ``shared``: how many cells show which of them.
    ``errors``: place (row, column, from 0) to error word.
    """

    def __init__(self, most_rows: int, most_cells: int, title: str = "") -> None:
        self.most_rows, self.most_cells, self.title = most_rows, most_cells, title
        self.rows = self.columns = self.cells = self.text = self.merged = 0
        self.strings: list[int] = []
        self.shared: Counter[int] = Counter()
        self.errors: dict[tuple[int, int], str] = {}
        self._row = self._column = 0
        self._kind: str | None = None
        self._widths: dict[str, int] = {}
        self._take = {"s": self._refers, "e": self._error, "si": self._string}
        self._take |= {"inlineStr": self._inline, "str": self._inline}
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        self._parser.StartElementHandler = self._start
        self._parser.StartDoctypeDeclHandler = self._doctype

    def through(self, chunks: Iterable[bytes]) -> "Walk":
        """Walk through the whole member. Raises Refused, or Damaged."""
        try:
            for chunk in chunks:
                self._parser.Parse(chunk, False)
                self._check()
            self._parser.Parse(b"", True)
        except expat.ExpatError as trouble:
            raise Damaged(str(trouble)) from trouble
        finally:
            self._parser.StartElementHandler = self._parser.CharacterDataHandler = None
            self._take.clear()  # Parser and walk hold each other: memory is given back at once.
        self._check()
        return self

    def _doctype(self, *_: object) -> None:
        raise declares_entities()

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if ":" in name:
            name = name.rpartition(":")[2]
        if name == "c":
            self._cell(attributes)
            return
        self._parser.CharacterDataHandler = None
        if name in ("v", "t"):
            self._parser.CharacterDataHandler = self._take.get(self._kind)
        elif name == "row":
            self._begin_row(attributes)
        elif name == "si":
            self._kind = "si"
            self.strings.append(0)
        elif name == "mergeCell":
            self.merged += 1

    def _begin_row(self, attributes: dict[str, str]) -> None:
        number = attributes.get("r", "")
        self._row = int(number) if number.isdecimal() else self._row + 1
        self._column = 0
        self.rows = max(self.rows, self._row)
        self._check()

    def _cell(self, attributes: dict[str, str]) -> None:
        self._kind = attributes.get("t")
        self.cells += 1
        if name := attributes.get("r"):
            found = CELL.fullmatch(name)
            if not found:
                raise Damaged(f"There is no cell {name[:20]}.")
            self._row, self._column = int(found[2]), self._width(found[1])
        else:
            self._column += 1
        if self._row > self.rows or self._column > self.columns:
            self.rows = max(self.rows, self._row)
            self.columns = max(self.columns, self._column)
            self._check()

    def _width(self, letters: str) -> int:
        if letters not in self._widths:
            width = 0
            for letter in letters.upper():
                width = width * 26 + ord(letter) - 64
            self._widths[letters] = width
        return self._widths[letters]

    def _refers(self, text: str) -> None:
        if text.strip().isdecimal():
            self.shared[int(text)] += 1
        elif text.strip():
            raise Damaged("A cell refers to no text.")

    def _error(self, text: str) -> None:
        self.errors[self._row - 1, self._column - 1] = text.strip()[:20] or "#ERROR"

    def _string(self, text: str) -> None:
        self.strings[-1] += len(text)
        if self.strings[-1] > MOST_TEXT_OF_A_CELL:
            self._too_long()

    def _inline(self, text: str) -> None:
        self.text += len(text)
        if len(text) > MOST_TEXT_OF_A_CELL:
            self._too_long()

    def _too_long(self) -> None:
        where = f" near row {self._row:,}" if self._row else ""
        raise Refused(
            f"A cell{where} holds more than {MOST_TEXT_OF_A_CELL:,} characters.",
            "Shorten its text; a note of a few lines is enough.",
            self.title,
        )

    def _check(self) -> None:
        if self.rows > self.most_rows:
            raise Refused(
                f"The sheet reaches down to row {self.rows:,}.",
                f"Delete the rows that are not needed; {self.most_rows:,} are read.",
                self.title,
            )
        if max(self.rows * self.columns, self.cells) > self.most_cells:
            raise Refused(
                f"The sheet reaches to row {self.rows:,} and column {self.columns:,}.",
                "A stray cell is far out: select the rows and columns beyond the table, delete "
                "them, and save.",
                self.title,
            )
        counts = (
            (len(self.strings), MOST_STRINGS, "different texts"),
            (self.merged, MOST_MERGED, "merged ranges"),
            (len(self.errors), MOST_ERRORS, "cells with a formula's error"),
        )
        for number, most, what in counts:
            if number > most:
                raise Refused(
                    f"There are more than {most:,} {what}.", "Delete those not needed.", self.title
                )

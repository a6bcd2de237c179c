"""A wire in one cell: "8mm 1x19", "1x19 8 mm", "5/16 1x19", "Ø7 rod" - its size and what it is.

A size at one end of the cell, a word for the construction at the other. It is read where it can
mean one thing only; a word that nobody knows is asked about, and any other cell stays as it is.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ..sheets.kinds import Cell
from .sizes import UNITS, millimetres
from .vocabulary import CODES, words_of

IN_ONE_CELL = ("diameter mm", "construction")
BETWEEN = re.compile(r"(?:[\s;()]|,(?![0-9]))+")
LONGEST = 60  # Characters of a cell that may be a wire; a sentence is none.
CODES_OF_WIRE = {
    word: code for code, words in CODES["construction"].items() for word in (code, *words)
}


@dataclass(frozen=True)
class Wire:
    """The size as it is written, the word beside it, and our code: "" where it is not known."""

    size: str
    word: str
    code: str


def in_one_cell(cell: Cell, said: Mapping[str, str]) -> Wire | None:
    """Return size and construction of a cell that holds both, else None.

    ``said`` maps words to codes, as somebody has answered for them.
    """
    if not isinstance(cell, str) or len(cell) > LONGEST or is_size(cell):
        return None
    ways = list(dict.fromkeys(splits(cell, said)))
    known = [way for way in ways if way.code]
    sizes = {size_of(way.size) for way in known}
    if known:
        # Two ways that say the same are one: "8 mm" and "8" of "8 mm rod" are not.
        return known[0] if len(sizes) == 1 and len({way.code for way in known}) == 1 else None
    longest = max(ways, key=lambda way: len(way.size), default=None)
    one_end = len({cell.strip().startswith(way.size) for way in ways}) == 1
    return longest if one_end and sum(map(str.isalpha, longest.word)) > 1 else None


def splits(cell: str, said: Mapping[str, str]) -> Iterator[Wire]:
    """Yield every way to cut a cell into a size and words, the size first or last."""
    text = re.sub(r"(?i)(?<=[0-9])\s*mm(?=[0-9])", " mm ", cell.strip())
    tokens = [token for token in BETWEEN.split(text) if token.strip("-/–")]
    for place in range(1, len(tokens)):
        head, tail = " ".join(tokens[:place]), " ".join(tokens[place:])
        for size, word in ((head, tail), (tail, head)):
            if is_size(size):
                yield Wire(size, word.casefold(), code_of(word, said))


def code_of(word: str, said: Mapping[str, str]) -> str:
    answered = said.get(word.casefold(), "")
    return answered or CODES_OF_WIRE.get(words_of(word), "")


def is_size(text: str) -> bool:
    size = size_of(text)
    return size is not None and 0 < size < UNITS["m"]


def size_of(text: str) -> object:
    """Return a size in mm, a bare number as if it were mm; None if it is no size."""
    return millimetres(text, "mm", ".")

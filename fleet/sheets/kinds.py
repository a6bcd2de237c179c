"""Kinds of column other than dates: text, numbers, yes or no, and words from a list.

Each kind reads a cell into a typed value or raises ``Unreadable``, and writes the value back as a
cell that it reads again to the same value.
"""

import datetime as dt
import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any, Protocol

from .faults import Reading, Unreadable, nearest, shown

Cell = str | int | float | bool | dt.date | dt.datetime | dt.time | dt.timedelta | None

PLAIN = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)")
COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
THOUSANDS_OR_DECIMALS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
WITH_UNIT = re.compile(r"([+-]?[0-9]+(?:[.,][0-9]+)?)\s*[^\W\d_].*")
SPREADSHEET_DIGITS = 12  # A spreadsheet's 0.1 + 0.2 is 0.30000000000000004.


class Kind(Protocol):
    """A kind of column. ``blank`` is what an empty cell means."""

    @property
    def blank(self) -> Any: ...

    @property
    def allowed(self) -> str: ...

    def read(self, cell: Cell, reading: Reading) -> Any: ...

    def write(self, value: Any) -> Cell: ...


def folded(text: str) -> str:
    """Return a name for comparing: case, composed accents and runs of blanks do not matter."""
    return " ".join(unicodedata.normalize("NFC", text).casefold().split())


def is_blank(cell: Cell) -> bool:
    return cell is None or (isinstance(cell, str) and not cell.strip())


@dataclass(frozen=True)
class Text:
    """Text of at most ``most`` characters, NFC, on one line unless ``lines``."""

    most: int
    lines: bool = False
    blank: str = ""

    @property
    def allowed(self) -> str:
        return f"text, at most {self.most} characters"

    def read(self, cell: Cell, reading: Reading) -> str:
        text = unicodedata.normalize("NFC", written_out(cell))
        self._refuse_control_characters(text)
        text = text.strip() if self.lines else " ".join(text.split())
        if len(text) > self.most:
            raise Unreadable(
                f"The text has {len(text)} characters.",
                f"Shorten it to at most {self.most} characters.",
            )
        return text

    def _refuse_control_characters(self, text: str) -> None:
        fine = "\n\t\r" if self.lines else "\t"
        for place, character in enumerate(text, 1):
            if character in fine or unicodedata.category(character) not in ("Cc", "Cs"):
                continue
            what = "a line break" if character in "\n\r" else f"U+{ord(character):04X}"
            raise Unreadable(
                f"Character {place} is {what}, which is not text on one line."
                if what == "a line break"
                else f"Character {place} is the control character {what}.",
                "Type the text anew in this cell.",
            )

    def write(self, value: str) -> str:
        return value


@dataclass(frozen=True)
class Email(Text):
    """An address for mail, as far as its shape tells."""

    def read(self, cell: Cell, reading: Reading) -> str:
        text = super().read(cell, reading)
        if not re.fullmatch(r"[^@\s]+@[^@\s.]+(\.[^@\s.]+)+", text):
            raise Unreadable("This is not a mail address.", "Write it as name@example.org.")
        return text


@dataclass(frozen=True)
class Number:
    """A number with ``unit`` between ``least`` and ``most``; read as Decimal with ``places``."""

    unit: str
    least: float
    most: float
    places: int | None = None
    exact: bool = False
    blank: Any = None

    @property
    def allowed(self) -> str:
        return f"{self.unit}, {self.least:g} to {self.most:g}"

    def read(self, cell: Cell, reading: Reading) -> float | int | Decimal:
        number = number_in(cell, self.unit)
        # By their decimals: the binary 0.1 is a little more than 0.1.
        if not Decimal(str(self.least)) <= number <= Decimal(str(self.most)):
            raise Unreadable(
                "The number is negative." if number < 0 <= self.least else
                f"{shown(float(number))} is outside what is possible here.",
                f"Write {self.unit} between {self.least:g} and {self.most:g}.",
            )  # fmt: skip
        return self._rounded(number)

    def _rounded(self, number: Decimal) -> Any:
        if self.places is None:
            return float(number)
        rounded = number.quantize(Decimal(1).scaleb(-self.places))
        if self.exact and rounded != number:
            raise Unreadable(
                f"{number} has more than {self.places} decimals.",
                f"Write {rounded} if you mean that.",
            )
        return rounded

    def write(self, value: float | Decimal | None) -> Cell:
        return None if value is None else plain(float(value))


@dataclass(frozen=True)
class Whole(Number):
    """A whole number; 12.0 is one, 12.5 is not."""

    def _rounded(self, number: Decimal) -> int:
        if number != number.to_integral_value():
            raise Unreadable(f"{number} is not a whole number.", f"Write whole {self.unit}.")
        return int(number)


@dataclass(frozen=True)
class YesNo:
    """Yes or no."""

    blank: bool | None = False
    allowed: str = "yes or no"

    def read(self, cell: Cell, reading: Reading) -> bool:
        word = folded(written_out(cell))
        if word in ("yes", "true", "1"):
            return True
        if word in ("no", "false", "0"):
            return False
        raise Unreadable("This is neither yes nor no.", "Write yes or no.")

    def write(self, value: bool | None) -> Cell:
        return None if value is None else "yes" if value else "no"


@dataclass(frozen=True)
class Choice:
    """One of a list of words: ``words`` maps the code to what is written on screen.

    The code, its word and ``also`` (further words to code) are read, whatever their case, blanks
    and punctuation.
    """

    words: Mapping[str, str]
    also: Mapping[str, str] = field(default_factory=dict)
    blank: str | None = ""

    @property
    def allowed(self) -> str:
        return ", ".join(self.words.values())

    @cached_property
    def _known(self) -> dict[str, str]:
        spelt = {**self.also, **{code: code for code in self.words}}
        spelt |= {word: code for code, word in self.words.items()}
        return {letters(word): code for word, code in spelt.items()}

    def read(self, cell: Cell, reading: Reading) -> str:
        text = written_out(cell)
        try:
            return self._known[letters(text)]
        except KeyError:
            hint = nearest(text, self.words.values())
            allowed = self.allowed if len(self.words) < 15 else "the words of the notes sheet"
            raise Unreadable(
                "This word is not known here.", f"{hint} Write one of: {allowed}.".strip()
            ) from None

    def write(self, value: str) -> Cell:
        return self.words.get(value, value)


def letters(text: str) -> str:
    """Return only the letters and digits of a word, without case: ``Cap_shroud`` is capshroud."""
    text = unicodedata.normalize("NFKC", text).replace("×", "x").casefold()
    return "".join(character for character in text if character.isalnum())


def written_out(cell: Cell) -> str:
    """Return a cell as the text a person would have typed: 1234.0 is ``1234``."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(plain(cell))
    return "" if cell is None else str(cell)


def plain(number: float) -> int | float:
    """Return a whole float as an int, so that it is written without ``.0``."""
    return int(number) if math.isfinite(number) and number.is_integer() else number


def number_in(cell: Cell, unit: str) -> Decimal:
    if isinstance(cell, bool) or not isinstance(cell, (int, float, str)):
        raise Unreadable(
            f"This is {'yes or no' if isinstance(cell, bool) else 'a date'}, not a number.",
            f"Write {unit} as a plain number, and format the cell as a number.",
        )
    if isinstance(cell, str):
        return number_in_text(cell.strip().replace("\N{MINUS SIGN}", "-"), unit)
    if not math.isfinite(cell):
        raise Unreadable("This is not a number.", f"Write {unit} as a plain number.")
    return Decimal(repr(plain(float(f"{cell:.{SPREADSHEET_DIGITS}g}"))))


def number_in_text(text: str, unit: str) -> Decimal:
    if PLAIN.fullmatch(text):
        return Decimal(text)
    if THOUSANDS_OR_DECIMALS.fullmatch(text):
        raise Unreadable(
            "This may be a decimal comma or thousands.",
            f"Write {text.replace(',', '.')} or {text.replace(',', '')}.",
        )
    if COMMA.fullmatch(text):
        return Decimal(text.replace(",", "."))
    number = WITH_UNIT.fullmatch(text)
    hint = f", for example {number[1].replace(',', '.')}" if number else ""
    raise Unreadable("This is not a plain number.", f"Write {unit} as a number alone{hint}.")

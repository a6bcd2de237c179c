"""The formulas of a workbook computed by themselves, for those of more than one sum.

Knows +, -, *, /, ROUND, MAX, MIN and SUM over cells and ranges of one sheet, in exact decimals,
and half rounded away from nothing as spreadsheets do. Anything else fails.
"""

import re
from decimal import ROUND_HALF_UP, Decimal

from .reading import Sheets, column_number

CELL = re.compile(r"(?<![A-Z'!:])\$?([A-Z]{1,2})\$?(\d+)(?::\$?([A-Z]{1,2})\$?(\d+))?")


def rounded(value: Decimal, places: int) -> Decimal:
    return Decimal(value).quantize(Decimal(1).scaleb(-int(places)), ROUND_HALF_UP)


def added(*values) -> Decimal:
    flat = [each for value in values for each in (value if isinstance(value, list) else [value])]
    return sum(flat, Decimal(0))


def computed(book: Sheets, name: str, formula: str) -> Decimal:
    """Return what the formula of that sheet gives, from the values of the cells it names."""
    rows = book.rows[name]

    def at(row: int, column: int) -> Decimal:
        value = rows[row][column]
        return Decimal(repr(value)) if isinstance(value, int | float) else Decimal(0)

    def named(match: re.Match) -> str:
        left, top, right, bottom = match.groups()
        if right is None:
            return f"D('{at(int(top) - 1, column_number(left))}')"
        block = [
            f"D('{at(row, column)}')"
            for row in range(int(top) - 1, int(bottom))
            for column in range(column_number(left), column_number(right) + 1)
        ]
        return f"[{','.join(block)}]"

    words = {"ROUND": rounded, "MAX": max, "MIN": min, "SUM": added, "D": Decimal}
    text = CELL.sub(named, formula)
    text = re.sub(r"(?<![\w'.])(\d+(?:\.\d+)?)(?!['\w.])", r"D('\1')", text)
    return eval(text, {"__builtins__": {}}, words)

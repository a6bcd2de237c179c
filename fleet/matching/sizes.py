"""Numbers with their units: 8, 8 mm, 5/16", 0.25 in, 1 1/4 in, 42' 6", 13,25 m.

An imperial size is kept as its true size in millimetres, to two decimals: 5/32 in is 3.97 mm and
never "4 mm", because metric and imperial sizes are not interchangeable. 1 in = 25.4 mm exactly
(international yard and pound agreement of 1959).
"""

import re
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from ..sheets.kinds import Cell, plain

MOST = 10**9  # Millimetres; no rig is longer, and rounding such a number would fail.
INCH = Decimal("25.4")
UNITS = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": INCH,
    "32nds": INCH / 32,
    "16ths": INCH / 16,
    "ft": INCH * 12,
}
UNIT_LABELS = {
    "mm": "millimetres",
    "cm": "centimetres",
    "m": "metres",
    "in": "inches",
    "32nds": "thirty-seconds of an inch",
    "16ths": "sixteenths of an inch",
    "ft": "feet",
}
SPELT = {
    "mm": "mm", "millimetres": "mm", "millimeters": "mm", "cm": "cm", "m": "m", "metres": "m",
    "meters": "m", "in": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in",
    "ft": "ft", "feet": "ft", "foot": "ft", "'": "ft", "′": "ft", "’": "ft", "ins": "in",
}  # fmt: skip
SIZED = {"diameter mm": "mm", "pin mm": "mm", "pin to pin mm": "mm", "length m": "m"}
VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}

NUMBER = r"[0-9]+(?:[.,][0-9]+)*"
FRACTION = re.compile(r"(?:([0-9]{1,4})[ -]+)?([0-9]{1,4})/([0-9]{1,4})")
WITH_UNIT = re.compile(rf"({NUMBER}|[0-9 -]*[0-9]+/[0-9]+)\s*([a-z]+|[\"'″′”’])\.?")
FEET_INCHES = re.compile(
    r"([0-9]+)\s*(?:ft|feet|foot|['′’])\s*([0-9 /.]+?)\s*(?:ins?|inch|inches|[\"″”])?"
)
LEADING = re.compile(r"^(?:ø|⌀|dia\.?|diam\.?)\s*")
ONE_OR_TWO = re.compile(r"[0-9]+[.,][0-9]{1,2}")
THREE = re.compile(r"[0-9]{1,3}([.,])[0-9]{3}")


def cleaned(text: str) -> str:
    text = text.strip().casefold()
    for sign, written in VULGAR.items():
        text = re.sub(rf"(?<=[0-9])\s*{sign}", f" {written}", text).replace(sign, written)
    return LEADING.sub("", text)


def decimal_of(text: str, sign: str) -> Decimal | None:
    """Return a number written with that decimal sign; None if it cannot be one."""
    if not sign and THREE.fullmatch(text) and not text.startswith("0"):
        return None  # 13,250: nobody has said yet whether these are decimals.
    sign = sign or "."
    other = "," if sign == "." else "."
    if not re.fullmatch(NUMBER, text) or text.count(sign) > 1:
        return None
    whole, _, decimals = text.partition(sign)
    if other in decimals or (other in whole and not re.fullmatch(
        rf"[0-9]{{1,3}}(?:{re.escape(other)}[0-9]{{3}})+", whole
    )):  # fmt: skip
        # 8,5 is 8.5 whatever the decimal sign: no thousands have one figure.
        return Decimal(text.replace(",", ".")) if ONE_OR_TWO.fullmatch(text) else None
    return Decimal(whole.replace(other, "") + (f".{decimals}" if decimals else ""))


def fraction(text: str) -> Decimal | None:
    made = FRACTION.fullmatch(text.strip())
    if not made or int(made[3]) == 0:
        return None
    return Decimal(int(made[1] or 0)) + Decimal(int(made[2])) / Decimal(int(made[3]))


def own_unit(cell: Cell) -> str:
    """Return the unit a cell says itself; a fraction is of an inch. "" where it says none."""
    if not isinstance(cell, str):
        return ""
    text = cleaned(cell)
    if FRACTION.fullmatch(text):
        return "in"
    if FEET_INCHES.fullmatch(text):
        return "ft"
    made = WITH_UNIT.fullmatch(text)
    return SPELT.get(made[2], "") if made else ""


def bare(cell: Cell) -> bool:
    """Return whether a cell is a number that says no unit."""
    if isinstance(cell, bool):
        return False
    return isinstance(cell, (int, float)) or (
        isinstance(cell, str) and bool(re.fullmatch(NUMBER, cleaned(cell)))
    )


def millimetres(cell: Cell, unit: str, sign: str) -> Decimal | None:
    """Return a size in mm, or None where the cell is no size or its unit is not known."""
    if isinstance(cell, bool) or not isinstance(cell, (int, float, str)):
        return None
    if not isinstance(cell, str):
        number = Decimal(f"{cell:.12g}")
        return number * UNITS[unit] if unit in UNITS and number.is_finite() else None
    text = cleaned(cell)
    if inches := fraction(text):
        return inches * INCH
    if both := FEET_INCHES.fullmatch(text):
        inches = fraction(both[2]) or decimal_of(both[2].strip(), sign)
        return None if inches is None else (Decimal(both[1]) * 12 + inches) * INCH
    made = WITH_UNIT.fullmatch(text)
    said, number = (SPELT.get(made[2], ""), made[1]) if made else (unit, text)
    value = fraction(number) or decimal_of(number, sign)
    return None if value is None or said not in UNITS else value * UNITS[said]


def converted(cell: Cell, header: str, unit: str, sign: str) -> Cell:
    """Return a size in the unit of our header to two decimals; a text if it is none."""
    size = millimetres(cell, unit, sign)
    if size is None or abs(size) > MOST:
        # A bare number that is not understood must not pass for one in our unit.
        return f"{cell} ({unit or 'unit not said'})" if bare(cell) else cell
    whole = header == "pin to pin mm" and (own_unit(cell) or unit) != "mm"
    step = Decimal(1) if whole else Decimal("0.01")
    size = (size / UNITS[SIZED[header]]).quantize(step, ROUND_HALF_UP)
    return plain(float(size))


def plain_number(cell: Cell, sign: str) -> Cell:
    """Return a number written with that decimal sign; the cell itself if it is none."""
    if not isinstance(cell, str) or not sign:
        return cell
    number = decimal_of(cell.strip(), sign)
    return cell if number is None else float(number)


def proven_unit(cells: Iterable[Cell]) -> str:
    """Return "in" if every bare number is under 1: a wire thinner than 1 mm is no stay's."""
    numbers = [millimetres(cell, "mm", ".") for cell in cells if bare(cell)]
    return "in" if numbers and all(n is not None and 0 < n < 1 for n in numbers) else ""


def proven_sign(cells: Iterable[Cell]) -> str | None:
    """Return the decimal sign the cells prove; "" if there is nothing to ask, None if it is open.

    13,250 may be thirteen and a quarter or thirteen thousand: open, unless another cell proves.
    """
    proofs, doubtful = set(), False
    for cell in {cell for cell in cells if isinstance(cell, str)}:
        for text in re.findall(NUMBER, cell):
            signs = [character for character in text if character in ".,"]
            if len(set(signs)) == 2:
                proofs.add(signs[-1])
            elif len(signs) > 1:
                proofs.add("." if signs[0] == "," else ",")
            elif THREE.fullmatch(text) and not text.startswith("0"):
                doubtful = True
            elif signs:
                proofs.add(signs[0])
    if len(proofs) == 1:
        return proofs.pop()
    return None if doubtful or len(proofs) == 2 else ""

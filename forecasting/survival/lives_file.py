"""Lives from a CSV file, every fault found with its file row and column before anything is fitted.

Columns boat, entry_age, good_at, condemned_at, failed_at, weight; every other column is a numeric
covariate. Rows are counted as a spreadsheet shows them: the header is row 1.
"""

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .lives import RESERVED, Lives

AGES = ("entry_age", "good_at", "condemned_at", "failed_at")
KNOWN = ("boat", *AGES, "weight")
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
SHOWN = 50
LARGEST = 1e100  # beyond, sums of squares are no numbers any more


@dataclass(frozen=True)
class Fault:
    """One thing wrong at one place of the file; row 0 means the file as a whole."""

    row: int
    column: str
    sentence: str

    def __str__(self) -> str:
        place = [f"row {self.row}"] if self.row else []
        place += [f"column {self.column}"] if self.column else []
        return f"{', '.join(place) or 'file'}: {self.sentence}"


class FaultyFile(Exception):
    """The file cannot be read as lives. faults: every one found, in file order."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = sorted(faults, key=lambda fault: fault.row)
        more = len(faults) - SHOWN
        lines = [str(fault) for fault in self.faults[:SHOWN]]
        super().__init__("\n".join(lines + ([f"and {more} more faults"] if more > 0 else [])))


@dataclass(frozen=True)
class Table:
    """The cells as text, stripped: columns by name, and the file row of each record."""

    columns: dict[str, list[str]]
    rows: np.ndarray

    @property
    def covariates(self) -> tuple[str, ...]:
        return tuple(name for name in self.columns if name not in KNOWN)


def read_lives(path: Path) -> Lives:
    """The lives of a CSV file. Raises FaultyFile with every fault, or OSError."""
    table = read_table(path.read_bytes())
    faults: list[Fault] = []
    numbers = {name: _numbers(table, name, faults) for name in (*AGES, "weight", *table.covariates)}
    faults += [
        Fault(int(row), "boat", "blank; name the boat, errors are clustered by it.")
        for row, boat in zip(table.rows, table.columns["boat"], strict=True)
        if not boat
    ]
    for name in table.covariates:
        blank = np.array([not cell for cell in table.columns[name]])
        faults += _at(table, blank, name, "blank; a covariate needs a number in every row.")
    if faults:
        raise FaultyFile(faults)
    return _lives(table, numbers)


def _lives(table: Table, numbers: dict[str, np.ndarray]) -> Lives:
    entry = _filled(numbers["entry_age"], 0.0)
    good = _filled(numbers["good_at"], entry)
    condemned, failed = numbers["condemned_at"], numbers["failed_at"]
    weight = _filled(numbers["weight"], 1.0)
    silent = np.isnan(numbers["good_at"]) & np.isnan(condemned) & np.isnan(failed)
    below = "below 0; an age counts from fitting."
    checks = (
        *((numbers[name] < 0, name, below) for name in AGES),
        (silent, "good_at", "good_at, condemned_at and failed_at are all blank; give one."),
        (
            (good < entry) & ~(good < 0),
            "good_at",
            "below entry_age; a part is seen good only after it is watched.",
        ),
        (condemned <= good, "condemned_at", "not above good_at (a blank good_at is entry_age)."),
        (failed < good, "failed_at", "below good_at (a blank good_at is entry_age)."),
        (failed <= 0, "failed_at", "not above 0; an age at failure must be positive."),
        (
            ~np.isnan(condemned) & ~np.isnan(failed),
            "failed_at",
            "condemned_at and failed_at both given; keep the one that ended the part.",
        ),
        (weight <= 0, "weight", "not above 0; leave the row out instead."),
    )
    faults = [f for wrong, column, text in checks for f in _at(table, wrong, column, text)]
    if faults:
        raise FaultyFile(faults)
    names = table.covariates
    return Lives(
        entry=entry,
        good=good,
        condemned=_filled(condemned, np.inf),
        failed=failed,
        weight=weight,
        cluster=np.array(table.columns["boat"], dtype=object),
        X=np.column_stack([numbers[name] for name in names]) if names else None,
        names=names,
    )


def read_table(raw: bytes) -> Table:
    """Header and records of a comma-separated UTF-8 file; wholly blank lines are passed over."""
    records = _records(_text(raw))
    if not records:
        raise FaultyFile([Fault(0, "", "the file is empty; the first row must name the columns.")])
    row, names = records[0]
    while names and not names[-1]:
        names = names[:-1]
    _check_header(row, names)
    body = [(row, _cut(cells, len(names))) for row, cells in records[1:]]
    _check_widths(body, len(names))
    if not body:
        raise FaultyFile([Fault(0, "", "there are no lives below the header.")])
    columns = zip(*(cells for _, cells in body), strict=True)
    return Table(
        dict(zip(names, map(list, columns), strict=True)), np.array([row for row, _ in body])
    )


def _text(raw: bytes) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        row = raw[: wrong.start].count(b"\n") + 1
        raise FaultyFile(
            [Fault(row, "", "not UTF-8 text; save the file as CSV in UTF-8.")]
        ) from wrong


def _records(text: str) -> list[tuple[int, list[str]]]:
    """(row, stripped cells) of every record that is not blank throughout."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    records, row = [], 0
    try:
        for row, cells in enumerate(reader, start=1):
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                records.append((row, stripped))
    except csv.Error as wrong:
        raise FaultyFile([Fault(row + 1, "", f"not readable as CSV: {wrong}.")]) from wrong
    return records


def _cut(cells: list[str], width: int) -> list[str]:
    """Without blank cells to the right of the last named column, which spreadsheets leave."""
    return cells[:width] if not any(cells[width:]) else cells


def _check_header(row: int, names: list[str]) -> None:
    if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
        sentence = (
            "columns must be separated by commas, decimals by a point; save it as such a CSV."
        )
        raise FaultyFile([Fault(row, "", sentence)])
    found = ", ".join(names)
    faults = [
        Fault(
            row,
            name,
            f"missing (found: {found}); its cells may be blank, but name it.",
        )
        for name in KNOWN
        if name not in names
    ]
    faults += [
        Fault(row, str(place), "has no name; name it or remove it.")
        for place, name in enumerate(names, start=1)
        if not name
    ]
    repeated = dict.fromkeys(name for name in names if name and names.count(name) > 1)
    faults += [Fault(row, name, "named twice; rename or remove one.") for name in repeated]
    faults += [
        Fault(row, name, "the model uses this name itself; rename the covariate.")
        for name in RESERVED
        if name in names
    ]
    if faults:
        raise FaultyFile(faults)


def _check_widths(body: list[tuple[int, list[str]]], width: int) -> None:
    faults = [
        Fault(row, "", f"has {len(cells)} cells where the header names {width} columns.")
        for row, cells in body
        if len(cells) != width
    ]
    if faults:
        raise FaultyFile(faults)


def _numbers(table: Table, name: str, faults: list[Fault]) -> np.ndarray:
    """(n,) the column's numbers, nan where blank; what is not a finite number goes to faults."""
    values = np.full(len(table.rows), np.nan)
    for place, cell in enumerate(table.columns[name]):
        if NUMBER.fullmatch(cell):
            values[place] = float(cell)
        elif cell:
            advice = "; use a decimal point" if "," in cell else ""
            faults.append(Fault(int(table.rows[place]), name, f"{cell!r} is not a number{advice}."))
    faults += _at(table, np.abs(values) > LARGEST, name, "too large to be a number.")
    return values


def _at(table: Table, wrong: np.ndarray, column: str, sentence: str) -> list[Fault]:
    return [Fault(int(row), column, sentence) for row in table.rows[wrong]]


def _filled(values: np.ndarray, blank: float | np.ndarray) -> np.ndarray:
    return np.where(np.isnan(values), blank, values)

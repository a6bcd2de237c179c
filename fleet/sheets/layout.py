"""What a sheet looks like: its columns, and what was read from one."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from .faults import EPOCH, Fault
from .kinds import Cell, Kind

Range = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True)
class Column:
    """One column. ``needed``: it must be there, and every row must fill it."""

    header: str
    kind: Kind
    about: str
    needed: bool = False
    example: str = ""


@dataclass(frozen=True)
class Layout:
    """One sheet. Columns are known by their header, in any order, whatever its case."""

    name: str
    about: str
    columns: tuple[Column, ...]

    def __iter__(self) -> Iterator[Column]:
        return iter(self.columns)

    def __getitem__(self, header: str) -> Column:
        return {column.header: column for column in self.columns}[header]

    @property
    def headers(self) -> list[str]:
        return [column.header for column in self.columns]

    def cells(self, values: Mapping[str, Any]) -> list[Cell]:
        """Return one row's cells in the order of the columns; what is not given stays empty."""
        return [column.kind.write(values.get(column.header)) for column in self.columns]


@dataclass(frozen=True)
class RawSheet:
    """A sheet as it stands in the file. Rows and columns of ``merged`` and ``errors`` from 0.

    ``numbers``: the number each row goes by in faults, where that is not its place in ``rows``.
    """

    name: str
    rows: list[list[Cell]]
    merged: tuple[Range, ...] = ()
    errors: Mapping[tuple[int, int], str] = field(default_factory=dict)
    epoch: dt.date = EPOCH
    numbers: tuple[int, ...] = ()

    def number(self, index: int) -> int:
        """Return the number a row, by its index, goes by: from 1 unless ``numbers`` are given."""
        return self.numbers[index] if self.numbers else index + 1


@dataclass(frozen=True)
class Row:
    """One row, typed, by header. A column the file does not have is not in ``values``."""

    number: int
    values: dict[str, Any]

    def __getitem__(self, header: str) -> Any:
        return self.values[header]

    def __contains__(self, header: str) -> bool:
        return header in self.values

    def get(self, header: str, otherwise: Any = None) -> Any:
        return self.values.get(header, otherwise)


@dataclass(frozen=True)
class Table:
    """What was read from one sheet. ``bad`` rows hold only the cells that could be read.

    ``broken``: the sheet as a whole cannot be used, so nothing that refers to it can be checked.
    """

    name: str
    rows: tuple[Row, ...] = ()
    bad: tuple[Row, ...] = ()
    faults: tuple[Fault, ...] = ()
    broken: bool = False

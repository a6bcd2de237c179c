"""A match applied: their rows as ours, each knowing where in their file it came from."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ..sheets import Choice, Day, Fault, Layout, Number, RawSheet, YesNo
from ..sheets.faults import shown
from ..sheets.kinds import Cell
from ..sheets.reading import letters_of
from . import days, sizes
from .contents import Rows, word_of
from .match import AS_IT_IS, LEFT_OUT, UNDECIDED, ColumnMatch, Match
from .proposing import Layouts
from .vocabulary import NOT_KNOWN
from .wires import IN_ONE_CELL, Wire, code_of, in_one_cell

# Rows made here are numbered from here on, unlike any row of a file, so that a number in the
# words of a fault can be told and put back.
FIRST_NUMBER = 1_000_000_000
ROW_IN_WORDS = re.compile(r"\b([Rr]ow )(1[0-9]{9})\b")
PLACE = ("boat", "mast", "stay", "side")
Placed = tuple[int, ColumnMatch]
ACROSS = " \N{RIGHTWARDS ARROW} "


@dataclass(frozen=True)
class Origin:
    """Where one of our rows came from: their sheet, row (from 1), and the place of each header."""

    rows: Rows
    index: int
    places: Mapping[str, int]

    @property
    def title(self) -> str:
        return self.rows.table.title

    @property
    def row(self) -> int:
        return self.index + 1

    def column(self, header: str) -> str:
        """Return their name of our column, with its letters, and ours after it."""
        place = self.places.get(header)
        if place is None:
            return header
        label = self.rows.table.columns[place].label
        return f"{letters_of(place)} “{label}”{ACROSS}{header}"

    def value(self, header: str) -> str | None:
        """Return their cell as it stands; None where our column has none of theirs."""
        place = self.places.get(header)
        if place is None or self.rows.table.columns[place].to != header:
            return None
        return shown(self.rows.raw_cell(self.index, place))


@dataclass
class Matched:
    """Their file in our layout. ``silent`` are their rows (title, number) that give no row."""

    sheets: dict[str, RawSheet] = field(default_factory=dict)
    origins: dict[int, Origin] = field(default_factory=dict)
    silent: list[tuple[str, int]] = field(default_factory=list)

    def theirs(self, fault: Fault) -> Fault:
        """Return a fault with their sheet, row, column and cell in place of ours."""
        wrong, right = (ROW_IN_WORDS.sub(self._row, text) for text in (fault.wrong, fault.right))
        origin = self.origins.get(fault.row) or (None if fault.row else self._head(fault.sheet))
        if origin is None:
            return replace(fault, wrong=wrong, right=right)
        value = origin.value(fault.column)
        return Fault(
            origin.title, origin.row, origin.column(fault.column),
            fault.value if value is None else value, wrong, right,
        )  # fmt: skip

    def _head(self, sheet: str) -> Origin | None:
        """Return where the headers of one of our sheets stand in their file."""
        return self.origins.get(self.sheets[sheet].number(0)) if sheet in self.sheets else None

    def _row(self, found: re.Match) -> str:
        origin = self.origins.get(int(found[2]))
        return f"{found[1]}{origin.row}" if origin else found[0]


@dataclass(frozen=True)
class Line:
    """One row of ours before it is laid out."""

    values: dict[str, Cell]
    errors: dict[str, str]
    origin: Origin


def apply(
    match: Match,
    raws: Sequence[RawSheet],
    layouts: Layouts,
    today: dt.date,
    most: int | None = None,
) -> Matched:
    """Return their rows in our layout, of each sheet at most the first ``most``."""
    made = Matched()
    lines: dict[str, list[Line]] = {}
    for table in match.tables:
        if table.target not in layouts:
            continue
        rows = Rows(raws[table.sheet], table)
        reader = _Reader(rows, layouts[table.target], today)
        ours = lines.setdefault(table.target, [])
        for index in rows:
            if most is not None and len(ours) >= most:
                break
            new = list(reader.lines(index))
            ours += new
            if not new:
                made.silent.append((table.title, index + 1))
    for name in layouts:
        if name in lines:
            made.sheets[name] = laid_out(layouts[name], lines[name], match, raws, made)
    return made


def laid_out(
    layout: Layout, lines: list[Line], match: Match, raws: Sequence[RawSheet], made: Matched
) -> RawSheet:
    """Return lines as a raw sheet of ours under our headers, and note where each came from."""
    table = next(table for table in match.tables if table.target == layout.name)
    head = Origin(Rows(raws[table.sheet], table), table.top, {})
    used = {header for line in lines for header in line.values}
    headers = [header for header in layout.headers if header in used]
    numbers, errors = [], {}
    for number, origin in enumerate([head, *(line.origin for line in lines)]):
        numbers.append(FIRST_NUMBER + len(made.origins))
        made.origins[numbers[number]] = origin
    for number, line in enumerate(lines, 1):
        errors |= {(number, headers.index(h)): error for h, error in line.errors.items()}
    cells = [[line.values.get(header) for header in headers] for line in lines]
    return RawSheet(layout.name, [list(headers), *cells], errors=errors, numbers=tuple(numbers))


class _Reader:
    """Reads the rows of one of their sheets."""

    def __init__(self, rows: Rows, layout: Layout, today: dt.date) -> None:
        self.rows, self.table, self.layout, self.today = rows, rows.table, layout, today
        self.kinds = {column.header: column.kind for column in layout}
        self.above: dict[str, int] = {}
        used = [(p, c) for p, c in self.table.used() if c.to in self.kinds]
        self.shared = [(place, column) for place, column in used if not any(column.about)]
        self.by_stay: dict[tuple[str, str], list[Placed]] = {}
        for place, column in used:
            if any(column.about):
                self.by_stay.setdefault(column.about, []).append((place, column))
        self.told = self.table.words.get("construction", {})
        # A row that says the stay itself is about that stay, whatever else stands in it.
        self.plain = not self.by_stay or any(column.to == "stay" for _, column in self.shared)

    def lines(self, index: int) -> Iterator[Line]:
        """Yield the row, or one for each stay or fitting of which it says something."""
        if self.plain:
            yield self.line(index, self.shared, {})
        for (stay, part), columns in self.by_stay.items():
            if any(self.rows.cell(index, p) is not None or self.rows.error(index, p)
                   for p, _ in columns):  # fmt: skip
                said = split(stay) | ({"part": part} if part else {})
                yield self.line(index, [*self.shared_with(part), *columns], said)

    def shared_with(self, part: str) -> list[Placed]:
        """Return the columns that speak of the part too.

        A fitting takes only its place from the row: when its wire was renewed and what that is
        made of says nothing of a turnbuckle or a chainplate.
        """
        return [each for each in self.shared if not part or each[1].to in PLACE]

    def line(self, index: int, columns: list[Placed], said: dict) -> Line:
        values: dict[str, Cell] = {**self.table.fixed, **said}
        places = {name: place for place, column in columns if any(column.about) for name in said}
        errors: dict[str, str] = {}
        beside: dict[str, tuple[Cell, int]] = {}
        for place, column in columns:
            row = self.row_for(index, place, column)
            values.setdefault(column.to, None)
            if error := self.rows.error(row, place):
                errors[column.to], places[column.to] = error, place
            cell = self.rows.cell(row, place)
            if cell is not None or column.to not in places:
                places[column.to] = place
            if cell is not None:
                made = self.put(values, cell, column)
                beside |= {header: (value, place) for header, value in made.items()}
        for header, (value, place) in beside.items():
            agree(values, places, header, value, place)
        if "date certainty" in values and "date certainty" not in places:
            places["date certainty"] = places["fitted"]
        return Line(values, errors, Origin(self.rows, index, places))

    def row_for(self, index: int, place: int, column: ColumnMatch) -> int:
        """Return the row whose cell holds here: for a boat that is not repeated, the one above."""
        if column.to != "boat" or self.table.fill != "yes":
            return index
        if self.rows.cell(index, place) is not None:
            self.above[column.to] = index
        return self.above.get(column.to, index)

    def put(self, values: dict[str, Cell], cell: Cell, column: ColumnMatch) -> dict[str, Cell]:
        """Put one cell of theirs into the row, in our words and units.

        Return what it says under another header: of a wire in one cell, the other half.
        """
        header, kind = column.to, self.kinds[column.to]
        if isinstance(kind, (Number, Day)) and word_of(cell) in NOT_KNOWN:
            return {}
        wire = in_one_cell(cell, self.told) if header in IN_ONE_CELL else None
        if wire and wire.code not in (UNDECIDED, AS_IT_IS):
            return self.put_wire(values, wire, column)
        self.put_one(values, cell, column)
        return {}

    def put_wire(self, values: dict[str, Cell], wire: Wire, column: ColumnMatch) -> dict[str, Cell]:
        size = sizes.converted(wire.size, "diameter mm", column.unit, self.table.decimal)
        code = None if wire.code == LEFT_OUT else wire.code
        both = {"diameter mm": size, "construction": code}
        values[column.to] = both.pop(column.to)
        return {header: value for header, value in both.items() if value is not None}

    def put_one(self, values: dict[str, Cell], cell: Cell, column: ColumnMatch) -> None:
        header, kind = column.to, self.kinds[column.to]
        if header in sizes.SIZED:
            values[header] = sizes.converted(cell, header, column.unit, self.table.decimal)
        elif isinstance(kind, Day):
            self.put_date(values, cell, header)
        elif isinstance(kind, Number):
            values[header] = sizes.plain_number(cell, self.table.decimal)
        elif isinstance(kind, (Choice, YesNo)):
            self.put_word(values, cell, header)
        else:
            values[header] = cell

    def put_date(self, values: dict[str, Cell], cell: Cell, header: str) -> None:
        found = days.known(cell, self.table.order, self.today, self.rows.raw.epoch)
        values[header] = cell if found is None else found[0]
        own = any(column.to == "date certainty" for _, column in self.table.used())
        if found and found[1] and header == "fitted" and not own:
            values["date certainty"] = found[1]

    def put_word(self, values: dict[str, Cell], cell: Cell, header: str) -> None:
        code = self.table.words.get(header, {}).get(word_of(cell), AS_IT_IS) or AS_IT_IS
        if code == AS_IT_IS:
            values[header] = cell
        elif header == "stay" and "/" in code:
            # What a column of its own says of side and mast goes before the words of the stay.
            values |= {k: v for k, v in split(code).items() if k == "stay" or not values.get(k)}
        else:
            values[header] = None if code == LEFT_OUT else code


def agree(
    values: dict[str, Cell], places: dict[str, int], header: str, value: Cell, place: int
) -> None:
    """Put what another column's cell says; where the two differ, both, for the check to refuse."""
    own = values.get(header)
    if own is None:
        values[header], places[header] = value, place
    elif own != value and code_of(str(own), {}) != value:
        values[header], places[header] = f"{value}, and {own} in its own column", place


def split(stay: str) -> dict[str, str]:
    """Return mast, stay, side and fitting of a code such as "main/cap_shroud/port"."""
    if "/" not in stay:
        return {"stay": stay} if stay else {}
    mast, name, side, *part = stay.split("/")
    return {"mast": mast, "stay": name, "side": side} | ({"part": part[0]} if part else {})

"""The match as a form: what to show for each of their columns and words, and what was answered."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from fleet.matching import ColumnMatch, Match, Question, TableMatch, rematched, settled_match
from fleet.matching.contents import Rows, sizes_under
from fleet.matching.days import ORDERS
from fleet.matching.headers import BY_STAY, WHOLE_RIG
from fleet.matching.match import AS_IT_IS, LEFT_OUT, UNDECIDED
from fleet.matching.sizes import SIZED, UNIT_LABELS
from fleet.matching.stay_words import PAIRED, PARTS
from fleet.models import Stay
from fleet.sheets import Choice, Layout, RawSheet
from fleet.sheets.faults import shown
from fleet.sheets.reading import letters_of

from .matched_files import LAYOUTS

SAMPLES = 3
CHOOSE = (UNDECIDED, "choose")
ROWS = [("1", "one"), ("2", "two")]
Options = list[tuple[str, str]]


@dataclass(frozen=True)
class Field:
    """One select, or one line of text where it has no options. ``asked``: what is still open."""

    name: str
    label: str
    value: str
    options: Options = field(default_factory=list)
    asked: str = ""


@dataclass(frozen=True)
class ColumnRow:
    """One of their columns with its first cells and what is said of it."""

    letters: str
    label: str
    samples: str
    to: Field
    stay: Field | None
    part: Field | None
    unit: Field | None


@dataclass(frozen=True)
class TableForm:
    """One of their sheets."""

    title: str
    target: Field
    top: Field
    header_rows: Field
    columns: list[ColumnRow]
    about: list[Field]
    words: list[Field]


def forms(match: Match, raws: Sequence[RawSheet], asked: Sequence[Question]) -> list[TableForm]:
    """Return the form of each sheet, with the open questions beside their fields."""
    return [
        _Form(number, table, raws[table.sheet], asked).form()
        for number, table in enumerate(match.tables)
    ]


def field_name(number: int, part: str) -> str:
    return f"t{number}-{part.replace(' ', '_')}"


class _Form:
    def __init__(
        self, number: int, table: TableMatch, raw: RawSheet, asked: Sequence[Question]
    ) -> None:
        self.number, self.table, self.rows = number, table, Rows(raw, table)
        self.layout = LAYOUTS.get(table.target)
        self.asked = {each.part: each.sentence for each in asked if each.table == number}
        self.wide = any(any(column.about) for column in table.columns)

    def field(self, part: str, label: str, value: str, options: Options = ()) -> Field:
        name = field_name(self.number, part)
        return Field(name, label, value, list(options), self.asked.get(part, ""))

    def form(self) -> TableForm:
        sheets = [CHOOSE, (LEFT_OUT, "not read"), *((name, name) for name in LAYOUTS)]
        known = self.layout is not None
        return TableForm(
            self.table.title,
            self.field("target", "Read it as our sheet", self.table.target, sheets),
            self.field("top", "Headers begin in row", str(self.table.top + 1)),
            self.field("rows", "Header rows", str(self.table.header_rows), ROWS),
            [self.column(place, each) for place, each in enumerate(self.table.columns)]
            if known else [],
            list(self.about()) if known else [],
            list(self.words()) if known else [],
        )  # fmt: skip

    def column(self, place: int, column: ColumnMatch) -> ColumnRow:
        label = column.label or f"column {letters_of(place)}"
        headers = [(header, header) for header in self.layout.headers]
        options = [CHOOSE, (LEFT_OUT, "leave it out"), *headers]
        return ColumnRow(
            letters_of(place),
            label,
            ", ".join(dict.fromkeys(map(shown, self.rows.column(place)[: 10 * SAMPLES])))[:60],
            self.field(
                f"to-{place}", f"{label} becomes", column.to if column.sure else UNDECIDED, options
            ),
            self.stay(place, label, column),
            self.part(place, label, column),
            self.unit(place, label, column),
        )

    def of_its_own(self, column: ColumnMatch) -> bool:
        """Return whether the column may be about one stay, or one fitting, alone."""
        return self.table.target == "parts" and (
            any(column.about) or column.to == UNDECIDED or (self.wide and column.to in BY_STAY)
        )

    def part(self, place: int, label: str, column: ColumnMatch) -> Field | None:
        if not (any(column.about) or (column.to == UNDECIDED and self.of_its_own(column))):
            return None
        options = [("", "the wire, or as the row says"), *((part, f"the {part}") for part in PARTS)]
        return self.field(f"part-{place}", f"{label} is of", column.part, options)

    def stay(self, place: int, label: str, column: ColumnMatch) -> Field | None:
        if not self.of_its_own(column):
            return None
        options = [("", "as the row says"), *places()]
        if column.part:
            options.insert(1, (WHOLE_RIG, "every stay of the boat"))
        if column.stay.endswith("?"):
            options = [(column.stay, "choose"), *options]
        return self.field(f"stay-{place}", f"{label} is about", column.stay, options)

    def unit(self, place: int, label: str, column: ColumnMatch) -> Field | None:
        if column.to not in SIZED and not sizes_under(self.rows, place, column):
            return None
        options = [("", "each cell says it"), *UNIT_LABELS.items()]
        return self.field(f"unit-{place}", f"{label} in", column.unit, options)

    def about(self) -> Iterator[Field]:
        """Yield what is said of the sheet as a whole, as far as it matters here."""
        table = self.table
        orders = [("", "nothing to decide"), *ORDERS.items()]
        if table.order or "order" in self.asked:
            yield self.field("order", "First in dates such as 03/04/2021", table.order, orders)
        if table.decimal or "decimal" in self.asked:
            signs = [CHOOSE, (".", "a point: 1,250.5"), (",", "a comma: 1.250,5")]
            yield self.field("decimal", "Decimals follow", table.decimal, signs)
        if table.fill or "fill" in self.asked:
            answers = [CHOOSE, ("yes", "yes, to the boat above"), ("no", "no, that is a fault")]
            yield self.field("fill", "Rows without a boat belong to the one above", table.fill,
                             answers)  # fmt: skip
        for header in self.fixable():
            label = f"{header}, on every row"
            yield self.field(f"fixed-{header}", label, table.fixed.get(header, ""))

    def fixable(self) -> list[str]:
        """Return the headers that every row needs and no column of theirs holds."""
        return [
            column.header for column in self.layout
            if f"fixed-{column.header}" in self.asked or column.header in self.table.fixed
        ]  # fmt: skip

    def words(self) -> Iterator[Field]:
        for header, words in self.table.words.items():
            options = word_options(self.layout, header)
            for number, (word, code) in enumerate(words.items()):
                # A fitting told in the words of its stay is no choice of the list, but stays said.
                more = [] if code in dict(options) else [(code, code_words(code))]
                yield self.field(f"word-{header}-{number}", f"“{word}” under {header}", code,
                                 [*options, *more])  # fmt: skip


def word_options(layout: Layout, header: str) -> Options:
    kind = layout[header].kind
    ends = [(LEFT_OUT, "nothing: leave the cell empty"), (AS_IT_IS, "leave it to the check")]
    if layout.name == "parts" and header == "stay":
        return [CHOOSE, *unsided_places(), ("whole_rig", "whole rig"), *ends]
    words = kind.words.items() if isinstance(kind, Choice) else [("yes", "yes"), ("no", "no")]
    return [CHOOSE, *((code, word) for code, word in words if code), *ends]


def places() -> Iterator[tuple[str, str]]:
    """Yield code and words of every stay, port, starboard or both where it stands in pairs."""
    for mast in Stay.Mast:
        for name in Stay.Name:
            words = f"mizzen {name.label}" if mast == Stay.Mast.MIZZEN else name.label
            for side in ("port", "starboard", "both") if name in PAIRED else ("",):
                yield f"{mast}/{name}/{side}", f"{words}, {side}" if side else words


def code_words(code: str) -> str:
    """Return the words of a code a match holds: of a stay with its side, of a kind, or itself."""
    *stay, part = code.split("/") if code.count("/") == 3 else (*code.split("/"), "")
    known = dict([*unsided_places(), ("whole_rig", "whole rig")])
    words = known.get("/".join(stay), code)
    return f"{words}: {part}" if part else words


def unsided_places() -> Iterator[tuple[str, str]]:
    for code, words in places():
        if code.endswith("/port"):
            yield code.removesuffix("port"), f"{words.removesuffix(', port')}, side as the row says"
        yield code, words


# -- what was answered


def answered(match: Match, raws: Sequence[RawSheet], said: Mapping[str, str], today) -> Match:
    """Return the match with what a form says; answers that it did not offer are passed over."""
    tables = [
        answered_table(form, table, raws[table.sheet], said, today)
        for form, table in zip(forms(match, raws, ()), match.tables, strict=True)
    ]
    return settled_match(Match(tuple(tables)), raws, LAYOUTS, today)


def answered_table(
    form: TableForm, table: TableMatch, raw: RawSheet, said: Mapping[str, str], today
) -> TableMatch:
    head = replace(
        table,
        target=taken(form.target, said),
        top=row_said(form.top, said, len(raw.rows)),
        header_rows=int(taken(form.header_rows, said)),
    )
    if (head.target, head.top, head.header_rows) != (table.target, table.top, table.header_rows):
        return rematched(head, raw, LAYOUTS, today)
    columns = [answered_column(row, column, said)
               for row, column in zip(form.columns, table.columns, strict=False)]  # fmt: skip
    prefix = form.target.name.removesuffix("target")
    return replace(
        table,
        columns=tuple(columns),
        order=one_of(said, f"{prefix}order", ORDERS, table.order),
        decimal=one_of(said, f"{prefix}decimal", ".,", table.decimal),
        fill=one_of(said, f"{prefix}fill", ("yes", "no"), table.fill),
        fixed=fixed_values(prefix, table, said),
        words=answered_words(form, table, said),
    )


def answered_column(row: ColumnRow, column: ColumnMatch, said: Mapping[str, str]) -> ColumnMatch:
    to = taken(row.to, said)
    if to == UNDECIDED and not column.sure:
        to = column.to  # Still only near to a name of ours: it is asked again.
    return replace(
        column,
        to=to,
        stay=taken(row.stay, said) if row.stay else column.stay,
        part=taken(row.part, said) if row.part else column.part,
        unit=taken(row.unit, said) if row.unit else column.unit,
        sure=column.sure or taken(row.to, said) != UNDECIDED,
    )


def answered_words(
    form: TableForm, table: TableMatch, said: Mapping[str, str]
) -> dict[str, dict[str, str]]:
    fields = iter(form.words)
    return {
        header: {word: taken(next(fields), said) for word in words}
        for header, words in table.words.items()
    }


def fixed_values(prefix: str, table: TableMatch, said: Mapping[str, str]) -> dict[str, str]:
    """Return what holds on every row; a column that now has the header goes before it."""
    layout = LAYOUTS.get(table.target)
    given = {
        header: said.get(f"{prefix}fixed-{header.replace(' ', '_')}", "").strip()[:200]
        for header in (layout.headers if layout else ())
    }
    return {header: text for header, text in given.items() if text}


def taken(field_: Field, said: Mapping[str, str]) -> str:
    """Return the answer if the field offers it, else what stands there."""
    answer = said.get(field_.name, field_.value)
    return answer if answer in dict(field_.options) else field_.value


def one_of(said: Mapping[str, str], name: str, known, otherwise: str) -> str:
    answer = said.get(name, otherwise)
    return answer if answer in [*known] else otherwise


def row_said(field_: Field, said: Mapping[str, str], rows: int) -> int:
    text = said.get(field_.name, field_.value)
    row = int(text) if text.isdecimal() and len(text) < 7 else int(field_.value)
    return min(max(row, 1), max(rows, 1)) - 1

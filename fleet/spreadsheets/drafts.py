"""What an import is going to write, drawn up in memory before anything is written."""

import datetime as dt
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import models

from ..models import Boat, Fleet
from ..sheets import Fault, Layout, Row, Table, folded
from ..sheets.faults import MOST_FAULTS, nearest, shown

Key = Hashable
BATCH = 2000
MOST_HINTS = 500


@dataclass(frozen=True)
class Problem:
    """A fault of one row, before sheet, row and value are added."""

    header: str
    wrong: str
    right: str


class TooMany(Exception):
    """The file has more faults than anybody mends one by one: the rest is not looked for."""


@dataclass
class Counts:
    """New, changed and same rows of the fleet; left out are rows of the file."""

    new: int = 0
    changed: int = 0
    same: int = 0
    left_out: int = 0

    def add(self, state: str) -> None:
        setattr(self, state, getattr(self, state) + 1)


@dataclass
class Writes:
    """What is written to one table of the database."""

    new: list[models.Model] = field(default_factory=list)
    changed: dict[int, models.Model] = field(default_factory=dict)
    before: dict[int, dict[str, Any]] = field(default_factory=dict)
    fields: set[str] = field(default_factory=set)


class Draft:
    """Everything known while a file is checked: what is stored, what the file adds, what is bad.

    ``known[sheet]`` maps a row's natural key to its object, stored or not yet; ``bad[sheet]`` maps
    the key of a faulty row to its number, so that rows which depend on it can say so. ``notes`` are
    sentences about what is no fault and yet should be known before the file is written.
    """

    def __init__(self, fleet: Fleet, today: dt.date, tables: Mapping[str, Table]) -> None:
        self.fleet, self.today, self.tables = fleet, today, tables
        self.known: dict[str, dict[Key, Any]] = {}
        self.bad: dict[str, dict[Key, int]] = {}
        self.counts: dict[str, Counts] = {}
        self.faults: list[Fault] = []
        self.notes: list[str] = []
        self.touched: dict[Key, Boat] = {}
        self._hints: dict[tuple[str, str], str] = {}
        self._writes: dict[type[models.Model], Writes] = {}

    def table(self, name: str) -> Table:
        return self.tables.get(name) or Table(name)

    def refuse(self, layout: Layout, row: Row, problems: Iterable[Problem]) -> None:
        """Leave a row out, with its faults. Raises TooMany when there is no end to them."""
        if len(self.faults) > MOST_FAULTS:
            raise TooMany
        self.counts[layout.name].left_out += 1
        for problem in problems:
            cell = ""
            if problem.header in row:
                cell = shown(layout[problem.header].kind.write(row[problem.header]))
            self.faults.append(
                Fault(layout.name, row.number, problem.header, cell, problem.wrong, problem.right)
            )

    def refers(self, sheet: str, header: str, word: str) -> Iterator[Problem]:
        """Yield what is wrong with a name that should stand in another sheet, or in the fleet."""
        key = folded(word)
        if key in self.bad[sheet]:
            yield Problem(
                header,
                f"It stands in row {self.bad[sheet][key]} of the sheet {sheet}, which has a fault.",
                "Put that row right first.",
            )
        elif key not in self.known[sheet]:
            hint = self._hint(sheet, word)
            right = f"{hint} Write the name as it is there, or add it to the sheet {sheet}.".strip()
            wrong = f"There is no {sheet[:-1]} of that name in the file or the fleet."
            yield Problem(header, wrong, right)

    def _hint(self, sheet: str, word: str) -> str:
        """Return the nearest known name; beyond some hundred words none, for it takes its time."""
        if (sheet, word) not in self._hints and len(self._hints) < MOST_HINTS:
            known = (str(each) for each in self.known[sheet].values())
            self._hints[sheet, word] = nearest(word, known)
        return self._hints.get((sheet, word), "")

    def find(self, sheet: str, word: str) -> Any:
        """Return what that name stands for; KeyError unless ``refers`` found nothing wrong."""
        return self.known[sheet][folded(word)]

    def touch(self, boat: Boat) -> None:
        self.touched[folded(boat.name)] = boat

    def put(
        self, model: type[models.Model], stored: models.Model | None, values: Mapping[str, Any]
    ) -> tuple[Any, str]:
        """Note a new object or the changes of a stored one; return it and what became of it."""
        writes = self._writes.setdefault(model, Writes())
        if stored is None:
            made = model(**values)
            writes.new.append(made)
            return made, "new"
        changed = [name for name, value in values.items() if differs(stored, name, value)]
        if not changed:
            return stored, "same"
        if stored.pk is not None:
            writes.changed[stored.pk] = stored
            before = writes.before.setdefault(stored.pk, {})
            for name in changed:
                before.setdefault(name, getattr(stored, stored._meta.get_field(name).attname))
        for name in changed:
            setattr(stored, name, values[name])
        writes.fields.update(changed)
        return stored, "changed"

    def take_back(self, sheet: str, made: models.Model) -> None:
        """Undo ``put`` for an object that shall not be written after all."""
        writes = self._writes[type(made)]
        state = "new" if made.pk is None else "changed" if made.pk in writes.changed else "same"
        if state == "new":
            writes.new = [each for each in writes.new if each is not made]
        writes.changed.pop(made.pk, None)
        writes.before.pop(made.pk, None)
        count = self.counts[sheet]
        setattr(count, state, getattr(count, state) - 1)

    def written(self) -> Iterator[tuple[type[models.Model], list[int], dict[int, dict[str, Any]]]]:
        """Yield, table by table as written, the ids of new rows and changed ones as they were."""
        for model, writes in self._writes.items():
            before = {pk: writes.before[pk] for pk in writes.changed}
            if writes.new or before:
                yield model, [made.pk for made in writes.new], before

    def write(self) -> None:
        """Write everything, table by table, in the order in which the tables depend.

        Changes go first: the old part comes off before the new one takes its place.
        """
        for model, writes in self._writes.items():
            if writes.changed:
                model._default_manager.bulk_update(
                    writes.changed.values(), sorted(writes.fields), batch_size=BATCH
                )
            model._default_manager.bulk_create(writes.new, batch_size=BATCH)


def differs(stored: models.Model, name: str, value: Any) -> bool:
    field_ = stored._meta.get_field(name)
    if field_.is_relation:
        pk = getattr(value, "pk", None)
        return getattr(stored, field_.attname) != pk or (value is not None and pk is None)
    return getattr(stored, name) != value

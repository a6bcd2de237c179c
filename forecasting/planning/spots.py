"""What stands on the boats today: one row per spot of every part that has not been removed.

A wire has three spots (lower, run, upper), a turnbuckle or chainplate one (whole). The table is
columnar and sorted by boat, then part, so that sums and products over the spots of a part, and
over the parts of a boat, are reductions over neighbouring rows.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from ..condition.foreseen import Foreseen

LEVELS = ("deck", "aloft", "mast_down")
APART = ("columns", "seen_by", "foreseen")  # fields that are no array over the rows


@dataclass(frozen=True, eq=False)
class Standing:
    """The spots of the parts standing today. n rows, p columns; years are 365.25 days.

    part, boat, base  (n,) int codes; a part stands on one boat, a boat at one base
    kind              (n,) str, the key of the life model of the row (wire, turnbuckle, ...)
    age               (n,) years since fitting, today; the middle of the range where not known
    since_good        (n,) years since this spot was last seen good; equal to age (or inf) if never
    age_spread        (n,) half-width in years of the range the age may lie in; 0 if known
    X                 (n, p) covariates, columns named by `columns`; a model uses those it names
    seen_by           level -> (n,) bool: an inspection of that level sees this spot
    condemned         (n,) bool: the part is judged *replace* already
    foreseen          what reports of looks add to the life model; None where that is not known

    Rows may be given in any order and are kept sorted by boat and part. Per-part and per-boat
    arrays elsewhere in planning follow the order of `parts` and `boats`.
    Raises ValueError with a sentence when lengths, codes or ages contradict each other.
    """

    part: np.ndarray
    boat: np.ndarray
    base: np.ndarray
    kind: np.ndarray
    age: np.ndarray
    since_good: np.ndarray
    age_spread: np.ndarray
    X: np.ndarray
    columns: tuple[str, ...]
    seen_by: Mapping[str, np.ndarray]
    condemned: np.ndarray
    foreseen: Foreseen | None = None

    def __post_init__(self) -> None:
        for name in ("part", "boat", "base"):
            self._set(name, np.asarray(getattr(self, name), dtype=np.int64))
        for name in ("age", "since_good", "age_spread"):
            self._set(name, np.asarray(getattr(self, name), dtype=float))
        n = self.part.size
        self._set("kind", np.asarray(self.kind, dtype=str))
        self._set("condemned", np.asarray(self.condemned, dtype=bool))
        self._set("columns", tuple(self.columns))
        self._set("X", np.asarray(self.X, dtype=float).reshape(n, len(self.columns)))
        self._set("seen_by", {k: np.asarray(v, dtype=bool) for k, v in self.seen_by.items()})
        self._check_lengths(n)
        self._sort()
        self._set("since_good", np.where(np.isinf(self.since_good), self.age, self.since_good))
        self._check_ages()
        self._check_codes()

    def _set(self, name: str, value: object) -> None:
        object.__setattr__(self, name, value)

    def _check_lengths(self, n: int) -> None:
        columns = {f.name: getattr(self, f.name) for f in fields(self)}
        columns = {k: v for k, v in columns.items() if k not in (*APART, "X")}
        columns |= {f"seen_by[{k}]": v for k, v in self.seen_by.items()}
        for name, values in columns.items():
            if values.shape != (n,):
                raise ValueError(f"{name} has shape {values.shape}; {n} rows are expected.")

    def _sort(self) -> None:
        order = np.lexsort((self.part, self.boat))
        if np.array_equal(order, np.arange(order.size)):
            return
        for name, value in self._rows(order).items():
            self._set(name, value)

    def _rows(self, index: np.ndarray | slice) -> dict[str, object]:
        names = [f.name for f in fields(self) if f.name not in APART]
        taken: dict[str, object] = {name: getattr(self, name)[index] for name in names}
        taken["seen_by"] = {level: seen[index] for level, seen in self.seen_by.items()}
        taken["foreseen"] = self.foreseen and self.foreseen.take(index)
        return taken

    def _check_ages(self) -> None:
        numbers = np.column_stack((self.age, self.since_good, self.age_spread, self.X))
        wrong = ~np.isfinite(numbers).all(axis=1)
        _refuse(wrong, self.part, "an age, sight or covariate that is not a number")
        _refuse(self.age_spread < 0, self.part, "a negative spread of age")
        _refuse(self.since_good < 0, self.part, "a last sight in the future")
        oldest = self.age + self.age_spread
        _refuse(self.age < 0, self.part, "a negative age")
        _refuse(self.since_good > oldest + 1e-9, self.part, "a last sight before it was fitted")

    def _check_codes(self) -> None:
        same_part = self.part[1:] == self.part[:-1]
        for name in ("kind", "condemned", "age", "age_spread"):
            values = getattr(self, name)
            differs = same_part & (values[1:] != values[:-1])
            _refuse(differs, self.part[1:], f"spots that differ in {name}")
        if self.parts.size != np.unique(self.parts).size:
            raise ValueError("A part stands on two boats; a part code belongs to one boat.")
        moved = (self.boat[1:] == self.boat[:-1]) & (self.base[1:] != self.base[:-1])
        if moved.any():
            raise ValueError(f"Boat {self.boat[1:][moved][0]} lies at two bases.")

    @cached_property
    def part_starts(self) -> np.ndarray:
        """(P,) first row of each part."""
        return _starts(self.boat, self.part)

    @cached_property
    def parts(self) -> np.ndarray:
        """(P,) part codes, in order of boat and part."""
        return self.part[self.part_starts]

    @cached_property
    def part_of_row(self) -> np.ndarray:
        """(n,) index into `parts` of every row."""
        return _index(self.part_starts, self.part.size)

    @cached_property
    def boat_starts(self) -> np.ndarray:
        """(B,) first part of each boat, as an index into `parts`."""
        return _starts(self.boat[self.part_starts])

    @cached_property
    def boats(self) -> np.ndarray:
        """(B,) boat codes, ascending."""
        return self.boat[self.part_starts][self.boat_starts]

    @cached_property
    def boat_bases(self) -> np.ndarray:
        """(B,) base code of each boat."""
        return self.base[self.part_starts][self.boat_starts]

    @cached_property
    def boat_of_part(self) -> np.ndarray:
        """(P,) index into `boats` of every part."""
        return _index(self.boat_starts, self.parts.size)

    @cached_property
    def kind_of_part(self) -> np.ndarray:
        """(P,) kind of every part."""
        return self.kind[self.part_starts]

    @cached_property
    def condemned_parts(self) -> np.ndarray:
        """(P,) bool, judged *replace* already."""
        return self.condemned[self.part_starts]

    @cached_property
    def never_seen(self) -> np.ndarray:
        """(n,) bool: this spot was never seen good since the part was fitted."""
        return np.isclose(self.since_good, self.age, rtol=0, atol=1e-9)

    @cached_property
    def age_range(self) -> tuple[np.ndarray, np.ndarray]:
        """(n,), (n,): youngest and oldest age of every row's part.

        A part is at least as old as the oldest sight of any of its spots.
        """
        if not self.age.size:
            return self.age, self.age
        sight = np.where(self.never_seen, 0.0, self.since_good)
        oldest_sight = np.maximum.reduceat(sight, self.part_starts)[self.part_of_row]
        youngest = np.maximum(self.age - self.age_spread, oldest_sight)
        return youngest, np.maximum(self.age + self.age_spread, youngest)

    def good_age(self, age: np.ndarray, rows: np.ndarray | slice) -> np.ndarray:
        """Age at which each of `rows` was last seen good, when its age today is `age`."""
        seen = np.maximum(age - self.since_good[rows], 0.0)
        return np.where(self.never_seen[rows], 0.0, seen)

    def take(self, rows: np.ndarray | slice) -> "Standing":
        """The table of these rows only."""
        return replace(self, **self._rows(rows))

    def chunks(self, most_rows: int) -> Iterator[tuple["Standing", slice, slice]]:
        """Whole boats at a time, at most about `most_rows` rows each.

        Yields (table, slice of `parts`, slice of `boats`), so that memory stays bounded.
        """
        first_row = np.append(self.part_starts[self.boat_starts], self.part.size)
        first_part = np.append(self.boat_starts, self.parts.size)
        begin = 0
        while begin < self.boats.size:
            room = np.searchsorted(first_row, first_row[begin] + most_rows, side="right") - 1
            end = int(max(room, begin + 1))
            rows = slice(first_row[begin], first_row[end])
            yield self.take(rows), slice(first_part[begin], first_part[end]), slice(begin, end)
            begin = end


def _starts(*codes: np.ndarray) -> np.ndarray:
    if not codes[0].size:
        return np.empty(0, dtype=np.int64)
    new = np.zeros(codes[0].size, dtype=bool)
    new[0] = True
    for code in codes:
        new[1:] |= code[1:] != code[:-1]
    return np.flatnonzero(new)


def _index(starts: np.ndarray, n: int) -> np.ndarray:
    return np.repeat(np.arange(starts.size), np.diff(np.append(starts, n)))


def _refuse(wrong: np.ndarray, part: np.ndarray, what: str) -> None:
    if wrong.any():
        raise ValueError(f"Part {part[wrong][0]} has {what}.")

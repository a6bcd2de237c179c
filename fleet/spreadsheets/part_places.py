"""Parts of a file and of the fleet, place by place: which are the same, and do they fit in time."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ..models import Boat, Installation, Stay
from ..rig_patterns import Place
from ..sheets import Layout, Row, folded
from .drafts import Draft, Problem

PartKey = tuple[str, str, str, str, str]  # boat, mast, stay, side, kind
# Years by which a fitting date may be later than written, by its certainty.
LATER_BY = {"day": 0.0, "year": 0.5, "estimated": 2.0}


@dataclass(frozen=True)
class FilePart:
    """One part as a row says it; a pattern's row says many."""

    row: Row
    boat: Boat
    place: Place
    kind: str
    fitted: dt.date | None
    certainty: str
    removed: dt.date | None
    reason: str
    spot: str
    foil: bool | None
    values: Mapping[str, Any]
    pattern: bool = False
    proof_due: bool = False

    @property
    def key(self) -> PartKey:
        return (folded(self.boat.name), *self.place, self.kind)

    @property
    def span(self) -> "Span":
        return Span(self.fitted, self.certainty, self.removed)

    def fields(self) -> dict[str, Any]:
        spot = self.spot
        if self.kind != "wire" and self.reason in ("condemned", "failed_in_service", "looked_poor"):
            spot = "whole"
        return {
            "kind": self.kind,
            "fitted_on": self.fitted,
            "fitted_certainty": self.certainty,
            "removed_on": self.removed,
            "removal_reason": self.reason,
            "removal_spot": spot,
            **self.values,
            # A file may ask for proof; it cannot say that none is needed.
            **({"proof_due": True} if self.proof_due else {}),
        }


@dataclass(frozen=True)
class Span:
    """When a part was up, in a file or in the fleet's record."""

    fitted: dt.date | None
    certainty: str
    removed: dt.date | None

    @property
    def order(self) -> tuple:
        return (self.removed or dt.date.max, self.fitted or dt.date.min)

    def may_follow(self, removed: dt.date) -> bool:
        """Return whether this part can have been fitted on or after that day."""
        later = LATER_BY.get(self.certainty)
        if self.fitted is None or later is None:
            return True
        return self.fitted + dt.timedelta(days=round(later * 365.25)) >= removed

    def __str__(self) -> str:
        fitted = f"fitted {self.fitted}" if self.fitted else "of unknown date"
        return f"{fitted}, removed {self.removed}" if self.removed else fitted


def place_of(part: Installation) -> PartKey:
    stay = part.stay
    return (folded(stay.boat.name), stay.mast, stay.name, stay.side, part.kind)


def span_of(part: Installation) -> Span:
    return Span(part.fitted_on, part.fitted_certainty, part.removed_on)


def twins(parts: Sequence[FilePart], stored: Sequence[Installation]) -> list[Installation | None]:
    """Return, for each part of a place, the stored part that it is, or None for a new one.

    The same fitting and removal is the same part. Of the rest, the same known fitting date is too,
    and so is the one standing part of unknown date that the file now says came off.
    """
    left = list(stored)
    found: list[Installation | None] = [None] * len(parts)

    def pair(is_same: Callable[[Span, Span], bool]) -> None:
        for n, part in enumerate(parts):
            same = [one for one in left if found[n] is None and is_same(part.span, span_of(one))]
            if same:
                found[n] = same[0]
                left.remove(same[0])

    pair(lambda file, fleet: (file.fitted, file.removed) == (fleet.fitted, fleet.removed))
    pair(lambda file, fleet: file.fitted is not None and file.fitted == fleet.fitted)
    pair(lambda file, fleet: file.fitted == fleet.fitted and fleet.removed is None)
    return found


def clashes(
    parts: Sequence[FilePart], stored: Sequence[Installation]
) -> Iterator[tuple[FilePart, Problem]]:
    """Yield what cannot be true of the parts of one place together."""
    yield from written_twice(parts)
    same = twins(parts, stored)
    for part, one in zip(parts, same, strict=True):
        if one is not None and one.removed_on and not part.removed:
            wrong = f"In the fleet's record this part came off on {one.removed_on}."
            yield part, Problem("removed", wrong, "Write that day, with the reason.")
    spans = [(part.span, part) for part in parts]
    matched = {id(one) for one in same}
    spans += [(span_of(one), None) for one in stored if id(one) not in matched]
    yield from two_standing(spans)
    yield from overlapping(spans)


def written_twice(parts: Sequence[FilePart]) -> Iterator[tuple[FilePart, Problem]]:
    first: dict[tuple, FilePart] = {}
    for part in parts:
        before = first.setdefault((part.fitted, part.removed), part)
        if before is not part:
            wrong = f"Row {before.row.number} gives the same part in the same place already."
            yield part, Problem("stay", wrong, "Keep one of the two rows.")


def two_standing(
    spans: Sequence[tuple[Span, FilePart | None]],
) -> Iterator[tuple[FilePart, Problem]]:
    standing = [(span, part) for span, part in spans if span.removed is None]
    for n, (_, part) in enumerate(standing):
        if part is None or len(standing) == 1:
            continue
        other, its = standing[1 - n if n < 2 else 0]
        where = f"row {its.row.number} has one too" if its else "the fleet's record has one too"
        yield (
            part,
            Problem(
                "removed",
                f"Two parts cannot be up in one place: {where}, {other}.",
                "Write when the older one came off, in its own row.",
            ),
        )


def overlapping(
    spans: Sequence[tuple[Span, FilePart | None]],
) -> Iterator[tuple[FilePart, Problem]]:
    in_order = sorted(spans, key=lambda each: each[0].order)
    for (before, its), (after, part) in pairwise(in_order):
        if before.removed is None or after.may_follow(before.removed):
            continue
        at_fault, other = (part, before) if part else (its, after)
        if at_fault is not None:
            yield (
                at_fault,
                Problem(
                    "fitted",
                    f"Another part was up in this place at the same time: {other}.",
                    "Correct the dates of the one or the other.",
                ),
            )


class Places:
    """Collects the parts of a file and puts them into the draft once all are known."""

    def __init__(self, draft: Draft, layout: Layout) -> None:
        self.draft, self.layout = draft, layout
        self.stored: dict[PartKey, list[Installation]] = draft.known[layout.name]
        self.parts: list[FilePart] = []
        self.refused: dict[int, tuple[Row, list[Problem]]] = {}

    def refuse(self, row: Row, problems: Iterable[Problem]) -> None:
        _, known = self.refused.setdefault(row.number, (row, []))
        known += [problem for problem in problems if problem not in known]

    def settle(self) -> None:
        """Match the parts with the stored, refuse what cannot stand together, draft the rest."""
        places = by_place(self.parts)
        for key, parts in places.items():
            for part, problem in clashes(parts, self.stored.get(key, [])):
                self.refuse(part.row, [problem])
        for number in sorted(self.refused):
            self.draft.refuse(self.layout, *self.refused[number])
        for part in self.parts:
            if part.row.number in self.refused:
                self.draft.bad[self.layout.name][part.key] = part.row.number
        good = {
            key: [part for part in parts if part.row.number not in self.refused]
            for key, parts in places.items()
        }
        self._put(good)

    def _put(self, places: Mapping[PartKey, list[FilePart]]) -> None:
        stays = self._put_stays([part for parts in places.values() for part in parts])
        for key, parts in places.items():
            stored = self.stored.setdefault(key, [])
            for part, one in zip(parts, twins(parts, stored), strict=True):
                fields = part.fields() if one else {"stay": stays[key[:4]], **part.fields()}
                made, state = self.draft.put(Installation, one, fields)
                self.draft.counts[self.layout.name].add(state)
                if one is None:
                    stored.append(made)
                if state != "same":
                    self.draft.touch(part.boat)

    def _put_stays(self, parts: Iterable[FilePart]) -> dict[tuple, Stay]:
        """Draft the stays. Whether one runs in a foil is what its latest wire says."""
        stored = Stay.objects.of(self.draft.fleet).select_related("boat")
        stays = {(folded(s.boat.name), s.mast, s.name, s.side): s for s in stored}
        groups: dict[tuple, list[FilePart]] = {}
        for part in parts:
            groups.setdefault(part.key[:4], []).append(part)
        for key, group in groups.items():
            _, mast, name, side = key
            values = {"boat": group[0].boat, "mast": mast, "name": name, "side": side}
            foil = in_foil(group)
            values |= {} if foil is None else {"in_foil": foil}
            stays[key], state = self.draft.put(Stay, stays.get(key), values)
            if state != "same":
                self.draft.touch(group[0].boat)
        return stays


def in_foil(parts: Iterable[FilePart]) -> bool | None:
    said = [part for part in parts if part.foil is not None]
    said.sort(key=lambda part: (part.kind == "wire", *part.span.order))
    return said[-1].foil if said else None


def by_place(parts: Iterable[FilePart]) -> dict[PartKey, list[FilePart]]:
    """Group parts; a row for one stay goes before a pattern that says the same fitting."""
    parts = list(parts)
    named = {(part.key, part.fitted) for part in parts if not part.pattern}
    places: dict[PartKey, list[FilePart]] = {}
    for part in parts:
        if not part.pattern or (part.key, part.fitted) not in named:
            places.setdefault(part.key, []).append(part)
    return places

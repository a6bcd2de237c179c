"""Which inspection and which part or place a row of findings means."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fleet.models import Installation
from fleet.sheets import Row, folded
from fleet.spreadsheets.drafts import Draft, Problem
from fleet.spreadsheets.part_places import PartKey

from ..criteria import DEFAULT, SPOTS, Sign
from ..models import Inspection
from .sheet_definitions import InspectionKey, Inspections

NOT_SEEN = "not_seen"
WHOLE = "whole"
INSPECTIONS = Inspections.layout.name
CORRECT_THAT_ROW = "Put that row right first."


@dataclass(frozen=True)
class Target:
    """What a finding is about: a part, or a place of the boat when ``part`` is None."""

    part: Installation | None
    place: str
    side: str = ""


def part_up_on(draft: Draft, key: PartKey, day: dt.date) -> Installation | None:
    """Return the part in a place on a day; on the day of a change, the old one.

    A part whose fitting is not known to the day may have been up before the date on record.
    """
    parts = draft.known["parts"].get(key, ())
    parts = [p for p in parts if p.removed_on is None or p.removed_on >= day]
    parts.sort(key=lambda p: (p.removed_on or dt.date.max, p.fitted_on or dt.date.min))
    surely = [p for p in parts if p.fitted_on is None or p.fitted_on <= day]
    perhaps = [p for p in parts if p.fitted_certainty != Installation.Certainty.DAY]
    return next(iter(surely + perhaps), None)


def place_in(row: Row) -> str:
    """Return the place of a finding, also where only one is possible and it is left blank."""
    if row.get("place"):
        return row["place"]
    sign = DEFAULT.get(row["sign"])
    if sign is None or kind_in(row, "") in ("turnbuckle", "chainplate"):
        return WHOLE
    possible = sign.spots or () if sign.kinds else sign.places
    return possible[0] if len(possible) == 1 else ""


def kind_in(row: Row, place: str) -> str:
    """Return the kind of part a finding is on; blank if the row does not tell."""
    sign = DEFAULT.get(row["sign"])
    if row.get("part"):
        return row["part"]
    if sign is not None and len(sign.kinds) == 1:
        return sign.kinds[0]
    return "wire" if sign is None or place in SPOTS["wire"] else ""


def key_in(row: Row, kind: str) -> PartKey:
    mast, side = row.get("mast", "main"), row.get("side", "")
    return folded(row["boat"]), mast, row["stay"], side, kind


def target_of(row: Row, draft: Draft) -> Target:
    """Return what a row is about that ``target_problems`` finds nothing wrong with."""
    place = place_in(row)
    if is_spot(place):
        key = key_in(row, kind_in(row, place))
        return Target(part_up_on(draft, key, row["date"]), place)
    if row.get("stay") and row["sign"] != NOT_SEEN:
        return Target(part_up_on(draft, key_in(row, "wire"), row["date"]), place)
    return Target(None, place, row.get("side", ""))


def is_spot(place: str) -> bool:
    return place in Installation.Spot.values


def target_problems(row: Row, draft: Draft) -> Iterator[Problem]:
    sign, place = DEFAULT.get(row["sign"]), place_in(row)
    if not place:
        yield Problem("place", "It is not said where.", f"Write one of: {places_of(sign)}.")
    elif is_spot(place):
        yield from spot_problems(row, sign, place, draft)
    elif sign is not None and place not in sign.places:
        yield Problem("place", "This sign is not one of this place.",
                      f"Write one of: {places_of(sign)}.")  # fmt: skip
    elif row.get("stay") and sign is not None:
        yield from part_missing(row, "wire", draft)


def spot_problems(row: Row, sign: Sign | None, place: str, draft: Draft) -> Iterator[Problem]:
    """Yield what is wrong with a finding on a part."""
    kind = kind_in(row, place)
    if sign is not None and not sign.kinds:
        yield Problem("place", "This is a sign of the boat, not of a part.",
                      f"Write one of: {places_of(sign)}.")  # fmt: skip
    elif not row.get("stay"):
        yield Problem("stay", "It is not said which stay.", "Write it as in the sheet parts.")
    elif not kind or (sign is not None and kind not in sign.kinds):
        wrong = "It is not said on which part." if not kind else f"No {kind} can show this sign."
        yield Problem("part", wrong, f"Write one of: {', '.join(sign.kinds)}.")
    elif not (place in SPOTS[kind] or (sign is None and place == WHOLE)) or (
        sign is not None and sign.spots and place not in sign.spots
    ):
        spots = (sign.spots if sign else ()) or SPOTS[kind]
        words = ", ".join(Installation.Spot(spot).label for spot in spots)
        yield Problem("place", f"This is not found there on a {kind}.", f"Write one of: {words}.")
    else:
        yield from part_missing(row, kind, draft)


def part_missing(row: Row, kind: str, draft: Draft) -> Iterator[Problem]:
    key = key_in(row, kind)
    if part_up_on(draft, key, row["date"]) is not None:
        return
    if key in draft.bad["parts"]:
        number = draft.bad["parts"][key]
        wrong = f"The part stands in row {number} of the sheet parts, which has a fault."
        yield Problem("stay", wrong, CORRECT_THAT_ROW)
        return
    yield Problem(
        "stay",
        f"No such {kind} was up on {row['date']}.",
        "Correct mast, stay, side, part or date, or add the part in the sheet parts.",
    )


def places_of(sign: Sign | None) -> str:
    if sign is None:
        return "lower end, wire, upper end, whole part"
    if not sign.kinds:
        return ", ".join(place.replace("_", " ") for place in sign.places)
    spots = sign.spots or [spot for kind in sign.kinds for spot in SPOTS[kind]]
    return ", ".join(Installation.Spot(spot).label for spot in spots)


class Looks:
    """The inspections of file and fleet that findings belong to."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.by_day: dict[tuple[str, dt.date], list[InspectionKey]] = {}
        for key in {**draft.bad[INSPECTIONS], **draft.known[INSPECTIONS]}:
            self.by_day.setdefault(key[:2], []).append(key)

    def keys_of(self, row: Row) -> list[InspectionKey]:
        """Return the inspections a row can mean; what it leaves blank may be anything."""
        level, person = row.get("level"), folded(row.get("person") or "")
        return [
            key
            for key in self.by_day.get((folded(row["boat"]), row["date"]), ())
            if level in ("", None, key[2]) and person in ("", key[3])
        ]

    def key_of(self, row: Row) -> InspectionKey | None:
        keys = self.keys_of(row)
        return keys[0] if len(keys) == 1 else None

    def of(self, row: Row) -> Inspection:
        return self.draft.known[INSPECTIONS][self.key_of(row)]

    def problems(self, row: Row) -> Iterator[Problem]:
        keys = self.keys_of(row)
        bad = self.draft.bad[INSPECTIONS]
        if not keys:
            yield Problem("date", f"There is no such inspection of {row['boat']} that day.",
                          "Correct boat, date, level or person, or add it.")  # fmt: skip
        elif len(keys) > 1:
            yield Problem("person", f"There are {len(keys)} inspections it can belong to.",
                          "Write level and person.")  # fmt: skip
        elif keys[0] in bad:
            wrong = f"The inspection stands in row {bad[keys[0]]}, which has a fault."
            yield Problem("date", wrong, CORRECT_THAT_ROW)

    def left_out(self, bad_rows: Iterable[Row]) -> dict[InspectionKey, int]:
        """Return the inspections that faulty rows may belong to, each with such a row's number.

        A cell that could not be read may have said anything, so it fits every inspection.
        """
        blamed: dict[InspectionKey, int] = {}
        patterns: dict[tuple[Any, ...], int] = {}
        for row in bad_rows:
            patterns.setdefault(self._pattern(row), row.number)
        for pattern, number in patterns.items():
            for key in self._all_on(pattern[1]):
                if all(said in (None, own) for said, own in zip(pattern, key, strict=True)):
                    blamed.setdefault(key, number)
        return blamed

    def _all_on(self, day: dt.date | None) -> list[InspectionKey]:
        return [key for (_, on), keys in self.by_day.items() if day in (None, on) for key in keys]

    def _pattern(self, row: Row) -> tuple[Any, ...]:
        boat = folded(row.get("boat") or "")
        known = boat in self.draft.known["boats"] or boat in self.draft.bad["boats"]
        person = folded(row.get("person") or "")
        return boat if known else None, row.get("date"), row.get("level") or None, person or None

    def take_back(self, blamed: Mapping[InspectionKey, int]) -> None:
        """Leave out the file's inspections that would be written without all their findings."""
        layout = Inspections.layout
        for row, key in self._file_rows():
            if key in blamed and key not in self.draft.bad[INSPECTIONS]:
                self.draft.take_back(layout.name, self.draft.known[INSPECTIONS][key])
                self.draft.bad[INSPECTIONS][key] = row.number
                self.draft.refuse(layout, row, [Problem(
                    "date",
                    f"Row {blamed[key]} of its findings has a fault, and without that finding the "
                    "inspection would say that all was well.",
                    CORRECT_THAT_ROW,
                )])  # fmt: skip

    def _file_rows(self) -> Iterator[tuple[Row, InspectionKey]]:
        sheet = Inspections()
        for row in self.draft.table(INSPECTIONS).rows:
            yield row, sheet.key(row)

    def good_rows(self) -> Iterator[tuple[Row, Inspection]]:
        """Yield the file's inspections that will be written, with their rows."""
        for row, key in self._file_rows():
            if key not in self.draft.bad[INSPECTIONS]:
                yield row, self.draft.known[INSPECTIONS][key]

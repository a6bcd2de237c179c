"""An inspection as a phone sends it, from JSON into typed values, or every fault in words.

What the boat and its criteria say of it is checked in ``draft_check``; here only its form is.
"""

import datetime as dt
import math
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.utils.dateparse import parse_datetime

from ..models import Inspection

MOST_ENTRIES = 2000
MOST_PHOTOS = 12
MOST_MEASURE = 100_000
SIDES = ("", "port", "starboard")


@dataclass(frozen=True)
class Fault:
    """One thing to put right before it can go on record. ``where``: a path into the draft."""

    where: str
    sentence: str


class Refused(Exception):
    """The draft cannot go on record as it is; ``faults`` says everything that is wrong with it."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__("; ".join(f"{each.where}: {each.sentence}" for each in faults))
        self.faults = faults


@dataclass(frozen=True)
class DraftSight:
    """One sign at one place; ``part`` None for a place of the boat."""

    sign: str
    part: int | None
    place: str
    side: str = ""
    measure: float | None = None
    cleaned: bool | None = None
    note: str = ""
    photos: tuple[uuid.UUID, ...] = ()


@dataclass(frozen=True)
class Unseen:
    """One spot, or a place of the boat, that could not be seen, and why."""

    part: int | None
    place: str
    reason: str


@dataclass(frozen=True)
class Draft:
    """One inspection as it was signed on the phone."""

    id: uuid.UUID
    record: str
    level: str
    on: dt.date
    person: str
    competence: str
    method: str
    note: str
    turn_round: bool
    signed_at: dt.datetime
    begun_at: dt.datetime | None = None
    seen: frozenset[tuple[int, str]] = frozenset()
    sights: tuple[DraftSight, ...] = ()
    not_seen: tuple[Unseen, ...] = ()
    own_words: str = ""

    @property
    def photos(self) -> list[uuid.UUID]:
        return [photo for sight in self.sights for photo in sight.photos]


def number_of(payload: object) -> uuid.UUID:
    """Return the id the phone gave it; Refused when there is none."""
    try:
        return uuid.UUID(payload["id"])
    except (TypeError, KeyError, ValueError, AttributeError):
        words = "It carries no number of its own, so it could be recorded twice. Send it anew."
        raise Refused([Fault("id", words)]) from None


def read_draft(payload: dict[str, Any]) -> Draft:
    """Return the draft; Refused with every fault of its form."""
    form = _Form(payload)
    draft = Draft(
        id=number_of(payload),
        record=form.text("record", 60),
        level=form.choice("level", Inspection.Level.values, "Say how far you looked."),
        on=form.day("on", "Give the day of the inspection."),
        person=form.text("person", 120, "Say who looked: the person signs what was seen."),
        competence=form.choice("competence", Inspection.Competence.values, "Say as what you look."),
        method=form.choice("method", Inspection.Method.values, "Say how you looked: by eye?"),
        note=form.text("note", 5000),
        turn_round=form.flag("turn_round"),
        signed_at=form.moment("signed_at", "Sign it: who looked answers for what was seen."),
        begun_at=form.moment("begun_at"),
        seen=frozenset(form.each("seen", _seen)),
        sights=tuple(form.each("sights", _sight)),
        not_seen=tuple(form.each("not_seen", _unseen)),
        own_words=_own_words(form),
    )
    if draft.turn_round and draft.level not in ("", Inspection.Level.DECK):
        form.fault("turn_round", "A turn-round check is made from the deck.")
    if form.faults:
        raise Refused(form.faults)
    return draft


@dataclass
class _Form:
    """Takes values out of JSON by name and keeps what is wrong with them."""

    given: dict[str, Any]
    path: str = ""
    faults: list[Fault] = field(default_factory=list)

    def fault(self, name: str, sentence: str) -> None:
        self.faults.append(Fault(f"{self.path}{name}", sentence))

    def text(self, name: str, most: int, missing: str = "") -> str:
        value = self.given.get(name)
        value = "" if value is None else value
        if not isinstance(value, str):
            self.fault(name, "These are no words.")
            return ""
        if len(value.strip()) > most:
            self.fault(name, f"At most {most} letters; these are {len(value.strip())}.")
        if missing and not value.strip():
            self.fault(name, missing)
        return value.strip()

    def choice(self, name: str, among: list[str], missing: str) -> str:
        value = self.given.get(name)
        if value in among:
            return value
        self.fault(name, missing if value in (None, "") else f"One of {', '.join(among)}.")
        return ""

    def flag(self, name: str) -> bool:
        if not isinstance(self.given.get(name, False), bool):
            self.fault(name, "Yes or no.")
        return self.given.get(name) is True

    def day(self, name: str, missing: str) -> dt.date:
        try:
            return dt.date.fromisoformat(self.given.get(name))
        except (TypeError, ValueError):
            self.fault(name, missing)
            return dt.date.min

    def moment(self, name: str, missing: str = "") -> dt.datetime | None:
        value = self.given.get(name)
        try:
            read = parse_datetime(value) if isinstance(value, str) else None
        except ValueError:
            read = None
        if read is None and (missing or value):
            self.fault(name, missing or "This is no time of day.")
        return read.replace(tzinfo=dt.UTC) if read and read.tzinfo is None else read

    def whole(self, name: str) -> int | None:
        value = self.given.get(name)
        if value is None or (type(value) is int and 0 < value < 2**63):
            return value
        self.fault(name, "This is no part of a boat.")
        return None

    def number(self, name: str) -> float | None:
        value = self.given.get(name)
        if value is None:
            return None
        if type(value) in (int, float) and math.isfinite(value) and 0 <= value <= MOST_MEASURE:
            return float(value)
        if type(value) in (int, float) and value > MOST_MEASURE:
            words = f"This is more than can be (at most {MOST_MEASURE:,}). Give what was measured."
            self.fault(name, words)
            return None
        self.fault(name, "Give what was measured as a number, 0 or more, or leave it out.")
        return None

    def each(self, name: str, read: Callable[["_Form", object], Any]) -> Iterator[Any]:
        """Yield what ``read`` makes of each entry of a list, without those that have faults."""
        entries = self.given.get(name) or []
        if not isinstance(entries, list) or len(entries) > MOST_ENTRIES:
            self.fault(name, f"This is no list of at most {MOST_ENTRIES} entries.")
            return
        for place, entry in enumerate(entries):
            inner = _Form(entry if isinstance(entry, dict) else {}, f"{self.path}{name}.{place}.")
            made = read(inner, entry)
            self.faults += inner.faults
            if not inner.faults:
                yield made


def _seen(form: _Form, entry: object) -> tuple[int, str] | None:
    if isinstance(entry, list) and len(entry) == 2:
        part, spot = entry
        if type(part) is int and isinstance(spot, str):
            return part, spot
    form.fault("", "What was seen is a part and one of its spots.")
    return None


def _sight(form: _Form, entry: object) -> DraftSight:
    cleaned = form.given.get("cleaned")
    if cleaned not in (None, True, False):
        form.fault("cleaned", "Whether it came away when cleaned is yes, no, or left out.")
    side = form.text("side", 10)
    if side not in SIDES:
        form.fault("side", "The side is port, starboard, or left out.")
    return DraftSight(
        sign=form.text("sign", 40, "Say what was found."),
        part=form.whole("part"),
        place=form.text("place", 20, "Say where it was found."),
        side=side,
        measure=form.number("measure"),
        cleaned=cleaned,
        note=form.text("note", 300),
        photos=_photos(form),
    )


def _photos(form: _Form) -> tuple[uuid.UUID, ...]:
    names = form.given.get("photos") or []
    if not isinstance(names, list) or len(names) > MOST_PHOTOS:
        form.fault("photos", f"At most {MOST_PHOTOS} photos of one finding.")
        return ()
    try:
        return tuple(dict.fromkeys(uuid.UUID(name) for name in names))
    except (TypeError, ValueError, AttributeError):
        form.fault("photos", "A photo is named by the number it was sent under.")
        return ()


def _unseen(form: _Form, entry: object) -> Unseen:
    why = "Say why it was not seen, e.g. boot not taken off."
    return Unseen(form.whole("part"), form.text("place", 20) or "whole",
                  form.text("reason", 300, why))  # fmt: skip


def _own_words(form: _Form) -> str:
    answers = form.given.get("answers") or {}
    if not isinstance(answers, dict):
        form.fault("answers", "These are no answers.")
        return ""
    inner = _Form(answers, "answers.")
    words = inner.text("own_words", 2000)
    form.faults += inner.faults
    return words

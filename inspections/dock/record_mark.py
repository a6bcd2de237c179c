"""A short mark of what a form rests on: a look sent later says by it what it was written from."""

import datetime as dt
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from ..judgement.history import BoatHistory


@dataclass(frozen=True)
class RecordMark:
    """The latest inspection (0: none) and fingerprints of the parts up, and of those condemned."""

    latest: int
    parts: str
    condemned: str

    def __str__(self) -> str:
        return f"{self.latest}-{self.parts}-{self.condemned}"

    @classmethod
    def read(cls, text: object) -> "RecordMark | None":
        """Return the mark that ``str`` wrote, None for anything else."""
        pieces = text.split("-") if isinstance(text, str) else []
        if len(pieces) != 3 or not pieces[0].isascii() or not pieces[0].isdecimal():
            return None
        return cls(int(pieces[0]), pieces[1], pieces[2])


def mark_of(history: BoatHistory) -> RecordMark:
    """Return the mark of a boat's record as it is."""
    up = [span.part for span in history.spans if span.part.removed_on is None]
    return mark(
        (look.pk for look in history.inspections),
        ((part.pk, part.condemned_on) for part in up),
    )


def mark(looks: Iterable[int], parts: Iterable[tuple[int, dt.date | None]]) -> RecordMark:
    """Return the mark of these inspections and parts (id, condemned on); their order is nothing."""
    up = sorted(parts)
    return RecordMark(
        latest=max(looks, default=0),
        parts=_digest(f"{pk}" for pk, _ in up),
        condemned=_digest(f"{pk} {day}" for pk, day in up if day),
    )


def _digest(words: Iterable[str]) -> str:
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:10]

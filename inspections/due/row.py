"""One thing due, as every page, paper, mail and calendar takes it."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from fleet.models import Boat

from ..models import Inspection, Reminder

Level = Inspection.Level
Kind = Reminder.Kind
# Which looks satisfy which interval: a deeper one does for all above it.
SATISFIED_BY = {
    Kind.DECK: (Level.DECK, Level.ALOFT, Level.MAST_DOWN),
    Kind.ALOFT: (Level.ALOFT, Level.MAST_DOWN),
    Kind.MAST_DOWN: (Level.MAST_DOWN,),
}
# What asks for a look; the rest asks for work or a word.
LOOKS = (*SATISFIED_BY, Kind.RECHECK, Kind.EVENT, Kind.ALIKE)
NAMED = 2
LENGTH = Reminder._meta.get_field("reason").max_length


@dataclass(frozen=True)
class Due:
    """One thing due on one boat: ``kind`` as reminders have it, the day, and why in a sentence.

    ``about`` tells several of one kind on one boat apart, the same from day to day; else blank.
    """

    boat: Boat
    kind: str
    on: dt.date
    reason: str
    about: str = ""

    def late_by(self, today: dt.date) -> int:
        """Return the days it is late; negative while there is still time."""
        return (today - self.on).days


def listed(words: Iterable[str], joint: str = "; ") -> str:
    """Return the first two, and how many more there are."""
    words = [each.rstrip(".") for each in words]
    rest = len(words) - NAMED
    return joint.join(words[:NAMED]) + (f"; and {rest} more" if rest > 0 else "")


def fitted(reason: str, tail: str = "") -> str:
    """Return the sentence, cut to what a reminder holds with its tail whole."""
    most = LENGTH - len(tail)
    return (reason if len(reason) <= most else reason[: most - 1].rstrip() + "…") + tail

"""What was found or happened asks for: another look by a day, a look now, work on a held boat."""

from collections import defaultdict
from collections.abc import Iterator

from fleet.models import Boat, Installation
from fleet.templatetags.wording import day

from ..judgement import standing_verdicts
from ..judgement.history import name_of
from ..models import HandIn, Hold, PartVerdict, VerdictValue
from .row import LENGTH, Due, Kind, fitted, listed

OPEN = (VerdictValue.WATCH, VerdictValue.REFER)
NOW = " Inspect now, aloft or mast-down, by a rigger or surveyor: what was seen before is void."


def rechecks(boats: dict[int, Boat]) -> Iterator[Due]:
    """Verdicts that said to look again by a day, on parts still up and not looked at since."""
    asked = PartVerdict.objects.filter(
        installation__stay__boat__in=boats,
        installation__removed_on=None,
        installation__condemned_on=None,
        again_by__isnull=False,
    )
    parts = Installation.objects.filter(pk__in=asked.values("installation")).select_related("stay")
    by_pk = parts.in_bulk()
    by_boat = defaultdict(list)
    for pk, verdict in standing_verdicts.of_parts(by_pk, with_reasons=False).items():
        if verdict.value in OPEN and verdict.again_by:
            by_boat[by_pk[pk].stay.boat_id].append((verdict, by_pk[pk]))
    for boat, rows in by_boat.items():
        rows.sort(key=lambda row: (row[0].again_by, row[1].pk))
        words = [f"{name_of(part)}: {row.get_value_display()}" for row, part in rows]
        reason = f"{listed(words)}, since {day(rows[0][0].inspection.on)}."
        yield Due(boats[boat], Kind.RECHECK, rows[0][0].again_by, reason)


def held(boats: dict[int, Boat]) -> Iterator[Due]:
    """Boats that do not sail until something is done."""
    by_boat = defaultdict(list)
    for hold in Hold.objects.standing().filter(boat__in=boats).order_by("since", "pk"):
        by_boat[hold.boat_id].append(hold)
    for boat, holds in by_boat.items():
        reason = listed([hold.reason for hold in holds])[: LENGTH - 1] + "."
        yield Due(boats[boat], Kind.HELD, holds[0].since, reason)


def events(boats: dict[int, Boat]) -> Iterator[Due]:
    """Looks asked for at once: what voids earlier looks, and a skipper's note of damage."""
    rows = Hold.objects.standing().filter(boat__in=boats, cause=Hold.Cause.EVENT)
    for hold in rows.order_by("since", "pk"):
        about = f"finding-{hold.finding_id}"
        yield Due(boats[hold.boat_id], Kind.EVENT, hold.since, fitted(hold.reason, NOW), about)
    for note in HandIn.objects.unanswered().filter(boat__in=boats).order_by("on", "pk"):
        yield _of_note(boats[note.boat_id], note)


def _of_note(boat: Boat, note: HandIn) -> Due:
    who = note.by.get_full_name() or note.by.get_username() if note.by else "the skipper"
    tail = f" ({who}, {day(note.on)}). Nobody has looked at the whole boat since."
    return Due(boat, Kind.EVENT, note.on, fitted(f"Handed in: {note.note.rstrip('.')}", tail),
               f"note-{note.pk}")  # fmt: skip

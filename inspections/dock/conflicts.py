"""What changed on a boat between the kit a draft was written from and the draft's arrival."""

import datetime as dt

from fleet.templatetags.wording import day

from ..judgement.history import BoatHistory, Span, name_of
from ..models import Inspection
from .draft import Draft
from .record_mark import RecordMark, mark_of

NAMED = 3


def conflict(draft: Draft, history: BoatHistory, user, today: dt.date) -> str:
    """Return in a sentence or two why a person has to decide; nothing when nobody has to."""
    reasons = [
        _left(history, today),
        _same_look(draft, history),
        *_since(draft, history, user),
    ]
    return " ".join(each for each in reasons if each)[:500]


def looks_since(draft: Draft, history: BoatHistory) -> list[Inspection]:
    """Return the looks put on record after the kit the draft was written from."""
    mark = RecordMark.read(draft.record)
    return [look for look in history.inspections if mark is None or look.pk > mark.latest]


def gone(draft: Draft, history: BoatHistory) -> list[Span]:
    """Return the parts the draft speaks of that are up no more."""
    named = {part for part, _ in draft.seen}
    named |= {each.part for each in (*draft.sights, *draft.not_seen)}
    return [s for s in history.spans if s.part.pk in named and s.part.removed_on is not None]


def _left(history: BoatHistory, today: dt.date) -> str:
    boat = history.boat
    gone = boat.left is not None and boat.left <= today
    return f"{boat} left the fleet on {day(boat.left)}." if gone else ""


def _same_look(draft: Draft, history: BoatHistory) -> str:
    same = same_look(draft, history)
    if same is None:
        return ""
    return (
        f"{same.person} has already recorded a look of this level for {day(same.on)}: "
        f"{same.get_level_display()}."
    )


def same_look(draft: Draft, history: BoatHistory) -> Inspection | None:
    """Return the look on record by the same person, of the same level, on the same day."""
    for look in history.inspections:
        if (look.on, look.level, look.person) == (draft.on, draft.level, draft.person):
            return look
    return None


def _since(draft: Draft, history: BoatHistory, user) -> list[str]:
    mark, now = RecordMark.read(draft.record), mark_of(history)
    if mark is None:
        return ["It does not say from what record of the boat it was written."]
    reasons = [_renewed(draft, history)] if mark.parts != now.parts else []
    looks = looks_since(draft, history)
    others = [look for look in looks if not _own(look, draft, user)]
    if others:
        reasons.append(_inspected(others, history))
    elif mark.condemned != now.condemned and not looks:
        reasons.append("What is condemned on this boat has changed meanwhile.")
    return reasons


def _own(look: Inspection, draft: Draft, user) -> bool:
    return look.recorded_by_id == user.pk and look.person == draft.person


def _renewed(draft: Draft, history: BoatHistory) -> str:
    parts = gone(draft, history)
    if not parts:
        return "The parts on record of this boat have changed meanwhile."
    named = "; ".join(
        f"{name_of(span.part)}, off on {day(span.part.removed_on)}" for span in parts[:NAMED]
    )
    more = f"; and {len(parts) - NAMED} more" if len(parts) > NAMED else ""
    return f"Renewed or taken off meanwhile: {named}{more}."


def _inspected(looks: list[Inspection], history: BoatHistory) -> str:
    latest = looks[-1]
    more = f", and {len(looks) - 1} more" if len(looks) > 1 else ""
    return (
        f"{latest.person} inspected {history.boat} too ({latest.get_level_display()}, "
        f"{day(latest.on)}{more}), put on record after this phone got its boats."
    )

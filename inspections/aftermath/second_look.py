"""A condemned part judged again by a second person with the competence, at a look of their own.

The first judgement stays on record, both are shown. Nothing here lifts a hold: ``judgement`` does,
from the two looks, if the second is by somebody else, a rigger or surveyor.
"""

import datetime as dt
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Installation
from fleet.templatetags.wording import SPOT_WORDS, day

from .. import recording
from ..followups import Rejudgement
from ..judgement.history import NOT_SEEN
from ..judgement.judging import condemned_spots, may_judge_again
from ..models import SKIPPED, Inspection, PartVerdict, VerdictValue
from ..recording import Look, Sight
from ..verdicts import reach

FEWEST_WORDS = 3
Value = Rejudgement.Value


@dataclass(frozen=True)
class Second:
    """What the second person judged, what they saw, and by when to look again (watch only)."""

    value: str
    saw: str
    again_by: dt.date | None = None


def first_judgement(part: Installation) -> PartVerdict | None:
    """Return the verdict that condemned a part that stands condemned now; None for any other."""
    if part.condemned_on is None:
        return None
    rows = PartVerdict.objects.filter(
        installation=part, inspection__on=part.condemned_on, value=VerdictValue.REPLACE
    )
    found = [row for row in rows.select_related("inspection") if condemned_spots(row)]
    return found[0] if found else None


@transaction.atomic
def judge_again(part: Installation, look: Look, second: Second, user=None) -> Inspection:
    """Put the second look on record. Raises ValidationError where it cannot count, and says why."""
    part = Installation.objects.select_related("stay__boat__fleet").get(pk=part.pk)
    first = first_judgement(part)
    if first is None or part.removed_on:
        raise ValidationError("This part does not stand condemned on a boat: nothing to judge.")
    _check(part, first, look, second)
    boat = part.stay.boat
    others = Installation.objects.standing().filter(stay__boat=boat).exclude(pk=part.pk)
    pks = others.order_by("pk").values_list("pk", flat=True)
    unseen = [Sight(NOT_SEEN, "whole", pk, note=SKIPPED) for pk in pks]
    inspection = recording.record(boat.fleet, boat, look, unseen, user)
    row = Rejudgement(
        inspection=inspection,
        installation=part,
        value=second.value,
        saw=second.saw.strip(),
        again_by=second.again_by,
    )
    row.full_clean()
    row.save()
    recording.judge([boat.pk])
    return inspection


def _check(part: Installation, first: PartVerdict, look: Look, second: Second) -> None:
    if look.on < first.inspection.on:
        raise ValidationError(f"It was condemned on {day(first.inspection.on)}, after that day.")
    if not may_judge_again(first.inspection, Inspection(**vars(look))):
        raise ValidationError(
            "A condemned part is judged again by a rigger or surveyor, and by another person than "
            f"{first.inspection.person}, who condemned it."
        )
    hidden = set(condemned_spots(first)) - reach(look.level, part.kind, part.stay.in_foil)
    if hidden:
        where = " and ".join(SPOT_WORDS[spot] for spot in sorted(hidden))
        raise ValidationError(f"It was condemned at the {where}, which that look cannot see.")
    if len(second.saw.split()) < FEWEST_WORDS:
        raise ValidationError("Say what was seen, in a sentence: it stands beside the first.")
    if (second.value == Value.WATCH) != (second.again_by is not None):
        raise ValidationError("Watch, and only watch, needs a day by which to look again.")
    if second.again_by and second.again_by <= look.on:
        raise ValidationError("Look again by a day after this look.")

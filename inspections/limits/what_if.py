"""What stands on record, judged in memory as if one rule had always been another."""

import datetime as dt
from dataclasses import dataclass, field, replace

from django.db.models import Q

from fleet.models import Boat, Fleet, Installation

from ..criteria import RANK, Sign
from ..judgement.history import BoatHistory, load, name_of
from ..judgement.judging import Bench, Judged, Verdict
from ..judgement.standing_verdicts import in_force
from ..models import Finding, PartVerdict


@dataclass(frozen=True)
class Shift:
    """One standing verdict that would have been another."""

    boat: Boat
    part: str
    was: str
    would_be: str
    was_again: dt.date | None
    would_again: dt.date | None

    @property
    def stricter(self) -> bool:
        return RANK[self.would_be] > RANK[self.was]

    @property
    def milder(self) -> bool:
        return RANK[self.would_be] < RANK[self.was]


@dataclass(frozen=True)
class WhatIf:
    """What would have been different. ``standing``: verdicts looked at; ``places``: open findings
    of this sign at places that are no part, each of which the new verdict would have met."""

    standing: int
    shifts: list[Shift] = field(default_factory=list)
    places: int = 0

    @property
    def stricter(self) -> int:
        return sum(shift.stricter for shift in self.shifts)

    @property
    def milder(self) -> int:
        return sum(shift.milder for shift in self.shifts)

    @property
    def day_only(self) -> int:
        return len(self.shifts) - self.stricter - self.milder


def what_if(fleet: Fleet, sign: Sign, change: dict) -> WhatIf:
    """Judge the standing parts this sign can concern once as they were and once with ``change``.

    ``change`` holds ``limit``, ``again_days`` and ``outcome`` where they differ from ``sign``.
    Writes nothing. A part's verdict rests on its own record alone, so the others are left out.
    """
    today, shifts = fleet.today(), []
    parts = _concerned(fleet, sign, today)
    for history in load(set(parts.values())):
        history.spans = [span for span in history.spans if span.part.pk in parts]
        own = [(row, each.changed(sign.code, **change)) for row, each in history.criteria]
        was = _standing(Bench().judge_boat(history))
        would = _standing(Bench().judge_boat(replace(history, criteria=own)))
        shifts += _shifts(history, was, would)
    return WhatIf(_all_standing(fleet, today), shifts, _places(fleet, sign, today))


def _concerned(fleet: Fleet, sign: Sign, today: dt.date) -> dict[int, int]:
    """Return part -> boat: those it was found on, and with a first limit those it can assess."""
    concerned = Q(findings__sign=sign.code)
    if sign.essential and not sign.has_limit:
        concerned |= Q(construction__in=sign.constructions)
    parts = Installation.objects.standing().filter(
        concerned, stay__boat__in=Boat.objects.of(fleet).standing(today)
    )
    return dict(parts.order_by("pk").distinct().values_list("pk", "stay__boat"))


def _standing(judged: Judged) -> dict[int, Verdict]:
    return {pk: in_force(rows[::-1]) for pk, rows in judged.by_part().items()}


def _shifts(
    history: BoatHistory, was: dict[int, Verdict], would: dict[int, Verdict]
) -> list[Shift]:
    return [
        Shift(
            history.boat,
            name_of(history.span_of[pk].part),
            old.value,
            would[pk].value,
            old.again_by,
            would[pk].again_by,
        )
        for pk, old in was.items()
        if (old.value, old.again_by) != (would[pk].value, would[pk].again_by)
    ]


def _all_standing(fleet: Fleet, today: dt.date) -> int:
    boats = Boat.objects.of(fleet).standing(today)
    rows = PartVerdict.objects.filter(
        inspection__boat__in=boats, installation__removed_on__isnull=True
    )
    return rows.values("installation").distinct().count()


def _places(fleet: Fleet, sign: Sign, today: dt.date) -> int:
    boats = Boat.objects.of(fleet).standing(today)
    found = Finding.objects.of(fleet).filter(inspection__boat__in=boats, sign=sign.code)
    return found.filter(place__in=sign.places, done_on__isnull=True).count()

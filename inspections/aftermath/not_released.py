"""The boats that are not released: who found it, when, why, and the one thing that lifts it."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import F

from fleet.models import Boat, Fleet

from ..followups import Failure, Stepping, YardMove
from ..judgement.history import name_of
from ..models import Hold, PartVerdict, VerdictValue
from ..tables import ending
from . import alike


@dataclass
class Held:
    """One hold of a boat, with who found it and what lifts it; ``like`` are parts to look at."""

    hold: Hold
    who: str
    lifts: str
    address: str
    second_look: bool = False
    like: list[alike.Alike] = field(default_factory=list)
    again: list[PartVerdict] = field(default_factory=list)

    @property
    def name(self) -> str:
        """Return what the held part is called within a sentence."""
        name = name_of(self.hold.installation)
        return name[:1].lower() + name[1:]


@dataclass
class HeldBoat:
    """One boat with its holds, the moves to a yard since the first of them, oldest hold first."""

    boat: Boat
    holds: list[Held]
    moves: list[YardMove] = field(default_factory=list)


def boats(fleet: Fleet, today: dt.date) -> list[HeldBoat]:
    """Return the held boats by base and name, in as many queries for any number."""
    holds = list(
        Hold.objects.standing()
        .filter(boat__in=Boat.objects.of(fleet).standing(today))
        .select_related("boat__fleet", "boat__base", "installation__stay", "inspection")
        .order_by("boat__base__name", "boat__name", "boat", "since", "pk")
    )
    like = alike.of_fleet(_gone(holds), fleet)
    failures = _failures(holds)
    seconds = _second_looks(holds)
    by_boat = defaultdict(list)
    for hold in holds:
        found = _held(hold, failures.get(hold.installation_id))
        if hold.cause == Hold.Cause.REPLACE:
            found.like = like.get(hold.installation_id, [])
            found.again = seconds.get(hold.installation_id, [])
        by_boat[hold.boat].append(found)
    moves = _moves(holds)
    return [
        HeldBoat(boat, own, [m for m in moves[boat.pk] if m.on >= own[0].hold.since])
        for boat, own in by_boat.items()
    ]


def _held(hold: Hold, failure: Failure | None) -> Held:
    address, words = ending(hold)
    look = hold.inspection
    if look and hold.cause == Hold.Cause.EVENT:
        who = look.person
    elif look:
        who = f"{look.person} ({look.get_competence_display()}, {look.get_level_display()})"
    else:
        who = failure.person if failure else "not on record"
    part = hold.installation
    second = hold.cause == Hold.Cause.REPLACE and part and part.condemned_on and not part.removed_on
    return Held(hold, who, words, address, bool(second))


def _gone(holds: list[Hold]) -> list[alike.Gone]:
    """Return the condemned and failed parts, each with the spot at which it went, if known."""
    own = [h for h in holds if h.cause == Hold.Cause.REPLACE and h.installation]
    rows = PartVerdict.objects.filter(
        installation__in=[hold.installation_id for hold in own],
        inspection__in=[hold.inspection_id for hold in own],
    )
    spots = {(row.installation_id, row.inspection_id): row.spot for row in rows}
    return [
        alike.Gone(
            hold.installation,
            hold.since,
            spots.get((hold.installation_id, hold.inspection_id)) or hold.installation.removal_spot,
        )
        for hold in own
    ]


def _failures(holds: list[Hold]) -> dict[int, Failure]:
    parts = [hold.installation_id for hold in holds if hold.inspection_id is None]
    return {row.installation_id: row for row in Failure.objects.filter(installation__in=parts)}


def _second_looks(holds: list[Hold]) -> dict[int, list[PartVerdict]]:
    """Return part id -> the verdicts of second looks after which *replace* stands."""
    parts = [hold.installation_id for hold in holds if hold.cause == Hold.Cause.REPLACE]
    rows = PartVerdict.objects.filter(
        installation__in=parts,
        value=VerdictValue.REPLACE,
        inspection__rejudgements__installation=F("installation"),
    )
    found = defaultdict(list)
    for row in rows.select_related("inspection").distinct():
        found[row.installation_id].append(row)
    return found


def _moves(holds: list[Hold]) -> dict[int, list[YardMove]]:
    found = defaultdict(list)
    for move in YardMove.objects.filter(boat__in={hold.boat_id for hold in holds}).order_by("on"):
        found[move.boat_id].append(move)
    return found


def unsigned(fleet: Fleet, today: dt.date) -> list[Stepping]:
    """Return the latest stepping of each boat that nobody has signed second."""
    rows = Stepping.objects.of(fleet).filter(boat__in=Boat.objects.of(fleet).standing(today))
    latest = {row.boat_id: row for row in rows.select_related("boat").order_by("on", "pk")}
    return sorted(
        (row for row in latest.values() if row.second_on is None),
        key=lambda row: (row.on, row.pk),
    )

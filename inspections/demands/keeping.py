"""Demands put on record, corrected, answered, accepted; each change is kept with who made it.

Every function is one transaction and refuses with a sentence (ValidationError).
"""

import datetime as dt
from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Boat, Fleet
from fleet.templatetags.wording import day

from ..models import Demand, DemandChange

State = Demand.State
FACTS = (
    "asker", "asker_name", "reference", "clause", "asked_on", "since", "deadline", "wanted",
    "part_kind", "stay_name", "older_than_years", "letter", "notes",
)  # fmt: skip


@transaction.atomic
def add(fleet: Fleet, boats: Iterable[Boat], user=None, **facts) -> Demand:
    """Put a demand on record for one boat or several."""
    row, boats = Demand(fleet=fleet, by=user, **facts), _own(fleet, boats)
    _check(row)
    row.full_clean()
    row.save()
    row.boats.set(boats)
    return row


def _own(fleet: Fleet, boats: Iterable[Boat]) -> list[Boat]:
    boats = list(boats)
    if not boats:
        raise ValidationError("Choose at least one boat.")
    if any(boat.fleet_id != fleet.pk for boat in boats):
        raise ValidationError("A boat of another fleet is among them.")
    return boats


def _check(row: Demand) -> None:
    if row.asked_on > row.fleet.today():
        raise ValidationError(f"It was asked on {day(row.asked_on)}, which is still to come.")
    if row.deadline < row.asked_on:
        raise ValidationError("The deadline is before the day it was asked.")
    if row.older_than_years is not None and row.wanted != Demand.Wanted.RENEW:
        raise ValidationError("An age belongs to a demand for parts to be renewed.")


@transaction.atomic
def change(demand: Demand, boats: Iterable[Boat], user, **facts) -> DemandChange | None:
    """Correct a demand; return the change kept of it, None where nothing differed."""
    row = _locked(demand)
    boats = _own(row.fleet, boats)
    before = _told(row, row.boats.all())
    for name, value in facts.items():
        setattr(row, name, value)
    _check(row)
    row.full_clean()
    after = _told(row, boats)
    differ = [name for name in after if after[name] != before[name]]
    if not differ:
        return None
    row.save()
    row.boats.set(boats)
    kept = [{name: told[name] for name in differ} for told in (before, after)]
    return _noted(row, f"Changed: {', '.join(differ)}", user, *kept)


def _told(row: Demand, boats: Iterable[Boat]) -> dict[str, str]:
    """Return the facts of a demand in words, by the name of each."""
    told = {}
    for name in FACTS:
        field = row._meta.get_field(name)
        value = getattr(row, f"get_{name}_display")() if field.choices else getattr(row, name)
        words = day(value) if isinstance(value, dt.date) else str(value or "")
        told[str(field.verbose_name)] = words
    return told | {"boats": ", ".join(sorted(boat.name for boat in boats))}


def _locked(demand: Demand) -> Demand:
    rows = Demand.objects.select_for_update(of=("self",)).select_related("fleet")
    return rows.get(pk=demand.pk)


def _noted(row: Demand, what: str, user, before=None, after=None) -> DemandChange:
    return DemandChange.objects.create(
        demand=row, what=what[:300], by=user, before=before or {}, after=after or {}
    )


@transaction.atomic
def sent(demand: Demand, on: dt.date, by: str, how: str, user=None) -> None:
    """Put on record that the answer went out."""
    row = _locked(demand)
    if not row.is_waiting:
        raise ValidationError(f"It is {row.get_state_display()} already.")
    _not_to_come(row, on)
    row.state, row.sent_on, row.sent_by, row.sent_how = State.SENT, on, by.strip(), how.strip()
    row.full_clean()
    row.save()
    _noted(row, f"Answer sent {day(on)} by {by.strip()}: {how.strip() or 'how not said'}", user)


@transaction.atomic
def closed(demand: Demand, state: str, on: dt.date, by: str, user=None) -> None:
    """Put on record that who asked accepted the answer, or asks no longer."""
    row = _locked(demand)
    if not row.is_waiting:
        raise ValidationError(f"It is {row.get_state_display()} already.")
    if state not in (State.ACCEPTED, State.WITHDRAWN):
        raise ValidationError("Say whether it is accepted or no longer asked.")
    if not by.strip():
        raise ValidationError("Say who of theirs said so.")
    _not_to_come(row, on)
    row.state, row.closed_on, row.closed_by = state, on, by.strip()
    row.full_clean()
    row.save()
    _noted(row, f"{row.get_state_display().capitalize()} {day(on)}, said by {by.strip()}", user)


def _not_to_come(row: Demand, on: dt.date) -> None:
    if on > row.fleet.today():
        raise ValidationError(f"{day(on)} is still to come.")
    if on < row.asked_on:
        raise ValidationError(f"That is before it was asked, {day(row.asked_on)}.")


@transaction.atomic
def reopen(demand: Demand, user=None) -> None:
    """Take back what was put down as sent, accepted or dropped; the changes keep that it was."""
    row = _locked(demand)
    if row.state == State.OPEN:
        raise ValidationError("It is open.")
    was = row.get_state_display()
    row.state, row.sent_on, row.closed_on = State.OPEN, None, None
    row.sent_by = row.sent_how = row.closed_by = ""
    row.save()
    _noted(row, f"Open again; it was: {was}", user)

"""Lives reviewed at a year end from the forecast: what was, what is now, what it changes."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from fleet.models import Fleet

from ..life_data.records import YEAR_DAYS
from ..models import LifeReview, PartMoney
from ..planning.register import Component, Review, month_after, months, movement
from .register import Entry, Register
from .years import bounds


@dataclass(frozen=True)
class Change:
    """A life as it would be: from `was` to `ends`, the next year's charge before and after."""

    entry: Entry
    on: dt.date
    was: dt.date
    ends: dt.date
    charge_was: int
    charge: int


def proposed(fleet: Fleet, register: Register) -> list[Change]:
    """Return what a review at the register's year end would change, from the forecast in place.

    A part is expected to serve until its renewal as planned, in half of the draws. Left alone: one
    written off, one that is gone, one whose renewal nobody can date, and a change below a month.
    """
    money = PartMoney.objects.of(fleet).exclude(remaining=None)
    expected = {
        row.installation_id: row.as_of + dt.timedelta(days=row.remaining * YEAR_DAYS)
        for row in money
    }
    changes = []
    for entry in register.entries:
        ends = expected.get(entry.part.pk)
        if ends and not entry.component.gone and entry.component.carrying(register.after):
            change = _change(fleet, register, entry, ends)
            if months(change.was) != months(change.ends):
                changes.append(change)
    return changes


def _change(fleet: Fleet, register: Register, entry: Entry, ends: dt.date) -> Change:
    on = register.after
    ends = max(month_after(ends, 0), month_after(on, 1))
    component = entry.component
    kept = tuple(each for each in component.reviews if months(each.on) < months(on))
    before = Component(component.cost, component.since, component.ends, kept)
    after = Component(component.cost, component.since, component.ends, (*kept, Review(on, ends)))
    year = bounds(fleet, register.year + 1)
    was = before.life_ends(on)
    return Change(entry, on, was, ends, movement(before, *year).charge,
                  movement(after, *year).charge)  # fmt: skip


@transaction.atomic
def review(changes: list[Change], basis: str, user=None) -> int:
    """Put the changes on record; a review of the same day before is replaced. Return how many."""
    lives = {change.entry.part.pk: change for change in changes}  # A part may have two invoices.
    if changes:
        LifeReview.objects.filter(installation__in=list(lives), on=changes[0].on).delete()
    LifeReview.objects.bulk_create(
        LifeReview(
            installation=change.entry.part, on=change.on, ends=change.ends, was=change.was,
            basis=basis, by=user,
        )
        for change in lives.values()
    )  # fmt: skip
    return len(lives)


def effect(changes: list[Change]) -> dict[str, int]:
    """Return how many lives become longer and shorter, and what that does to the next charge."""
    return {
        "longer": sum(change.ends > change.was for change in changes),
        "shorter": sum(change.ends < change.was for change in changes),
        "charge_was": sum(change.charge_was for change in changes),
        "charge": sum(change.charge for change in changes),
    }

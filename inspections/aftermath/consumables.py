"""Hanks, lashings, split pins and tape, counted from what was found: how many to order, by base."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from fleet.models import Base, Fleet

from ..followups import ConsumableOrder
from ..models import Finding

Item = ConsumableOrder.Item
# Which signs use up what. A finding that was not counted is one piece.
SIGNS = {
    "hanks_worn": Item.HANKS,
    "lashings_worn": Item.LASHINGS,
    "split_pin_missing": Item.SPLIT_PINS,
    "tape_missing": Item.TAPE,
}
YEAR = dt.timedelta(days=365)


@dataclass(frozen=True)
class Need:
    """So many pieces of an item found at a base since ``since``, on how many boats."""

    base: Base
    item: str
    pieces: int
    boats: int
    since: dt.date
    ordered_on: dt.date | None

    @property
    def label(self) -> str:
        return Item(self.item).label


def needs(fleet: Fleet, today: dt.date) -> list[Need]:
    """Return what to order, by base: put on record since the last order, within a year at most."""
    last = _last_orders(fleet)
    pieces, boats = defaultdict(int), defaultdict(set)
    rows = Finding.objects.of(fleet).filter(
        sign__in=SIGNS, inspection__on__gt=today - YEAR, inspection__on__lte=today
    )
    columns = ("sign", "measure", "inspection__recorded_at", "inspection__boat",
               "inspection__boat__base")  # fmt: skip
    for sign, measure, at, boat, base in rows.order_by().values_list(*columns):
        key = (base, SIGNS[sign])
        if key not in last or at > last[key].at:
            pieces[key] += 1 if measure is None else round(measure)
            boats[key].add(boat)
    order = list(Item)
    bases = Base.objects.of(fleet).in_bulk()
    found = [
        Need(bases[base], item, number, len(boats[base, item]),
             ordered.on if (ordered := last.get((base, item))) else today - YEAR,
             ordered.on if ordered else None)
        for (base, item), number in pieces.items() if number
    ]  # fmt: skip
    return sorted(found, key=lambda need: (need.base.name, need.base.pk, order.index(need.item)))


def _last_orders(fleet: Fleet) -> dict[tuple[int, str], ConsumableOrder]:
    rows = ConsumableOrder.objects.of(fleet).order_by("at", "pk")
    return {(row.base_id, row.item): row for row in rows}


def order(base: Base, item: str, today: dt.date, user=None) -> ConsumableOrder:
    """Note that what is on the list was ordered today, so that it is not ordered twice."""
    found = [n for n in needs(base.fleet, today) if (n.base.pk, n.item) == (base.pk, item)]
    if not found:
        raise ValidationError("Nothing of it is on the list for this base any more.")
    return ConsumableOrder.objects.create(
        base=base, item=item, pieces=found[0].pieces, on=today, by=user
    )

"""The audit's question, a line a renewal: found by whom, ordered, invoiced, fitted, released.

Where a work order's line renewed the part, that line says the job and who released it; what the
record of looks, holds and invoices says goes before it.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from fleet.models import Fleet, Installation
from fleet.templatetags.wording import hyphenless, spot_word
from inspections.criteria import DEFAULT
from inspections.followups import Stepping
from inspections.models import Finding, Hold, Inspection, PartVerdict

from ..models import InvoiceShare, WorkOrder, WorkOrderLine


@dataclass(frozen=True)
class Line:
    """One new part, what was found on the one before it, and who answers for each step.

    Words are blank, days None, where the record says nothing. cost: minor units, None if unknown.
    """

    part: Installation
    found_on: dt.date | None
    found: str
    found_by: str
    reason: str
    job: str
    work_order: WorkOrder | None
    order: str
    invoice: str
    cost: int | None
    released_on: dt.date | None
    released_by: str

    @property
    def whole(self) -> bool:
        """Return whether invoice, cost, fitter and release are all on record."""
        known = (self.invoice, self.part.fitter, self.released_by)
        return all(known) and self.cost is not None


def lines(fleet: Fleet, first: dt.date, after: dt.date) -> list[Line]:
    """Return a line for each part fitted from `first` up to, but without, `after`."""
    parts = list(
        Installation.objects.of(fleet)
        .filter(fitted_on__gte=first, fitted_on__lt=after)
        .select_related("stay__boat__base")
        .order_by("stay__boat__name", "fitted_on", "stay", "kind", "pk")
    )
    gone = before(fleet, parts)
    old = [part.pk for part in gone.values()]
    found, holds, ordered = finds(old), _holds(fleet, gone.values()), _ordered(parts)
    shares, steppings = _shares(parts), _steppings(fleet, parts)
    return [
        _line(part, gone.get(part.pk), found, holds, shares.get(part.pk, []), steppings,
              ordered.get(part.pk))
        for part in parts
    ]  # fmt: skip


def _line(
    part: Installation,
    gone: Installation | None,
    found: dict[int, tuple[Inspection, str]],
    holds: dict[int, Hold],
    shares: list[InvoiceShare],
    steppings: dict[int, list[Stepping]],
    ordered: WorkOrderLine | None,
) -> Line:
    look, words = found.get(gone.pk, (None, "")) if gone else (None, "")
    if look is None and ordered:
        look, words = ordered.look, ordered.rests_on
    hold = holds.get(gone.pk) if gone else None
    released = (hold.lifted_on, hold.lifted_by) if hold else _signed(part, steppings)
    if not released[1] and ordered and ordered.released_by:
        released = (ordered.done_on, ordered.released_by)
    return Line(
        part=part,
        found_on=look.on if look else None,
        found=words,
        found_by=look.person if look else "",
        reason=gone.get_removal_reason_display() if gone else "first on record here",
        job=ordered.reason if ordered else "",
        work_order=ordered.order if ordered else None,
        order=_orders(shares, ordered),
        invoice=", ".join(share.invoice.number for share in shares) or part.invoice,
        cost=sum(share.cost_minor for share in shares) if shares else None,
        released_on=released[0],
        released_by=released[1],
    )


def _orders(shares: list[InvoiceShare], ordered: WorkOrderLine | None) -> str:
    """Return the order numbers that invoices and suppliers know it by, each once."""
    numbers = [share.invoice.order for share in shares if share.invoice.order]
    if ordered:
        numbers += [each.number for each in ordered.order.supplies.all() if not each.struck]
    return ", ".join(dict.fromkeys(numbers))


def _ordered(parts: list[Installation]) -> dict[int, WorkOrderLine]:
    """Return new part -> the line of the work order that renewed it."""
    rows = WorkOrderLine.objects.filter(renewed__in=parts)
    rows = rows.select_related("order", "look").prefetch_related("order__supplies")
    return {row.renewed_id: row for row in rows}


def before(fleet: Fleet, parts: Iterable[Installation]) -> dict[int, Installation]:
    """Return the part that came off the same place last, by the part that took it."""
    parts, places = list(parts), defaultdict(list)
    stays = {part.stay_id for part in parts}
    gone = Installation.objects.of(fleet).filter(removed_on__isnull=False, stay__in=stays)
    gone = gone.order_by("removed_on")
    for each in gone:
        places[each.stay_id, each.kind].append(each)
    found = {}
    for part in parts:
        earlier = [
            each
            for each in places[part.stay_id, part.kind]
            if each.removed_on <= part.fitted_on and each.pk != part.pk
        ]
        if earlier:
            found[part.pk] = earlier[-1]
    return found


def finds(parts: list[int]) -> dict[int, tuple[Inspection, str]]:
    """Return part -> the look that condemned it last, and what was found where."""
    verdicts = (
        PartVerdict.objects.filter(installation__in=parts, value="replace")
        .select_related("inspection")
        .order_by("inspection__on", "pk")
    )
    signs = defaultdict(list)
    for finding in Finding.objects.filter(installation__in=parts).exclude(sign="not_seen"):
        signs[finding.inspection_id, finding.installation_id].append(finding)
    found = {}
    for verdict in verdicts:
        look = verdict.inspection
        seen = signs[look.pk, verdict.installation_id]
        words = "; ".join(_words(each) for each in seen) or "; ".join(verdict.reasons)
        found[verdict.installation_id] = (look, words)
    return found


def _words(finding: Finding) -> str:
    sign = DEFAULT[finding.sign].label if finding.sign in DEFAULT else hyphenless(finding.sign)
    return sign if finding.place == "whole" else f"{sign}, {spot_word(finding.place)}"


def _holds(fleet: Fleet, gone: Iterable[Installation]) -> dict[int, Hold]:
    """Return part -> the hold that its condemnation brought on, once lifted by its renewal.

    A hold lifted while the part stayed up released the boat with the old part, not the new one.
    """
    off = {part.pk: part.removed_on for part in gone}
    holds = Hold.objects.of(fleet).filter(installation__in=off, lifted_on__isnull=False)
    return {
        hold.installation_id: hold
        for hold in holds.order_by("lifted_on", "pk")
        if hold.lifted_on >= off[hold.installation_id]
    }


def _shares(parts: list[Installation]) -> dict[int, list[InvoiceShare]]:
    found = defaultdict(list)
    rows = InvoiceShare.objects.filter(installation__in=parts).select_related("invoice")
    for share in rows.order_by("invoice__on", "pk"):
        found[share.installation_id].append(share)
    return found


def _steppings(fleet: Fleet, parts: list[Installation]) -> dict[int, list[Stepping]]:
    boats = {part.stay.boat_id for part in parts}
    found = defaultdict(list)
    rows = Stepping.objects.of(fleet).filter(Q(boat__in=boats), second_on__isnull=False)
    for row in rows.order_by("on"):
        found[row.boat_id].append(row)
    return found


def _signed(part: Installation, steppings: dict[int, list[Stepping]]) -> tuple:
    """Return when and by whom the first stepping after the fitting was signed a second time."""
    after = [row for row in steppings[part.stay.boat_id] if row.on >= part.fitted_on]
    return (after[0].second_on, after[0].second_person) if after else (None, "")

"""The audit's question, a line a renewal: found by whom, ordered, invoiced, fitted, released."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from fleet.models import Fleet, Installation
from fleet.templatetags.wording import hyphenless, spot_word
from inspections.criteria import DEFAULT
from inspections.followups import Stepping
from inspections.models import Finding, Hold, PartVerdict

from ..models import InvoiceShare


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
    before = _before(fleet, parts)
    old = [part.pk for part in before.values()]
    finds, holds = _finds(old), _holds(fleet, old)
    shares, steppings = _shares(parts), _steppings(fleet, parts)
    return [
        _line(part, before.get(part.pk), finds, holds, shares.get(part.pk, []), steppings)
        for part in parts
    ]


def _line(
    part: Installation,
    gone: Installation | None,
    finds: dict[int, tuple],
    holds: dict[int, Hold],
    shares: list[InvoiceShare],
    steppings: dict[int, list[Stepping]],
) -> Line:
    on, found, by = finds.get(gone.pk, (None, "", "")) if gone else (None, "", "")
    hold = holds.get(gone.pk) if gone else None
    released = (hold.lifted_on, hold.lifted_by) if hold else _signed(part, steppings)
    return Line(
        part=part,
        found_on=on,
        found=found,
        found_by=by,
        reason=gone.get_removal_reason_display() if gone else "first on record here",
        order=", ".join(share.invoice.order for share in shares if share.invoice.order),
        invoice=", ".join(share.invoice.number for share in shares) or part.invoice,
        cost=sum(share.cost_minor for share in shares) if shares else None,
        released_on=released[0],
        released_by=released[1],
    )


def _before(fleet: Fleet, parts: Iterable[Installation]) -> dict[int, Installation]:
    """Return the part that came off the same place last, by the part that took it."""
    places = defaultdict(list)
    gone = Installation.objects.of(fleet).filter(removed_on__isnull=False).order_by("removed_on")
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


def _finds(parts: list[int]) -> dict[int, tuple]:
    """Return part -> (day, what was found and where, who) of the look that condemned it last."""
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
        found[verdict.installation_id] = (look.on, words, look.person)
    return found


def _words(finding: Finding) -> str:
    sign = DEFAULT[finding.sign].label if finding.sign in DEFAULT else hyphenless(finding.sign)
    return sign if finding.place == "whole" else f"{sign}, {spot_word(finding.place)}"


def _holds(fleet: Fleet, parts: list[int]) -> dict[int, Hold]:
    """Return part -> the hold that its condemnation brought on, once lifted."""
    holds = Hold.objects.of(fleet).filter(installation__in=parts, lifted_on__isnull=False)
    return {hold.installation_id: hold for hold in holds.order_by("lifted_on", "pk")}


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

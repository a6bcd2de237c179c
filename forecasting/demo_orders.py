"""The work orders of the demonstration, in every state; nothing on record is renewed by them."""

import datetime as dt
import zlib
from collections.abc import Sequence

from django.db import transaction

from fleet.models import Boat, Fleet, Installation, Membership

from .accounts import audit, invoicing
from .models import Invoice, InvoiceShare, SupplierOrder, WorkOrder
from .orders import drawing_up, sources, steps, ticking
from .orders.sources import Job

YARDS = ("Sallow Creek Yard", "Tidewater Rigging of Brack", "Long Mole Boatworks")
RELEASED_BY = "Oskar Eikemoen"
YEAR = dt.timedelta(days=365)
PAST = 2  # orders of work that the record holds already
STAYED = "Seen good with the mast down: it stays up."
TWICE = "Drawn up twice: the yard takes this boat's work with the next list."


def keep(fleet: Fleet) -> str:
    """Draw the orders of a charter fleet up, once; return what there is, in words."""
    if fleet.kind == Fleet.Kind.CHARTER and not WorkOrder.objects.of(fleet).exists():
        _tell(fleet)
    count = WorkOrder.objects.of(fleet).count()
    return f"{count} work orders" if count else "no work orders"


@transaction.atomic
def _tell(fleet: Fleet) -> None:
    manager = fleet.memberships.filter(role=Membership.Role.MANAGER).select_related("user").first()
    who = {"by": manager.user if manager else None,
           "by_name": manager.user.get_full_name() if manager else "The manager"}  # fmt: skip
    for number, invoice in enumerate(_paid(fleet)):
        _done(fleet, invoice, YARDS[number], who, closed=number == 0)
    _under_way_and_to_come(fleet, who)


# -- work of the last year, which the record holds with its invoice


def _paid(fleet: Fleet) -> list[Invoice]:
    """Return the dearest invoices of a year whose parts all took the place of one before them."""
    since = fleet.today() - YEAR
    recent = Invoice.objects.of(fleet).filter(on__gte=since).exclude(shares=None).distinct()
    chosen, boats = [], set()
    for invoice in sorted(recent, key=lambda each: (-each.cost_minor, each.pk)):
        if invoice.boat_id not in boats and _replaced(invoice):
            chosen.append(invoice)
            boats.add(invoice.boat_id)
        if len(chosen) == PAST:
            break
    return sorted(chosen, key=lambda each: each.on)


def _replaced(invoice: Invoice) -> list[tuple[InvoiceShare, Installation]]:
    """Return each share with the part that came off; nothing where one has no such part."""
    shares = list(invoice.shares.select_related("installation__stay__boat"))
    before = audit.before(invoice.boat.fleet, [share.installation for share in shares])
    pairs = [(share, before.get(share.installation_id)) for share in shares]
    whole = len(pairs) > 1 and all(
        old and old.removed_on == share.installation.fitted_on for share, old in pairs
    )
    return pairs if whole else []


def _done(fleet: Fleet, invoice: Invoice, yard: str, who: dict, *, closed: bool) -> None:
    pairs = _replaced(invoice)
    fitted = min(share.installation.fitted_on for share, _ in pairs)
    jobs = [_job_of(share, old, invoice) for share, old in pairs]
    stays = None if closed else _another(invoice.boat, [old for _, old in pairs])
    jobs += [Job(stays, "with_mast", "Pays because the mast is down anyway.", False, 2.5,
                 jobs[0].price)] if stays else []  # fmt: skip
    on = fitted - dt.timedelta(days=41)
    order = _drawn_up(invoice.boat, jobs, on, who)
    order = _given(order, yard, on + dt.timedelta(days=6), fitted + dt.timedelta(days=10), who)
    SupplierOrder.objects.create(order=order, supplier="Tarn & Bight Wire", number=invoice.order,
                                 on=on + dt.timedelta(days=8))  # fmt: skip
    for line in order.lines.all():
        if stays and line.installation_id == stays.pk:
            ticking.not_done(line, STAYED, None)
        else:
            ticking.link(line, RELEASED_BY, **who)
    order.refresh_from_db()
    order = steps.take(order, "done", max(share.installation.fitted_on for share, _ in pairs),
                       **who)  # fmt: skip
    invoicing.name_order(invoice, order)
    if closed:
        steps.take(order, "closed", invoice.on, **who)


def _job_of(share: InvoiceShare, old: Installation, invoice: Invoice) -> Job:
    """The job as it was before: its price within some per cent of what it came to."""
    swing = 94 + zlib.crc32(f"{invoice.number}{old.pk}".encode()) % 13  # 94 to 106
    must = old.removal_reason == Installation.Removal.CONDEMNED
    reason = "Condemned: the boat does not sail until it is renewed." if must else (
        "Past the age at which waiting pays."
    )  # fmt: skip
    hours = 2.5 if old.kind == Installation.Kind.WIRE else 1.0
    code = "condemned" if must else "cost_age"
    return Job(old, code, reason, must, hours, share.cost_minor * swing // 100)


def _another(boat: Boat, besides: Sequence[Installation]) -> Installation | None:
    """Return a wire of the boat that has stood all that time."""
    taken = [part.stay_id for part in besides]
    wires = Installation.objects.standing().filter(stay__boat=boat, kind="wire")
    return wires.exclude(stay__in=taken).select_related("stay").order_by("pk").first()


# -- the coming off season


def _under_way_and_to_come(fleet: Fleet, who: dict) -> None:
    """One late, one begun with an invoice ahead of it, one given out, one drawn up, one mistake."""
    today = fleet.today()
    ahead = Invoice.objects.of(fleet).filter(shares=None, work_order=None).first()
    offers = [offer for offer in sources.offers(fleet, sources.chosen(fleet, None)) if offer.jobs]
    offers.sort(key=lambda each: (each.boat != (ahead and ahead.boat), -each.price, each.boat.pk))
    stages = ((40, 34, -6), (30, 24, 30), (9, 5, 60), (3, None, None), (2, None, None))
    for at, (offer, (drawn, given, due)) in enumerate(zip(_in_order(offers), stages, strict=False)):
        order = _drawn_up(offer.boat, offer.jobs, today - dt.timedelta(days=drawn), who,
                          season=sources.chosen(fleet, None).season)  # fmt: skip
        if given:
            day, by = today - dt.timedelta(days=given), today + dt.timedelta(days=due)
            order = _given(order, YARDS[at % len(YARDS)], day, by, who)
        if at == 1 and ahead:
            steps.take(order, "under_way", today - dt.timedelta(days=12), **who)
            SupplierOrder.objects.create(order=order, supplier=ahead.supplier, number=ahead.order,
                                         on=ahead.on)  # fmt: skip
            invoicing.name_order(ahead, order)
        if at == len(stages) - 1:
            steps.take(order, "withdrawn", today - dt.timedelta(days=1), words=TWICE, **who)


def _in_order(offers: list[sources.Offer]) -> list[sources.Offer]:
    """Return five boats, the one with the invoice ahead second: it was drawn up second."""
    first, *rest = offers[:5] or [None]
    return [*rest[:1], first, *rest[1:]] if first else []


def _drawn_up(boat: Boat, jobs: list[Job], on: dt.date, who: dict, season: str = "") -> WorkOrder:
    label = season or f"{on.year - (on.month < 7)}/{(on.year + (on.month >= 7)) % 100:02d}"
    return drawing_up.draw_up(boat, jobs, season=label, source="refit list", on=on, **who)


def _given(order: WorkOrder, yard: str, on: dt.date, due: dt.date, who: dict) -> WorkOrder:
    week = due - dt.timedelta(days=14 + due.weekday())
    return steps.give(order, {"given_to": yard, "due_by": due, "week": week}, on, **who)

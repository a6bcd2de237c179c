"""What the demonstration's invented insurers and owners ask, and its bookings, so that the pages
of demands, bookings and calendar are not empty. The same every time; asked for twice, it adds none.
"""

import datetime as dt
from collections.abc import Iterator

from django.db import transaction
from django.db.models import Min

from fleet.models import Boat, Fleet, Installation
from inspections.demands import keeping
from inspections.models import Booking, Demand

DAY = dt.timedelta(days=1)
INSURER = "Grimsund Mutual"
CHARTERED = 24  # Boats with bookings, on two of three bases.
AWAY = (7, 10, 14)  # Days a charter lasts.


@transaction.atomic
def add(fleet: Fleet) -> tuple[int, int]:
    """Put demands and bookings on record; return how many of each are new."""
    if Demand.objects.of(fleet).exists() or Booking.objects.of(fleet).exists():
        return 0, 0
    boats = list(Boat.objects.of(fleet).standing(fleet.today()).order_by("name", "pk"))
    charter = fleet.kind == Fleet.Kind.CHARTER
    demands = [*(_of_charter if charter else _of_club)(fleet, boats)]
    bookings = [*_bookings(fleet, boats)] if charter else []
    Booking.objects.bulk_create(bookings)
    return len(demands), len(bookings)


def _of_charter(fleet: Fleet, boats: list[Boat]) -> Iterator[Demand]:
    today = fleet.today()
    yield keeping.add(
        fleet, _oldest(boats, 3), asker="insurer", asker_name=INSURER, reference="GM-4471",
        clause="Standing rigging wires older than ten years are to be renewed before cover is "
        "extended to the next season.", asked_on=today - 40 * DAY, deadline=today + 110 * DAY,
        wanted="renew", part_kind="wire", older_than_years=10,
    )  # fmt: skip
    yield keeping.add(
        fleet, boats[3:6], asker="flag", asker_name="Ship Register, Outer Sound",
        reference="SR 26/118", clause="A report of a qualified rigger on the standing rigging, not "
        "older than one year.", asked_on=today - 70 * DAY, since=today - 365 * DAY,
        deadline=today + 20 * DAY, wanted="report",
    )  # fmt: skip
    sent = keeping.add(
        fleet, boats[8:10], asker="owner", asker_name="Tideway Leasing", reference="",
        clause="Mast out and opened before the boats are handed back.", wanted="mast_out",
        asked_on=today - 120 * DAY, deadline=today - 6 * DAY, since=today - 400 * DAY,
    )  # fmt: skip
    keeping.sent(sent, today - 15 * DAY, "Maren Saltmarsh", "by mail, with the reply pack")
    yield sent


def _of_club(fleet: Fleet, boats: list[Boat]) -> Iterator[Demand]:
    today = fleet.today()
    yield keeping.add(
        fleet, boats[:3], asker="insurer", asker_name=INSURER, reference="GM-2209",
        clause="An inspection with the mast out every four years, by a rigger.",
        asked_on=today - 30 * DAY, deadline=today + 160 * DAY, wanted="mast_out",
    )  # fmt: skip
    done = keeping.add(
        fleet, boats[4:5], asker="insurer", asker_name=INSURER, reference="GM-2214",
        clause="A rigger's report before the season.", asked_on=today - 250 * DAY,
        since=today - 600 * DAY, deadline=today - 160 * DAY, wanted="report",
    )  # fmt: skip
    keeping.sent(done, today - 200 * DAY, "Oskar Eikemoen", "by mail")
    keeping.closed(done, Demand.State.ACCEPTED, today - 180 * DAY, "Ms Halvorsen")
    yield done


def _oldest(boats: list[Boat], number: int) -> list[Boat]:
    """Return boats with the oldest wires, and as many with the youngest oldest ones."""
    wires = Installation.objects.standing().filter(stay__boat__in=boats, kind="wire")
    rows = wires.exclude(fitted_on=None).order_by().values_list("stay__boat")
    since = dict(rows.annotate(oldest=Min("fitted_on")))
    by_age = sorted((since[boat.pk], boat.name, boat) for boat in boats if boat.pk in since)
    return [boat for _, _, boat in [*by_age[:number], *by_age[-number:]]]


def _bookings(fleet: Fleet, boats: list[Boat]) -> Iterator[Booking]:
    """Yield charters of some boats from a few days ago to the spring, a week apart and more."""
    for number, boat in enumerate(boats[:CHARTERED]):
        first = fleet.today() - DAY * (number % 5)
        for turn in range(5):
            last = first + DAY * AWAY[(number + turn) % 3]
            yield Booking(
                boat=boat, first=first, last=last, source=Booking.Source.SHEET,
                reference=f"B-{1000 + 10 * number + turn}",
            )  # fmt: skip
            first = last + DAY * (3 + 9 * ((number + turn) % 4))

"""Days of the yard that are taken, and a lead time, as rows."""

import datetime as dt

from fleet.models import Boat
from forecasting.models import LeadTime, YardBlock


def block_and_lead(boat: Boat) -> dict:
    """Return a contractor's work on the boat and what its turnbuckles take to come, by name."""
    slug, first = boat.fleet.slug, dt.date(2026, 12, 7)
    block = YardBlock.objects.create(
        fleet=boat.fleet, base=boat.base, boat=boat, first=first, last=first + dt.timedelta(days=4),
        what="contractor", hours=4, berths=1, note=f"{slug}: keel",
    )  # fmt: skip
    lead = LeadTime.objects.create(
        fleet=boat.fleet, kind="turnbuckle", weeks=2, supplier=f"{slug} fittings"
    )
    return {"yard_block": block, "lead_time": lead}

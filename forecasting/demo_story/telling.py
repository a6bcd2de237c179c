"""A fleet's story told once, in one transaction."""

from collections.abc import Callable

from django.db import transaction

from fleet.models import Fleet, Membership, Spare
from inspections.followups import Recommendation, Stepping
from inspections.models import Inspection, Photo

from . import charter, club
from .teller import Teller

STORIES: dict[str, Callable[[Teller], None]] = {"vessmark": charter.tell, "lysnevik": club.tell}


@transaction.atomic
def tell(fleet: Fleet) -> str:
    """Put on record what a fleet's people did after the import, unless it is; say what it was."""
    if Spare.objects.of(fleet).exists() or fleet.slug not in STORIES:
        return "nothing new"
    looks = Inspection.objects.of(fleet).count()
    members = Membership.objects.filter(fleet=fleet).select_related("user")
    people = {member.user.username: member.user for member in members}
    STORIES[fleet.slug](Teller(fleet, people))
    counts = {
        "events and looks": Inspection.objects.of(fleet).count() - looks,
        "photos": Photo.objects.of(fleet).count(),
        "recommendations": Recommendation.objects.of(fleet).count(),
        "masts stepped": Stepping.objects.of(fleet).count(),
        "parts in store": Spare.objects.of(fleet).in_store().count(),
    }
    return ", ".join(f"{number} {what}" for what, number in counts.items())

"""What a boat's page says of its owner's address: that mail does not arrive, or is not wanted."""

from django import template
from django.utils.html import format_html

from fleet.models import Boat

from ..reminding import addressees

register = template.Library()


@register.simple_tag
def mail_fault(boat: Boat) -> str:
    """Return a sentence about the owner's address, blank while mail arrives there."""
    if not boat.owner_email:
        return ""
    row = addressees.of(boat.fleet, boat.owner_email)
    if row.broken_at:
        words = "Mail to {} does not arrive: {}. A manager is told instead."
        return format_html(words, boat.owner_email, row.broken_words)
    if row.stopped_at:
        return "Asked for no more reminders by mail; bosun and manager hear of this boat."
    return ""

"""Ways to send the table of a boat's parts as a browser would."""

from fleet.models import Installation
from tests.inspections.docks import address


def url(boat) -> str:
    return address(boat, "parts_table", boat.pk)


def shown(client, boat) -> dict[str, str]:
    """Return what the page would send if nothing on it were touched."""
    context = client.get(url(boat)).context
    sent = {}
    for row in (*context["table"], *context["gone"]):
        for field in row:
            if field.name != "stands":  # A box that is not ticked is not sent.
                value = field.value()
                sent[field.html_name] = "" if value is None else str(value)
    return sent


def correct(client, part, sent=None, row: str = "part", **said):
    """Save the table with some cells of one part said anew."""
    boat = part.stay.boat
    sent = shown(client, boat) if sent is None else sent
    changes = {f"{row}{part.pk}-{name}": value for name, value in said.items()}
    return client.post(url(boat), sent | changes, follow=True)


def now(part) -> Installation:
    return Installation.objects.get(pk=part.pk)

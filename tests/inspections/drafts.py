"""Inspections as a phone writes and sends them, from the kit it got."""

import json
import uuid

from django.test import Client

from fleet.models import Boat
from inspections.dock.kit import boat_in_kit
from inspections.dock.kit_reads import boat_records
from tests.builders import TODAY
from tests.inspections.docks import address


def kit_of(boat: Boat) -> dict:
    [record] = boat_records([boat.pk])
    return boat_in_kit(record)


def draft(boat: Boat, kit: dict | None = None, level: str = "deck", **said) -> dict:
    """Return a draft of a look that saw all within reach and found nothing, unless said."""
    own = kit or kit_of(boat)
    usual = {
        "id": str(uuid.uuid4()),
        "boat": boat.pk,
        "record": own["record"],
        "level": level,
        "turn_round": False,
        "on": TODAY.isoformat(),
        "person": "A Bosun",
        "competence": "crew",
        "method": "eye",
        "note": "",
        "signed_at": f"{TODAY}T10:30:00Z",
        "begun_at": f"{TODAY}T10:00:00Z",
        "seen": own["levels"].get(level, []),
        "sights": [],
        "not_seen": [],
        "answers": {},
    }
    return usual | said


def sight(part, sign: str, place: str = "lower", **facts) -> dict:
    return {"sign": sign, "part": part.pk if part else None, "place": place} | facts


def send(client: Client, boat: Boat, body: object):
    text = body if isinstance(body, str | bytes) else json.dumps(body)
    return client.post(address(boat, "dock_send"), text, content_type="application/json")

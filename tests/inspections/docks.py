"""A boat with two cap shrouds, and inspections of it in a line each."""

import datetime as dt
import io
import re

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from fleet.models import Boat, Installation
from inspections import recording
from inspections.models import Finding, Hold, Inspection, PartVerdict
from tests import builders

SPRING = dt.date(2026, 4, 1)


def day(number: int) -> dt.date:
    """Return the day so many days after 1 April 2026."""
    return SPRING + dt.timedelta(days=number)


def rigged_boat(slug: str = "harbour", name: str = "Tern") -> Boat:
    """Return a boat of 2014 with port and starboard cap shroud, in a fleet whose day is fixed."""
    boat = builders.boat(builders.empty_fleet(slug), name)
    for side in ("port", "starboard"):
        builders.wire(boat, side=side)
    return boat


def part(boat: Boat, side: str = "port", kind: str = "wire", stay: str = "cap_shroud"):
    """Return the part that stands there now."""
    return Installation.objects.get(
        stay__boat=boat, stay__name=stay, stay__side=side, kind=kind, removed_on=None
    )


def saw(part: Installation | None, sign: str, place: str = "lower", **facts) -> recording.Sight:
    return recording.Sight(sign, place, part.pk if part else None, **facts)


def inspect(boat: Boat, on: dt.date, *sights: recording.Sight, **who) -> Inspection:
    """Record an inspection aloft by a rigger, unless said otherwise."""
    usual = {"level": "aloft", "person": "A Rigger", "competence": "rigger"}
    look = recording.Look(on=on, **(usual | who))
    return recording.record(boat.fleet, boat, look, sights)


def verdict(look: Inspection, part: Installation) -> PartVerdict:
    return PartVerdict.objects.get(inspection=look, installation=part)


def held(boat: Boat) -> list[str]:
    """Return the causes that hold the boat now."""
    return list(Hold.objects.standing().filter(boat=boat).values_list("cause", flat=True))


def every_row() -> list[tuple]:
    """Return what follows from the record, ids and all, to see whether anything moved."""
    return [
        *PartVerdict.objects.order_by("pk").values_list(),
        *Hold.objects.order_by("pk").values_list(),
        *Finding.objects.order_by("pk").values_list(),
        *Installation.objects.order_by("pk").values_list("pk", "condemned_on"),
    ]


def signed_in(boat, role: str = "bosun") -> Client:
    client = Client()
    user = builders.person(f"{role}-{boat.fleet.slug}", boat.fleet, role)
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    return client


def address(boat, name: str, pk: int | None = None) -> str:
    kwargs = {"fleet": boat.fleet.slug} | ({"pk": pk} if pk else {})
    return reverse(name, kwargs=kwargs)


def read(client: Client, url: str) -> str:
    response = client.get(url)
    assert response.status_code == 200
    return response.content.decode()


def photo(name: str = "end.jpg", form: str = "JPEG", tail: bytes = b"") -> SimpleUploadedFile:
    content = io.BytesIO()
    Image.new("RGB", (64, 48), "#884422").save(content, form)
    return SimpleUploadedFile(name, content.getvalue() + tail, "image/jpeg")


def photo_boxes(text: str) -> dict[str, list[str]]:
    """Return the fields by which a form that comes back names the photos it has."""
    boxes: dict[str, list[str]] = {}
    for name, number in re.findall(r'name="(\S+-kept)" value="(\S+)" checked', text):
        boxes.setdefault(name, []).append(number)
    return boxes

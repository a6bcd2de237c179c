"""A demonstration begun anew takes the old one's files along with its rows."""

import datetime as dt
import uuid

import pytest
from django.conf import settings

from fleet.models import Fleet
from forecasting import demo
from forecasting.demo_story import pictures
from inspections.models import Photo
from inspections.photos import keeping
from tests.builders import TODAY


@pytest.mark.django_db
def test_begun_anew_nothing_is_left_of_it_and_a_fleet_of_ones_own_is_left_alone():
    facts = {"time_zone": "UTC", "currency": "EUR"}
    shown = Fleet.objects.create(name="Shown", slug="shown", as_of=TODAY, **facts)
    own = Fleet.objects.create(name="Own", slug="own", **facts)
    for fleet in (shown, own):
        picture = pictures.pin(fleet.name, missing=True)
        keeping.keep(fleet, None, uuid.uuid4(), picture, dt.date(2026, 1, 1))
    left = settings.VAR_DIR / "photos" / str(shown.pk)
    assert left.is_dir()
    demo.take_out(["shown", "own"])
    assert list(Fleet.objects.all()) == [own]
    assert Photo.objects.count() == 1
    assert not left.exists()
    assert (settings.VAR_DIR / "photos" / str(own.pk)).is_dir()

"""A forecast made before an inspection was recorded, corrected or withdrawn is behind, by pull."""

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import Boat, Fleet
from forecasting import reads, refresh
from forecasting.life_data.marks import marks
from forecasting.models import BoatOutlook
from inspections import corrections, recording
from inspections.models import Inspection
from tests import builders
from tests.builders import TODAY
from tests.inspections.docks import day, inspect, part, read, rigged_boat, saw, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def boat() -> Boat:
    """A boat seen once, beside another of its fleet."""
    boat = rigged_boat()
    builders.wire(builders.boat(boat.fleet, "Plover"))
    inspect(boat, day(0), saw(part(boat), "tea_stain", "run", cleaned=True))
    return boat


def newer(fleet: Fleet) -> int:
    return reads.behind(Boat.objects.of(fleet))


def corrected(boat: Boat, **facts) -> Inspection:
    look = Inspection.objects.get(boat=boat)
    now = {name: getattr(look, name) for name in ("on", "level", "person", "competence")}
    user = boat.fleet.memberships.get(role="manager").user
    seen = [saw(part(boat), "not_seen", "whole", note="taped over")]
    return corrections.correct(
        look, recording.Look(**now | facts), seen, user, "misread", timezone.now()
    )


def test_a_corrected_look_puts_the_forecast_behind_until_it_is_refreshed(boat):
    manager, page = signed_in(boat, "manager"), reverse("boat", args=[boat.fleet.slug, boat.pk])
    outlook = reverse("outlook", args=[boat.fleet.slug])
    told = "since its forecast was made"
    refresh.run(boat.fleet, TODAY)
    assert newer(boat.fleet) == 0
    assert told not in read(manager, page)
    corrected(boat)
    assert newer(boat.fleet) == 1
    assert told in read(manager, page)
    assert "for 1 boat since this forecast was made" in read(manager, outlook)
    assert reverse("refresh", args=[boat.fleet.slug]) in read(manager, page)
    assert "A manager or bosun refreshes" in read(signed_in(boat, "accountant"), page)
    before = BoatOutlook.objects.get(boat=boat).chance_1y
    assert refresh.run(boat.fleet, TODAY).rewritten
    assert BoatOutlook.objects.get(boat=boat).chance_1y > before, "not seen where it was good"
    assert newer(boat.fleet) == 0
    assert told not in read(manager, page)
    assert not refresh.run(boat.fleet, TODAY).rewritten, "repeating changes nothing"


def test_recorded_withdrawn_and_renewed_each_put_it_behind(boat):
    refresh.run(boat.fleet, TODAY)
    look = inspect(boat, day(90), saw(part(boat), "tea_stain", "run", cleaned=True))
    assert newer(boat.fleet) == 1
    caught_up(boat)
    user = builders.person("mara", boat.fleet, "manager")
    corrections.withdraw(look, user, "it was Plover", timezone.now())
    assert newer(boat.fleet) == 1
    caught_up(boat)
    recording.record_renewal(part(boat), fitted_on=day(120), fitter="R. Knot", reason="age_rule")
    assert newer(boat.fleet) == 1


def caught_up(boat: Boat) -> None:
    """Have the forecast made from the record as it is, without making it."""
    mark = marks(Boat.objects.filter(pk=boat.pk))[boat.pk]
    BoatOutlook.objects.filter(boat=boat).update(record=mark)
    assert newer(boat.fleet) == 0


def test_what_is_put_on_record_while_the_forecast_is_made_is_newer_than_it(boat, monkeypatch):
    """The mark is taken before the record is read."""
    planned = refresh.planned

    def recorded_meanwhile(*given):
        inspect(boat, day(90))
        return planned(*given)

    monkeypatch.setattr(refresh, "planned", recorded_meanwhile)
    refresh.run(boat.fleet, TODAY)
    assert newer(boat.fleet) == 1

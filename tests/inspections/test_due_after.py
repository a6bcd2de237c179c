"""What happened and what went asks for looks: events, notes of damage, parts alike; and the rules
of the fleet that ask for them, as its manager sets them."""

import datetime as dt

import pytest

from inspections.aftermath import happenings
from inspections.due import LOOKS, due
from inspections.models import HandIn
from tests import builders
from tests.inspections.docks import address, inspect, part, rigged_boat, saw, signed_in

pytestmark = pytest.mark.django_db
TODAY = builders.TODAY
DAY = dt.timedelta(days=1)
CRACK = "barrel_crack_along"


def of_kind(boat, kind: str, today: dt.date = TODAY) -> list:
    return [each for each in due(boat.fleet, today) if each.kind == kind and each.boat == boat]


def with_batch(boat, batch: str, fitter: str = "") -> None:
    for side in ("port", "starboard"):
        each = part(boat, side)
        each.batch, each.fitter = batch, fitter
        each.save()


def test_after_lightning_the_boat_is_due_now_until_a_rigger_found_it_sound():
    boat = rigged_boat()
    event = happenings.Event("lightning", TODAY - 3 * DAY, "Struck at anchor.", "Skipper")
    happenings.record_event(boat.fleet, boat, event)
    [found] = of_kind(boat, "event")
    assert found.on == TODAY - 3 * DAY
    assert "Inspect now, aloft or mast-down, by a rigger or surveyor" in found.reason
    assert found.kind in LOOKS
    inspect(boat, TODAY, person="Bo", competence="crew")
    assert of_kind(boat, "event") == [found]
    inspect(boat, TODAY)
    assert of_kind(boat, "event") == []


def test_a_skippers_note_of_damage_is_due_until_the_whole_boat_was_looked_at():
    boat = rigged_boat()
    note = HandIn.objects.create(boat=boat, on=TODAY - DAY, note="A kink in the backstay.")
    [found] = of_kind(boat, "event")
    assert (found.on, found.about) == (TODAY - DAY, f"note-{note.pk}")
    assert found.reason == (
        "Handed in: A kink in the backstay (the skipper, 13 Oct 2026). "
        "Nobody has looked at the whole boat since."
    )
    inspect(boat, TODAY, level="deck")
    assert of_kind(boat, "event") == []


def test_the_rest_of_a_batch_is_due_within_the_fleets_days_until_seen_at_that_spot():
    boat = rigged_boat()
    boat.fleet.alike_days = 21
    boat.fleet.save()
    sister = builders.boat(boat.fleet, "Gull", joined=TODAY - 30 * DAY)
    builders.wire(sister, batch="B7")
    with_batch(boat, "B7")
    inspect(boat, TODAY - 10 * DAY, saw(part(boat), CRACK))
    [found] = of_kind(sister, "alike")
    assert found.on == TODAY + 11 * DAY
    assert found.reason == (
        "Cap shroud, port: same batch as the cap shroud, port of Tern, condemned 4 Oct 2026. "
        "Nobody has looked there since."
    )
    inspect(sister, TODAY - 20 * DAY, level="deck")
    assert of_kind(sister, "alike") == [found]
    inspect(sister, TODAY, level="deck")  # The lower end, where the other one went.
    assert of_kind(sister, "alike") == []


def test_the_pair_is_due_at_once_and_a_part_fitted_later_is_not_alike():
    boat = rigged_boat()
    with_batch(boat, "", "A. Rigger")
    sister = builders.boat(boat.fleet, "Gull")
    builders.wire(sister, fitter="A. Rigger", fitted_on=TODAY)
    inspect(boat, TODAY - 10 * DAY, saw(part(boat), CRACK))
    [found] = of_kind(boat, "alike")
    assert found.on == TODAY - 10 * DAY
    assert found.reason.startswith("Cap shroud, starboard: Its pair, cap shroud port,")
    assert of_kind(sister, "alike") == []


def test_what_let_go_asks_for_the_same_place_on_boats_of_its_design():
    boat = rigged_boat()
    boat.design = "Halse 38"
    boat.save()
    sister = builders.boat(boat.fleet, "Gull", design="Halse 38")
    other = builders.boat(boat.fleet, "Knot", design="Lugg 30")
    for each in (sister, other):
        builders.wire(each)
    happenings.record_failure(part(boat), TODAY - DAY, "lower", "It let go.", "Skipper")
    [found] = of_kind(sister, "alike")
    assert "same design as the cap shroud, port of Tern, let go 13 Oct 2026" in found.reason
    assert of_kind(other, "alike") == []


def test_what_went_more_than_a_year_ago_is_left_to_the_intervals():
    boat = rigged_boat()
    sister = builders.boat(boat.fleet, "Gull")
    builders.wire(sister, batch="B7")
    with_batch(boat, "B7")
    inspect(boat, TODAY - 10 * DAY, saw(part(boat), CRACK))
    assert of_kind(sister, "alike", TODAY + 355 * DAY) != []
    assert of_kind(sister, "alike", TODAY + 356 * DAY) == []


def test_wires_that_reach_the_insurers_age_are_due_for_renewal():
    boat = rigged_boat()
    assert of_kind(boat, "age") == []
    boat.fleet.insurer_age_years = 12.5
    [found] = of_kind(boat, "age")
    assert found.on == dt.date(2026, 10, 1)
    assert found.reason == (
        "The insurer covers wires up to 12.5 years, as the fleet's rules have it: Cap shroud, port "
        "1 Oct 2026; Cap shroud, starboard 1 Oct 2026."
    )
    boat.stays.get(side="port").installations.update(fitted_certainty="year")
    [found] = of_kind(boat, "age")
    assert found.on == dt.date(2026, 7, 1)


def test_a_manager_sets_every_rule_that_makes_things_due_and_none_to_nonsense():
    boat = rigged_boat()
    client, page = signed_in(boat, "manager"), address(boat, "fleet_settings")
    given = {
        name: value
        for name, value in client.get(page).context["form"].initial.items()
        if value is not None
    }
    own = {
        "deck_check_months": 3, "aloft_months": 9, "mast_down_months": 36, "alike_days": 14,
        "insurer_age_years": 10, "risk_limit": 0.2,
    }  # fmt: skip
    assert client.post(page, given | own).status_code == 302
    boat.fleet.refresh_from_db()
    assert {name: getattr(boat.fleet, name) for name in own} == own
    for name in own:
        refused = client.post(page, given | own | {name: 0})
        assert refused.status_code == 200, name
        assert refused.context["form"].errors.keys() == {name}

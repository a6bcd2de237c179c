"""A condemned shroud holds its pair and lists the others of its batch, fitter and day, whether it
was found on a phone, in the form without JavaScript, or came in by a file."""

import datetime as dt

import pytest

from fleet.models import Installation
from inspections import recording
from inspections.aftermath import alike, not_released
from inspections.aftermath.second_look import Second, judge_again
from inspections.importing import import_workbook
from inspections.models import Hold, Inspection
from tests import builders
from tests.builders import TODAY
from tests.inspections.docks import address, day, held, inspect, part, read, saw, signed_in
from tests.inspections.drafts import draft, send, sight
from tests.inspections.test_dock_form import dock_post, post, spot
from tests.workbooks import xlsx

pytestmark = pytest.mark.django_db
JOB = {"fitter": "Loft Yard", "fitted_on": dt.date(2018, 3, 1), "fitted_certainty": "day"}


@pytest.fixture
def fleet_alike(boat):
    """Tern's port shroud, one of its batch on Dunlin, one of its fitter and day on Knot."""
    Installation.objects.filter(pk=part(boat).pk).update(batch="B7", **JOB)
    for name, facts in (("Dunlin", {"batch": "b7"}), ("Knot", JOB | {"fitter": "LOFT YARD"})):
        builders.wire(builders.boat(boat.fleet, name), **facts)
    builders.wire(builders.boat(boat.fleet, "Ruff"), batch="-", fitter="?", fitted_on=TODAY)
    return boat


def by_phone(boat) -> None:
    found = sight(part(boat), "broken_wire", measure=1)
    assert send(signed_in(boat), boat, draft(boat, sights=[found])).status_code == 201


def by_form(boat) -> None:
    shroud = part(boat)
    said = dock_post(**spot(shroud, "lower", sign="broken_wire", measure="1"))
    assert post(boat, "deck", said, signed_in(boat)).status_code == 302


def by_file(boat) -> None:
    looks = [["boat", "date", "level", "person", "competence"],
             ["Tern", TODAY, "deck check", "A Bosun", "crew"]]  # fmt: skip
    found = [["boat", "date", "stay", "side", "part", "place", "sign", "measure"],
             ["Tern", TODAY, "cap shroud", "port", "wire", "lower end",
              "broken_wire", 1]]  # fmt: skip
    report = import_workbook(
        boat.fleet, xlsx({"inspections": looks, "findings": found}), dry_run=False
    )
    assert report.written, [str(fault) for fault in report.faults]


@pytest.mark.parametrize("way", [by_phone, by_form, by_file])
def test_the_pair_is_held_and_the_others_listed_whichever_way_the_find_came(fleet_alike, way):
    boat = fleet_alike
    way(boat)
    assert sorted(held(boat)) == ["pair", "replace"]
    assert Hold.objects.get(cause="pair").installation == part(boat, "starboard")
    [(gone, others)] = alike.of_look(Inspection.objects.get())
    assert gone == part(boat)
    assert [(each.part.stay.boat.name, each.why) for each in others] == [
        ("Dunlin", "same batch"), ("Knot", "same fitter and day"),
    ]  # fmt: skip
    client = signed_in(boat, "manager")
    for name, pk in (("not_released", None), ("inspection", Inspection.objects.get().pk)):
        text = read(client, address(boat, name, pk))
        assert "Look at 2 more like cap shroud, port" in text
        assert "Dunlin" in text
        assert "not yet" in text


def test_the_others_stay_listed_after_the_renewal_until_they_were_looked_at(fleet_alike):
    boat = fleet_alike
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    recording.record_renewal(part(boat), fitted_on=day(3), fitter="A", invoice="R-9")
    assert "replace" not in held(boat)
    [listed] = not_released.unlooked(boat.fleet, TODAY)
    assert [each.part.stay.boat.name for each in listed.like] == ["Dunlin", "Knot"]
    assert "2 like cap shroud, port of Tern" in read(signed_in(boat), address(boat, "not_released"))
    for name in ("Dunlin", "Knot"):
        inspect(boat.fleet.boats.get(name=name), day(5))
    assert not_released.unlooked(boat.fleet, TODAY) == []
    assert not_released.unlooked(boat.fleet, TODAY + dt.timedelta(days=400)) == []


def test_a_part_judged_again_and_kept_lists_no_others(fleet_alike):
    boat = fleet_alike
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    look = recording.Look(on=day(1), level="aloft", person="B Surveyor", competence="surveyor")
    judge_again(part(boat), look, Second("keep", "a scratch, no crack", None))
    assert not_released.unlooked(boat.fleet, TODAY) == []

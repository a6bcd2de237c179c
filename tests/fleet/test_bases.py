"""Bases and cruising grounds by hand: added, corrected, refused in words."""

import pytest
from django.urls import reverse

from fleet.models import Base, Change, CruisingGround
from tests import builders
from tests.inspections.test_import_page import signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return builders.empty_fleet("harbour")


@pytest.fixture
def manager(fleet):
    return signed_in(fleet, "manager")


def url(fleet, name: str, pk: int | None = None) -> str:
    return reverse(name, kwargs={"fleet": fleet.slug} | ({"pk": pk} if pk else {}))


def add(client, fleet, **said):
    usual = {"name": "Hollow Quay", "new_ground": "Inner Sound", "corrosivity": "C4"}
    return client.post(url(fleet, "base_add"), usual | said)


def test_the_first_base_brings_its_ground_and_leads_to_the_first_boat(fleet, manager):
    months = {"off_season_start": "10", "off_season_end": "4", "rigger_hours": "300"}
    assert add(manager, fleet, **months).url == url(fleet, "boat_add")
    base = Base.objects.of(fleet).get()
    assert (base.name, base.ground.name, base.ground.corrosivity) == (
        "Hollow Quay", "Inner Sound", "C4",
    )  # fmt: skip
    assert (base.off_season(), base.rigger_hours) == ((10, 4), 300)
    assert sorted(Change.objects.of(fleet).values_list("what", flat=True)) == [
        "Base Hollow Quay added", "Ground Inner Sound added, C4 temperate coast",
    ]  # fmt: skip


def test_a_base_without_months_of_its_own_keeps_the_fleets_off_season(fleet, manager):
    add(manager, fleet)
    assert Base.objects.of(fleet).get().off_season() == (11, 3)


def test_a_second_base_takes_a_ground_that_is_there(fleet, manager):
    ground = builders.boat(fleet).base.ground
    said = {"name": "Far Quay", "new_ground": "", "corrosivity": "", "ground": ground.pk}
    assert add(manager, fleet, **said).url == url(fleet, "fleet_settings")
    assert Base.objects.get(name="Far Quay").ground == ground
    assert CruisingGround.objects.count() == 1


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ({"name": "  hollow  QUAY"}, "There is a base called hollow QUAY in this fleet already."),
        ({"new_ground": "", "corrosivity": ""}, "A base lies on a cruising ground: choose or name"),
        ({"new_ground": "inner sound"}, "The fleet has a ground called inner sound: choose it"),
        ({"new_ground": "Lake", "corrosivity": ""}, "Say how corrosive the new ground is."),
        ({"off_season_start": "10"}, "Give both months of the off season, or neither."),
        ({"rigger_hours": "many"}, "Rigger hours are a whole number of hours"),
        ({"rigger_hours": "-3"}, "Rigger hours are a whole number of hours"),
        ({"off_season_start": "13"}, "13 is not one of the available choices"),
    ],
)
def test_a_fault_is_said_in_words_and_nothing_typed_is_lost(fleet, manager, fault, sentence):
    builders.base(fleet)
    usual = {"name": "Far Quay", "new_ground": "Outer Sound"}
    page = add(manager, fleet, **(usual | fault)).content.decode()
    assert sentence in page
    kept = "300" if "rigger_hours" not in fault else (usual | fault)["name"]
    assert f'value="{kept}"' in add(manager, fleet, **({"rigger_hours": "300"} | usual | fault)
                                    ).content.decode()  # fmt: skip
    assert Base.objects.count() == 1


def test_a_ground_chosen_and_another_named_is_refused(fleet, manager):
    ground = builders.base(fleet).ground
    page = add(manager, fleet, name="Far Quay", new_ground="Lake", ground=ground.pk)
    assert "A base lies on one ground" in page.content.decode()


def test_a_ground_of_another_fleet_cannot_be_chosen(fleet, manager):
    builders.base(fleet)
    foreign = builders.base(builders.empty_fleet("estuary")).ground
    page = add(manager, fleet, name="Far Quay", new_ground="", ground=foreign.pk)
    assert page.status_code == 200
    assert not Base.objects.filter(name="Far Quay").exists()


def test_a_base_is_corrected_and_who_did_so_is_on_record(fleet, manager):
    base = builders.base(fleet)
    said = {"name": "Hollow Quay", "ground": base.ground.pk, "rigger_hours": "120"}
    manager.post(url(fleet, "base_edit", base.pk), said)
    base.refresh_from_db()
    assert base.rigger_hours == 120
    row = Change.objects.of(fleet).get()
    assert row.what == "Base Hollow Quay corrected: rigger hours in one off season"
    assert (row.before, row.after) == ({"rigger_hours": None}, {"rigger_hours": 120})
    assert row.what in manager.get(url(fleet, "fleet_settings")).content.decode()


def test_a_base_saved_as_it_is_leaves_no_trace(fleet, manager):
    base = builders.base(fleet)
    manager.post(url(fleet, "base_edit", base.pk), {"name": base.name, "ground": base.ground.pk})
    assert not Change.objects.exists()


def test_a_ground_is_added_and_its_corrosivity_corrected(fleet, manager):
    manager.post(url(fleet, "ground_add"), {"name": "Lake", "corrosivity": "C3"})
    ground = CruisingGround.objects.of(fleet).get()
    page = manager.get(url(fleet, "fleet_settings")).content.decode()
    assert "Grounds without a base:" in page
    said = {"name": "Lake", "corrosivity": "C2", "en_factor": "-7"}
    manager.post(url(fleet, "ground_edit", ground.pk), said)
    ground.refresh_from_db()
    assert (ground.corrosivity, ground.en_factor) == ("C2", -7)
    assert Change.objects.of(fleet).first().before == {"corrosivity": "C3", "en_factor": None}


def test_two_grounds_of_one_name_are_refused(fleet, manager):
    manager.post(url(fleet, "ground_add"), {"name": "Lake", "corrosivity": "C3"})
    page = manager.post(url(fleet, "ground_add"), {"name": " LAKE ", "corrosivity": "C2"})
    assert "There is a ground called LAKE in this fleet already." in page.content.decode()


@pytest.mark.parametrize("role", ["bosun", "accountant"])
def test_only_a_manager_adds_or_edits_bases_and_grounds(fleet, role):
    base, client = builders.base(fleet), signed_in(fleet, role)
    for address in (
        url(fleet, "base_add"), url(fleet, "base_edit", base.pk),
        url(fleet, "ground_add"), url(fleet, "ground_edit", base.ground.pk),
    ):  # fmt: skip
        assert client.get(address).status_code == 403
        assert client.post(address, {"name": "x"}).status_code == 403
    assert "Add a base" not in client.get(url(fleet, "fleet_settings")).content.decode()

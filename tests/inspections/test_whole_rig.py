"""A whole rig in one description, on a boat and on her sisters. The patterns themselves are common
practice, no source; see the tests of the patterns."""

import datetime as dt

import pytest

from fleet.models import Boat, Change, Installation, Stay
from inspections.models import PartVerdict
from tests import builders
from tests.inspections.docks import address, inspect, read, signed_in

pytestmark = pytest.mark.django_db
D = dt.date
KINDS = ["wire", "turnbuckle", "chainplate"]


@pytest.fixture
def boat():
    fleet = builders.empty_fleet("harbour")
    return builders.boat(fleet, design="Sloop 38", build_year=2008, spreader_pairs=1)


def sister(boat, name: str, **facts) -> Boat:
    usual = {"design": "sloop  38", "build_year": 2009, "spreader_pairs": 1}
    return builders.boat(boat.fleet, name, **(usual | facts))


def said(step: str, **changes) -> dict:
    usual = {
        "diameter_mm": "8", "construction": "1x19", "fitted": "2016", "invoice": "123",
        "fitter": "Example Rigging", "kinds": KINDS, "lower_terminal": "swaged",
    }  # fmt: skip
    return usual | changes | {"step": step}


def write(client, boat, **changes):
    return client.post(address(boat, "rig", boat.pk), said("write", **changes))


def refusal(client, boat, **changes) -> str:
    response = write(client, boat, **changes)
    assert response.status_code == 200
    assert not Installation.objects.filter(invoice="123").exists()
    return response.content.decode()


def test_eight_mm_1x19_of_2016_becomes_the_parts_of_a_single_spreader_sloop(boat):
    client = signed_in(boat, "manager")
    page = client.post(address(boat, "rig", boat.pk), said("look")).content.decode()
    # Forestay, backstay, and port and starboard cap shroud, lower forward and lower aft.
    assert "this adds 24 parts on 1 boat" in page
    assert "Cap shroud, port" in page
    assert not Installation.objects.exists()
    assert write(client, boat).status_code == 302
    wires = Installation.objects.filter(kind="wire")
    assert wires.count() == 8
    assert set(wires.values_list(
        "diameter_mm", "construction", "fitted_on", "fitted_certainty", "invoice", "fitter",
        "lower_terminal",
    )) == {(8.0, "1x19", D(2016, 7, 1), "year", "123", "Example Rigging", "swaged")}  # fmt: skip


def test_chainplates_of_an_older_boat_are_those_it_was_built_with(boat):
    write(signed_in(boat, "manager"), boat)
    plates = Installation.objects.filter(kind="chainplate")
    assert set(plates.values_list("fitted_on", "fitted_certainty", "invoice")) == {
        (D(2008, 7, 1), "estimated", "")
    }


def test_the_thread_of_a_turnbuckle_is_not_taken_from_its_wire(boat):
    write(signed_in(boat, "manager"), boat)
    assert set(Installation.objects.filter(kind="turnbuckle").values_list("diameter_mm")) == {
        (None,)
    }


def test_ticked_sisters_get_the_same_rig_and_the_others_do_not(boat):
    ticked, other = sister(boat, "Skua"), sister(boat, "Petrel")
    stranger = builders.boat(boat.fleet, "Gannet", design="Ketch 44")
    client = signed_in(boat, "manager")
    page = read(client, address(boat, "rig", boat.pk))
    assert "Skua" in page
    assert "Petrel" in page
    assert "Gannet" not in page
    write(client, boat, sisters=[ticked.pk])
    fitted = Installation.objects.filter(invoice="123").values_list("stay__boat", flat=True)
    assert set(fitted) == {boat.pk, ticked.pk}
    assert not Stay.objects.filter(boat__in=[other, stranger]).exists()


def test_a_sister_with_another_rig_gets_her_own_pattern(boat):
    taller = sister(boat, "Skua", spreader_pairs=2)
    write(signed_in(boat, "manager"), boat, sisters=[taller.pk])
    names = set(taller.stays.values_list("name", flat=True))
    assert "intermediate" in names
    assert "intermediate" not in set(boat.stays.values_list("name", flat=True))


def test_a_shroud_that_stands_is_never_overwritten_and_the_page_says_so(boat):
    shroud = builders.wire(boat, diameter_mm=10, invoice="old")
    client = signed_in(boat, "manager")
    page = client.post(address(boat, "rig", boat.pk), said("look")).content.decode()
    assert "Left as they are: 1 that already stand" in page
    write(client, boat)
    shroud.refresh_from_db()
    assert (shroud.diameter_mm, shroud.invoice) == (10, "old")
    assert Installation.objects.filter(stay=shroud.stay, kind="wire").count() == 1
    assert Installation.objects.filter(stay=shroud.stay, kind="turnbuckle").count() == 1


def test_a_rig_entered_twice_is_there_once(boat):
    client = signed_in(boat, "manager")
    write(client, boat)
    count = Installation.objects.count()
    page = write(client, boat).content.decode()
    assert "Every place of this rig has such a part already" in page
    assert Installation.objects.count() == count


def test_one_sister_built_later_stops_it_for_all_boats(boat):
    young = sister(boat, "Skua", build_year=2020)
    page = refusal(signed_in(boat, "manager"), boat, sisters=[young.pk])
    assert "Skua was built later, in 2020" in page


def test_a_wire_cannot_have_gone_up_before_the_one_it_follows_came_off(boat):
    builders.wire(boat, removed_on=D(2019, 3, 1), removal_reason="age_rule")
    page = refusal(signed_in(boat, "manager"), boat)
    assert "Cap shroud, port, wire: the one before came off later, on 1 Mar 2019" in page


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ({"fitted": "2031"}, "is still to come"),
        ({"fitted": "03/04/2016"}, "This date can be read two ways."),
        ({"fitted": "soon"}, "This is not a date."),
        ({"fitted": "2016", "certainty": "day"}, "A year alone is not a day"),
        ({"fitted": "", "certainty": "year"}, "no date this certainty could be said of"),
        ({"diameter_mm": "-8"}, "Write millimetres between 0.1 and 200"),
        ({"kinds": []}, "Tick at least one kind of part."),
    ],
)
def test_a_fault_is_said_in_words_and_nothing_typed_is_lost(boat, fault, sentence):
    page = refusal(signed_in(boat, "manager"), boat, **fault)
    assert sentence in page
    assert 'value="Example Rigging"' in page


def test_who_put_up_which_rig_stands_on_the_boats_page(boat):
    client = signed_in(boat, "manager")
    write(client, boat)
    assert Change.objects.get().by.username == "manager-harbour"
    assert "Whole rig, 24 parts: 8 mm 1x19, fitted 2016, invoice 123" in read(
        client, address(boat, "boat", boat.pk)
    )


def test_an_inspection_on_record_is_judged_again_for_the_new_parts(boat):
    look = inspect(boat, D(2026, 5, 1))
    assert not PartVerdict.objects.filter(inspection=look).exists()
    write(signed_in(boat, "manager"), boat)
    # Aloft sees wires and turnbuckles; chainplates are passed mast-down alone.
    assert PartVerdict.objects.filter(inspection=look, value="keep").count() >= 16


def test_a_boat_of_another_fleet_cannot_be_ticked_as_a_sister(boat):
    other = builders.boat(builders.empty_fleet("estuary"), "Skua", design="Sloop 38")
    refusal(signed_in(boat, "manager"), boat, sisters=[other.pk])
    assert not other.stays.exists()


@pytest.mark.parametrize("role", ["bosun", "accountant"])
def test_only_a_manager_puts_up_a_whole_rig(boat, role):
    client = signed_in(boat, role)
    assert client.get(address(boat, "rig", boat.pk)).status_code == 403
    assert write(client, boat).status_code == 403
    assert not Installation.objects.exists()


# -- inside a foil, and of which alloy


def test_the_forestay_is_proposed_inside_a_foil_and_a_cutters_inner_one_is_asked(boat):
    client, cutter = signed_in(boat, "manager"), sister(boat, "Skua", rig="cutter")
    form = client.get(address(boat, "rig", boat.pk)).context["form"]
    assert [box.data["value"] for box in form["foils"]] == ["forestay"]
    assert form["foils"].value() == ["forestay"]
    form = client.get(address(boat, "rig", cutter.pk)).context["form"]
    assert [box.data["value"] for box in form["foils"]] == ["forestay", "inner_forestay"]
    assert form["foils"].value() == ["forestay"]


def test_what_is_on_record_of_the_forestay_goes_before_the_guess(boat):
    Stay.objects.create(boat=boat, name="forestay", in_foil=False)
    form = signed_in(boat, "manager").get(address(boat, "rig", boat.pk)).context["form"]
    assert form["foils"].value() == []


def test_the_alloy_its_sisters_are_of_is_proposed_and_none_where_nobody_knows(boat):
    client = signed_in(boat, "manager")
    assert client.get(address(boat, "rig", boat.pk)).context["form"]["alloy"].value() == ""
    builders.wire(sister(boat, "Skua"), alloy="AISI 316")
    assert client.get(address(boat, "rig", boat.pk)).context["form"]["alloy"].value() == "AISI 316"


def test_foil_and_alloy_are_shown_before_and_stand_on_the_wires_after(boat):
    client = signed_in(boat, "manager")
    facts = {"foils": ["forestay"], "alloy": "AISI 316"}
    page = client.post(address(boat, "rig", boat.pk), said("look", **facts)).content.decode()
    assert "wire inside a furler foil, turnbuckle, chainplate" in page
    assert "8 mm 1x19 AISI 316, forestay inside a foil, fitted 2016" in page
    write(client, boat, **facts)
    assert [stay.name for stay in boat.stays.filter(in_foil=True)] == ["forestay"]
    assert set(Installation.objects.filter(kind="wire").values_list("alloy")) == {("AISI 316",)}
    assert set(Installation.objects.exclude(kind="wire").values_list("alloy")) == {("",)}


def test_a_look_aloft_passes_only_the_lower_end_of_a_forestay_inside_its_foil(boat):
    look = inspect(boat, D(2026, 5, 1))
    write(signed_in(boat, "manager"), boat, foils=["forestay"])
    rows = PartVerdict.objects.filter(inspection=look, installation__kind="wire")
    forestay = rows.get(installation__stay__name="forestay")
    assert (forestay.lower, forestay.run, forestay.upper) == ("good", "not_seen", "not_seen")
    assert rows.get(installation__stay__name="backstay").upper == "good"


def test_a_wire_that_stands_keeps_what_is_said_of_its_foil(boat):
    wire = builders.wire(boat, stay="forestay", side="")
    write(signed_in(boat, "manager"), boat, foils=["forestay"])
    wire.stay.refresh_from_db()
    assert not wire.stay.in_foil


def test_every_tick_and_word_survives_a_fault_and_a_change_of_mind(boat):
    twin = sister(boat, "Skua")
    client, facts = signed_in(boat, "manager"), {
        "foils": ["forestay"], "alloy": "UNS S20910", "kinds": ["wire"], "sisters": [twin.pk],
        "upper_terminal": "t_ball", "batch": "B77", "certainty": "estimated", "pin_mm": "12.5",
    }  # fmt: skip
    for step, more in (("look", {"fitted": "soon"}), ("change", {})):
        answer = client.post(address(boat, "rig", boat.pk), said(step, **(facts | more)))
        shown = answer.context["form"]
        typed = said(step) | facts | more | {"sisters": [str(twin.pk)]}
        assert {name: shown[name].value() for name in typed if name != "step"} == {
            name: value for name, value in typed.items() if name != "step"
        }
        assert answer.content.decode().count(" checked") == 3


def test_chainplates_entered_alone_are_of_the_day_that_is_said(boat):
    write(signed_in(boat, "manager"), boat, kinds=["chainplate"])
    plates = Installation.objects.filter(kind="chainplate")
    assert set(plates.values_list("fitted_on", "invoice")) == {(D(2016, 7, 1), "123")}

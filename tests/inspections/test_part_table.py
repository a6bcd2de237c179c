"""The parts of a boat corrected in a table: each fault in words, and who changed what."""

import datetime as dt

import pytest

from fleet.models import Change, Installation
from inspections.models import PartVerdict
from tests import builders
from tests.inspections.docks import address, inspect, part, read, saw, signed_in
from tests.inspections.part_pages import correct, now, shown, url

pytestmark = pytest.mark.django_db
D = dt.date


@pytest.fixture
def shroud(boat):
    return part(boat)


def test_a_fitting_date_of_a_standing_shroud_is_corrected(manager, shroud):
    page = correct(manager, shroud, fitted="2015-03-02", invoice="R-7").content.decode()
    assert "1 part corrected." in page
    assert (now(shroud).fitted_on, now(shroud).invoice) == (D(2015, 3, 2), "R-7")
    assert "Cap shroud, port: invoice blank, now R-7; fitted 1 Apr 2014, now 2 Mar 2015" in page
    row = Change.objects.get()
    assert row.by.username == "manager-harbour"
    assert (row.before["fitted_on"], row.after["fitted_on"]) == ("2014-04-01", "2015-03-02")


def test_what_a_wire_and_a_turnbuckle_are_ordered_by_is_put_on_record(manager, boat, shroud):
    screw = builders.wire(boat, kind="turnbuckle", construction="", length_mm=None,
                          lower_terminal="", upper_terminal="")  # fmt: skip
    plate = builders.wire(boat, kind="chainplate", construction="", length_mm=None,
                          lower_terminal="", upper_terminal="")  # fmt: skip
    page = read(manager, url(boat))
    asked = [
        [name for name in ("thread", "hand", "mast_end", "adjuster")
         if f'name="part{each.pk}-{name}"' in page]
        for each in (shroud, screw, plate)
    ]  # fmt: skip
    assert asked == [["thread", "hand", "mast_end", "adjuster"], ["thread", "hand"], []]
    correct(manager, shroud, mast_end="slotted plate", adjuster="half open")
    page = correct(manager, screw, thread="M16", hand="both").content.decode()
    assert (
        "Cap shroud, port, turnbuckle: thread blank, now M16; hand of the thread blank, now "
        "right- and left-hand" in page
    )
    assert (now(screw).thread, now(screw).hand) == ("M16", "both")
    assert (now(shroud).mast_end, now(shroud).adjuster) == ("slotted plate", "half open")


def test_an_untouched_table_writes_nothing(manager, boat, shroud):
    before = list(Installation.objects.order_by("pk").values())
    assert "Nothing changed." in correct(manager, shroud).content.decode()
    assert list(Installation.objects.order_by("pk").values()) == before
    assert not Change.objects.exists()


@pytest.mark.parametrize(
    ("was", "written", "then"),
    [
        ((D(2014, 4, 1), "day"), "2016", (D(2016, 7, 1), "year")),
        ((D(2014, 4, 1), "estimated"), "2016", (D(2016, 7, 1), "estimated")),
        ((D(2014, 4, 1), "day"), "", (None, "unknown")),
        ((None, "unknown"), "2016-05-04", (D(2016, 5, 4), "day")),
        ((D(2016, 7, 1), "year"), "2016-05-04", (D(2016, 5, 4), "year")),
    ],
)
def test_a_corrected_date_claims_no_more_than_is_known(manager, shroud, was, written, then):
    shroud.fitted_on, shroud.fitted_certainty = was
    shroud.save()
    correct(manager, shroud, fitted=written)
    assert (now(shroud).fitted_on, now(shroud).fitted_certainty) == then


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ({"diameter_mm": "thick"}, "Cap shroud, port, diameter, mm: Write millimetres between"),
        ({"length_mm": "900000"}, "pin to pin, mm: Write millimetres between 0.1 and 200,000"),
        ({"fitted": "1/2/2016"}, "This date can be read two ways."),
        ({"fitted": "2030"}, "is still to come"),
        ({"fitted": "2011-01-01"}, "Tern was built later, in 2014"),
        ({"fitted": "", "certainty": "year"}, "no date this certainty could be said of"),
    ],
)
def test_a_fault_is_said_by_part_and_nothing_typed_is_lost(manager, boat, shroud, fault, sentence):
    if fault.get("certainty"):
        shroud.fitted_certainty = "day"
        shroud.save()
    sent = shown(manager, boat) | {f"part{part(boat, 'starboard').pk}-batch": "B77"}
    page = correct(manager, shroud, sent=sent, **fault).content.decode()
    assert sentence in page
    assert 'value="B77"' in page
    assert not Installation.objects.filter(batch="B77").exists()


def test_a_shroud_cannot_have_gone_up_before_the_one_it_follows_came_off(manager, boat, shroud):
    gone = builders.wire(boat, side="starboard", removed_on=D(2020, 3, 1),
                         removal_reason="age_rule", stay="lower_aft")  # fmt: skip
    Installation.objects.filter(pk=gone.pk).update(stay=shroud.stay)
    page = correct(manager, shroud, fitted="2018-01-05").content.decode()
    assert "The part before it came off later, on 1 Mar 2020." in page


def test_a_shroud_cannot_be_younger_than_what_was_found_on_it(manager, boat, shroud):
    inspect(boat, D(2026, 5, 1), saw(shroud, "tea_stain", "run"))
    page = correct(manager, shroud, fitted="2026-06-01").content.decode()
    assert "Something was found on this very part earlier, on 1 May 2026." in page


def test_an_inspection_before_the_corrected_date_no_longer_counts_for_the_shroud(
    manager, boat, shroud
):
    look = inspect(boat, D(2020, 5, 1))
    assert PartVerdict.objects.filter(inspection=look, installation=shroud).exists()
    correct(manager, shroud, fitted="2022-05-01")
    assert not PartVerdict.objects.filter(inspection=look, installation=shroud).exists()


def test_what_somebody_else_corrected_meanwhile_is_shown_and_not_overwritten(manager, boat, shroud):
    stale = shown(manager, boat)
    Installation.objects.filter(pk=shroud.pk).update(diameter_mm=10)
    response = correct(manager, shroud, sent=stale, batch="B77")
    page = response.content.decode()
    assert "Somebody else changed this part" in page
    assert "10 mm 1x19" in page
    assert (now(shroud).diameter_mm, now(shroud).batch) == (10, "")
    again = {f.html_name: f.value() or "" for row in response.context["table"] for f in row}
    correct(manager, shroud, sent=again, diameter_mm="10")
    assert (now(shroud).diameter_mm, now(shroud).batch) == (10, "B77")


def test_a_part_put_up_while_the_page_was_open_keeps_what_is_said_of_it(manager, boat, shroud):
    stale = shown(manager, boat)
    forestay = builders.wire(boat, stay="forestay", side="", invoice="R-9")
    correct(manager, shroud, sent=stale, batch="B77")
    assert (now(shroud).batch, now(forestay).invoice) == ("B77", "R-9")


def test_parts_stand_by_kind_and_a_fault_opens_its_own(manager, boat, shroud):
    screw = builders.wire(boat, kind="turnbuckle")
    groups = manager.get(url(boat)).context["groups"]
    assert [(group.title, group.is_open) for group in groups] == [
        ("2 wires", True), ("1 turnbuckle", False),
    ]  # fmt: skip
    assert "Lower terminal" in groups[0].columns
    assert "Lower terminal" not in groups[1].columns
    groups = correct(manager, screw, pin_mm="thick").context["groups"]
    assert groups[1].is_open


def test_a_turnbuckle_has_no_terminals_to_correct(manager, boat, shroud):
    screw = builders.wire(boat, kind="turnbuckle")
    names = set(shown(manager, boat))
    assert f"part{screw.pk}-pin_mm" in names
    assert f"part{screw.pk}-lower_terminal" not in names
    assert f"part{shroud.pk}-lower_terminal" in names


def test_what_was_corrected_stands_on_the_boats_page(manager, boat, shroud):
    correct(manager, shroud, diameter_mm="10")
    words = "Cap shroud, port: diameter 8, now 10"
    assert words in read(manager, address(boat, "boat", boat.pk))


@pytest.mark.parametrize("role", ["bosun", "accountant"])
def test_only_a_manager_corrects_parts(boat, shroud, manager, role):
    sent = shown(manager, boat) | {f"part{shroud.pk}-batch": "B77"}
    client = signed_in(boat, role)
    assert client.get(url(boat)).status_code == 403
    assert client.post(url(boat), sent).status_code == 403
    assert now(shroud).batch == ""

"""The form on the dock: stay by stay, from the bottom up, exceptions only."""

import pytest
from django.test import Client

from fleet.models import Installation
from inspections.models import Finding, Hold, Inspection, PartVerdict
from tests import builders
from tests.inspections.docks import address, day, inspect, part, read, rigged_boat, saw, signed_in

pytestmark = pytest.mark.django_db


def dock_post(**changes: str) -> dict[str, str]:
    """Return what the dock form sends when nothing was found anywhere."""
    usual = {"on": "2026-10-10", "person": "Bo Sun", "competence": "crew", "method": "eye"}
    return usual | {"signed": "on"} | changes


def spot(part: Installation, place: str, **facts: str) -> dict[str, str]:
    return {f"part{part.pk}-{place}-{name}": value for name, value in facts.items()}


def post(boat, level: str, data: dict[str, str], client: Client | None = None):
    url = f"{address(boat, 'inspect', boat.pk)}?level={level}"
    return (client or signed_in(boat)).post(url, data)


def test_the_form_asks_how_far_one_looked_before_anything_else():
    boat = rigged_boat()
    text = read(signed_in(boat), address(boat, "inspect", boat.pk))
    assert "?level=deck" in text
    assert "start at the bottom" in text


def test_a_deck_check_asks_about_lower_ends_only():
    boat = rigged_boat()
    text = read(signed_in(boat), f"{address(boat, 'inspect', boat.pk)}?level=deck")
    assert f"part{part(boat).pk}-lower-sign" in text
    assert f"part{part(boat).pk}-upper-sign" not in text


def test_each_stay_is_gone_through_from_the_bottom_up():
    boat = rigged_boat()
    for kind in ("turnbuckle", "chainplate"):
        builders.wire(boat, kind=kind, construction="", upper_terminal="", lower_terminal="")
    text = read(signed_in(boat), f"{address(boat, 'inspect', boat.pk)}?level=mast_down")
    asked = [
        f"part{part(boat, kind=kind).pk}-{place}-sign"
        for kind, place in (
            ("chainplate", "whole"),
            ("turnbuckle", "whole"),
            ("wire", "lower"),
            ("wire", "run"),
            ("wire", "upper"),
        )
    ]
    assert [text.index(name) for name in asked] == sorted(text.index(name) for name in asked)


def test_a_turn_round_day_with_nothing_found_is_one_click_and_a_signature():
    boat = rigged_boat()
    response = post(boat, "deck", dock_post())
    look = Inspection.objects.get()
    assert response.headers["Location"] == address(boat, "inspection", look.pk)
    assert set(look.verdicts.values_list("value", "lower")) == {("keep", "good")}
    assert look.recorded_by.username == "bosun-harbour"


def test_nothing_is_recorded_that_nobody_signed():
    boat = rigged_boat()
    response = post(boat, "deck", dock_post(signed=""))
    assert "Sign it" in response.content.decode()
    assert not Inspection.objects.exists()


def test_a_wire_drawn_out_is_measured_with_a_decimal_comma_and_judged():
    boat = rigged_boat()
    Installation.objects.update(lower_terminal="mechanical")
    found = spot(part(boat), "lower", sign="wire_drawn_out", measure="1,5")
    client = signed_in(boat)
    response = client.post(
        f"{address(boat, 'inspect', boat.pk)}?level=aloft", dock_post(**found), follow=True
    )
    text = response.content.decode()
    assert '<span class="verdict replace">replace</span>' in text
    assert "1.5 mm" in text
    assert "Record the renewal" in text
    assert "not a survey" in text
    assert Finding.objects.get().measure == 1.5


def test_a_top_that_could_not_be_seen_needs_a_reason():
    boat = rigged_boat()
    client = signed_in(boat)
    missing = spot(part(boat), "upper", sign="not_seen")
    refused = post(boat, "aloft", dock_post(**missing), client)
    assert "Say why it was not seen" in refused.content.decode()
    given = spot(part(boat), "upper", sign="not_seen", note="boot not taken off")
    post(boat, "aloft", dock_post(**given), client)
    assert PartVerdict.objects.get(installation=part(boat)).upper == "not_seen"


def test_a_shroud_nobody_looked_at_is_not_passed():
    boat = rigged_boat()
    port = part(boat)
    post(boat, "aloft", dock_post(**{f"stay{port.stay_id}-skipped": "on"}))
    assert PartVerdict.objects.get(installation=port).value == "not_seen"
    assert PartVerdict.objects.get(installation=part(boat, "starboard")).value == "keep"


def test_lightning_is_recorded_beside_the_parts_and_holds_the_boat():
    boat = rigged_boat()
    event = {"more0-where": "place:whole_rig", "more0-sign": "lightning"}
    post(boat, "deck", dock_post(**event))
    assert Hold.objects.get().cause == "event"


def test_two_signs_at_one_end_are_both_kept():
    boat = rigged_boat()
    port = part(boat)
    first = spot(port, "lower", sign="rust_at_mouth", cleaned="yes")
    second = {"more0-where": f"part:{port.pk}:wire:lower", "more0-sign": "split_pin_missing"}
    post(boat, "deck", dock_post(**first, **second))
    assert set(Finding.objects.values_list("sign", "place")) == {
        ("rust_at_mouth", "lower"),
        ("split_pin_missing", "lower"),
    }


def faulty(boat) -> dict[str, tuple[dict[str, str], str]]:
    port = part(boat)
    further = f"part:{port.pk}:wire:lower"
    return {
        "a number and no sign": (spot(port, "lower", measure="2"), "Choose what was found here"),
        "a number for a plain sign": (
            spot(port, "lower", sign="barrel_bent", measure="2"),
            "is not measured",
        ),
        "text for a number": (
            spot(port, "lower", sign="broken_wire", measure="two"),
            "Enter a number",
        ),
        "a tang sign at a wire": (
            {"more0-where": further, "more0-sign": "tang_crack"},
            "is not looked for there",
        ),
        "a place and no sign": ({"more0-where": "place:tang"}, "Give both"),
        "skipped, and something found": (
            {f"stay{port.stay_id}-skipped": "on", **spot(port, "lower", sign="barrel_bent")},
            "marked as not looked at",
        ),
        "the same sign twice": (
            {**spot(port, "lower", sign="barrel_bent"), "more0-where": further,
             "more0-sign": "barrel_bent"},
            "given twice",
        ),
        "a day to come": ({"on": "2026-10-15"}, "today is 14 Oct 2026"),
        "a day before the part was fitted": (
            {"on": "2013-01-01", **spot(port, "lower", sign="barrel_bent")},
            "was fitted on 1 Apr 2014",
        ),
    }  # fmt: skip


FAULTS = (
    "a number and no sign", "a number for a plain sign", "text for a number",
    "a tang sign at a wire", "a place and no sign", "skipped, and something found",
    "the same sign twice", "a day to come", "a day before the part was fitted",
)  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_what_cannot_be_is_said_in_a_sentence_and_nothing_typed_is_lost(fault):
    boat = rigged_boat()
    data, sentence = faulty(boat)[fault]
    response = post(boat, "deck", dock_post(person="Ask Me", **data))
    text = response.content.decode()
    assert sentence in text
    assert 'value="Ask Me"' in text
    assert not Inspection.objects.exists()


def test_a_condemned_shroud_is_not_asked_about_again():
    boat = rigged_boat()
    inspect(boat, day(0), saw(part(boat), "broken_wire", measure=1))
    text = read(signed_in(boat), f"{address(boat, 'inspect', boat.pk)}?level=deck")
    assert f"part{part(boat).pk}-lower-sign" not in text
    assert "not to be loaded" in text

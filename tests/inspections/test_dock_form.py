"""The form on the dock: stay by stay, from the bottom up, exceptions only."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from fleet.models import Installation
from inspections.dock import form_photos
from inspections.models import Finding, Hold, Inspection, PartVerdict, Photo
from tests import builders
from tests.inspections.docks import (
    address,
    day,
    inspect,
    part,
    photo,
    photo_boxes,
    read,
    rigged_boat,
    saw,
    signed_in,
)

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


def test_photos_go_with_their_findings_without_a_script(boat):
    port, starboard = part(boat), part(boat, "starboard")
    data = dock_post(
        **spot(port, "lower", sign="rust_at_mouth", cleaned="yes"),
        **{f"part{port.pk}-lower-photos": [photo("a.jpg"), photo("b.png", "PNG")]},
        **spot(starboard, "lower", sign="not_seen", note="taped over"),
        **{f"part{starboard.pk}-lower-photos": photo("tape.jpg")},
        **{"more0-where": "place:tang", "more0-side": "port", "more0-sign": "tang_crack",
           "more0-photos": photo("tang.jpg")},
    )  # fmt: skip
    response = post(boat, "deck", data)
    look = Inspection.objects.get()
    assert response.headers["Location"] == address(boat, "inspection", look.pk)
    shown = Photo.objects.filter(inspection=look, taken_on=look.on)
    assert sorted(shown.values_list("finding__sign", flat=True)) == [
        "not_seen", "rust_at_mouth", "rust_at_mouth", "tang_crack",
    ]  # fmt: skip
    page = read(signed_in(boat, "manager"), response.headers["Location"])
    assert all(address(boat, "photo_small", each.pk) in page for each in shown)


def test_a_bad_photo_is_named_and_loses_neither_the_good_ones_nor_what_was_typed(boat):
    port, client = part(boat), signed_in(boat)
    name = f"part{port.pk}-lower"
    found = spot(port, "lower", sign="rust_at_mouth", cleaned="yes", note="two degrees")
    bad = SimpleUploadedFile("notes.jpg", b"nothing to see")
    text = post(boat, "deck", dock_post(**found, **{f"{name}-photos": [photo(), bad]}),
                client).content.decode()  # fmt: skip
    for words in ("notes.jpg: This is no photo: a JPEG, PNG or WebP is wanted.",
                  "Not saved yet.", 'value="two degrees"', 'value="Bo Sun"',
                  "Cap shroud, port: open below"):  # fmt: skip
        assert words in text
    assert not Inspection.objects.exists()
    boxes = photo_boxes(text)
    assert list(boxes) == [f"{name}-kept"]
    post(boat, "deck", dock_post(**found, **boxes), client)
    assert Photo.objects.get().finding.sign == "rust_at_mouth"

    missing = dock_post(on="2026-10-11", **{f"{name}-photos": photo()})
    text = post(boat, "deck", missing, client).content.decode()
    assert "Choose what was found here: a photo shows a finding." in text
    post(boat, "deck", dock_post(on="2026-10-11"), client)  # The tick taken away.
    assert Photo.objects.unattached().count() == 1


def test_a_photo_of_another_look_or_person_is_not_taken_and_too_many_are_told(boat, monkeypatch):
    port, client = part(boat), signed_in(boat)
    name = f"part{port.pk}-lower"
    found = spot(port, "lower", sign="rust_at_mouth", cleaned="yes")
    post(boat, "deck", dock_post(**found, **{f"{name}-photos": photo()}), client)
    taken = Photo.objects.get()
    text = post(boat, "aloft", dock_post(signed="", **{f"{name}-photos": photo()}),
                signed_in(boat, "manager")).content.decode()  # fmt: skip
    [[of_another]] = photo_boxes(text).values()
    again = {f"{name}-kept": [str(taken.pk), of_another, "seven"]}
    post(boat, "deck", dock_post(on="2026-10-11", **found, **again), client)
    assert [each.inspection.on.day for each in Photo.objects.filter(finding__isnull=False)] == [10]

    starboard = part(boat, "starboard")
    name = f"part{starboard.pk}-lower"
    found = spot(starboard, "lower", sign="rust_at_mouth", cleaned="yes")
    monkeypatch.setattr(form_photos, "TOGETHER", 4000)
    big = [photo("one.jpg", tail=b"x" * 2000), photo("two.jpg", tail=b"x" * 2000)]
    text = post(boat, "aloft", dock_post(**found, **{f"{name}-photos": big}), client)
    assert "two.jpg: one form takes" in text.content.decode()
    assert len(photo_boxes(text.content.decode())[f"{name}-kept"]) == 1
    monkeypatch.setattr(form_photos, "MOST_PHOTOS", 1)
    pair = dock_post(**found, **{f"{name}-photos": [photo("one.jpg"), photo("two.jpg")]})
    text = post(boat, "aloft", pair, client).content.decode()
    assert "two.jpg: 1 photos of one finding are the most." in text

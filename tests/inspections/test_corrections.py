"""An inspection corrected or withdrawn: verdicts and holds follow, and the old stays readable."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from inspections import corrections, recording
from inspections.criteria import DEFAULT
from inspections.dock.dock_form import DockForm
from inspections.dock.prefill import prefill
from inspections.models import Finding, Inspection, InspectionVersion, Photo
from inspections.version_words import changes
from tests import builders
from tests.builders import TODAY
from tests.inspections.docks import (
    address,
    day,
    every_row,
    held,
    inspect,
    part,
    photo,
    photo_boxes,
    read,
    saw,
    signed_in,
    verdict,
)
from tests.inspections.drafts import draft, kit_of, send, sight

pytestmark = pytest.mark.django_db


def form_of(look: Inspection, level: str = "") -> dict[str, str]:
    """Return what the correction form of an inspection would send if nothing were touched."""
    chosen = level or look.level
    given = prefill(look, chosen, DEFAULT)
    form = DockForm(look.boat, chosen, DEFAULT, look.on, given=given)
    forms = [form.look, *form.further, *(stay.skip for stay in form.stays)]
    forms += [entry.form for stay in form.stays for entry in stay.spots]
    data = {"signed": "on", "correct": "1", "why": "misread"}
    for each in forms:
        for field in each:
            if (value := field.value()) not in (None, "", False):
                data[field.html_name] = "on" if value is True else str(value)
    return data


def post(client: Client, look: Inspection, level: str = "", **said: str):
    """Send the correction form with some of its fields changed; blank takes one out."""
    data = {name: value for name, value in (form_of(look, level) | said).items() if value}
    url = address(look.boat, "inspection_correct", look.pk)
    return client.post(f"{url}?level={level}" if level else url, data, follow=True)


def text(response) -> str:
    return response.content.decode()


def by_manager(look: Inspection, *, days_ago: int = 0) -> Inspection:
    """Let the manager be who recorded it, so many days ago."""
    look.recorded_by = look.boat.fleet.memberships.get(role="manager").user
    look.recorded_at -= dt.timedelta(days=days_ago)
    look.save()
    return look


def test_a_slip_put_right_the_same_day_releases_the_boat_and_stays_readable(boat, manager):
    wire = part(boat)
    look = by_manager(inspect(boat, day(0), saw(wire, "broken_wire", measure=1)))
    assert (held(boat), part(boat).condemned_on) == (["replace", "pair"], day(0))
    page = text(post(manager, look, **{f"part{wire.pk}-lower-sign": "tea_stain",
                                       f"part{wire.pk}-lower-measure": "",
                                       f"part{wire.pk}-lower-cleaned": "yes"}))  # fmt: skip
    assert "Corrected once: what it said before" in page
    assert (held(boat), part(boat).condemned_on) == ([], None)
    assert verdict(look, wire).value == "keep"
    old = read(manager, address(boat, "inspection_versions", look.pk))
    for words in ("Corrected by manager-harbour: misread", "Verdict on Cap shroud, port: replace →",
                  "A wire broken, lifted or cracked across, 1 wire: taken out.",
                  "Even tea stain that polishes off, came away: put in."):  # fmt: skip
        assert words in old


@pytest.mark.parametrize("own", [True, False])
def test_no_boat_is_released_by_correcting_what_held_it(boat, manager, own):
    """Neither somebody else's condemnation, nor one's own of another day."""
    wire = part(boat)
    look = inspect(boat, day(0), saw(wire, "broken_wire", measure=1))
    if own:
        by_manager(look, days_ago=2)
    before = every_row()
    page = text(post(manager, look, **{f"part{wire.pk}-lower-sign": ""}, **{
        f"part{wire.pk}-lower-measure": ""}))  # fmt: skip
    assert "This correction would release Tern, held since 1 Apr 2026" in page
    url = address(boat, "inspection_correct", look.pk)
    page = text(manager.post(url, {"withdraw": "1", "why": "it was Plover"}))
    assert "have a second person, a rigger or surveyor, judge the part again" in page
    assert every_row() == before
    assert not InspectionVersion.objects.exists()


def test_correcting_and_recording_it_right_at_once_give_the_same_rows(boat, manager):
    wire = part(boat)
    wrong = inspect(boat, day(0), saw(wire, "small_spots", "run", measure=9))
    inspect(boat, day(60), saw(wire, "small_spots", "run", measure=5))
    post(manager, wrong, **{f"part{wire.pk}-run-measure": "3"})
    assert part(boat).condemned_on == day(60)  # 5 after 3: they grow.
    before = every_row()
    recording.judge([boat.pk])
    assert every_row() == before


def test_a_form_sent_back_untouched_changes_nothing_whatever_was_found(boat, manager):
    """Everything an inspection can hold goes through the form and back."""
    for stay, side in (("forestay", ""), ("backstay", ""), ("lower_aft", "port")):
        builders.wire(boat, stay, side)
    port, starboard = part(boat), part(boat, "starboard")
    back, lower = part(boat, "", stay="backstay"), part(boat, "port", stay="lower_aft")
    rod = builders.wire(boat, "diamond", "port", construction="rod")
    sights = [
        saw(port, "rust_at_mouth", cleaned=True, note="at the mouth"),
        saw(port, "small_spots", "run", measure=4.5),
        saw(port, "tea_stain", "run", cleaned=False),
        saw(port, "not_seen", "upper", note="boot not taken off"),
        *(saw(starboard, "not_seen", spot, note="dark") for spot in ("lower", "run", "upper")),
        saw(lower, "not_seen", "whole", note="not looked at"),
        saw(back, "barrel_crack_along", note="hairline"),
        saw(rod, "rust_between_wires", "run"),  # A sign of laid wire, on a rod.
        saw(None, "tang_crack", "tang", side="port", note="weeps"),
        saw(back, "tang_hole", "tang"),
        saw(None, "not_seen", "spreader", note="too high"),
        saw(None, "lightning", "whole_rig"),
    ]
    look = inspect(boat, day(0), *sights, note="two\nlines", method="loupe")
    before = every_row()
    page = text(post(manager, look, note="two\r\nlines"))  # As a browser sends it.
    assert "Nothing is different from what is on record. Change it first." in page
    assert every_row() == before
    assert not InspectionVersion.objects.exists()


def test_a_deck_check_entered_as_aloft_loses_what_it_cannot_have_seen_but_no_finding(boat, manager):
    wire = part(boat)
    look = inspect(boat, day(0), saw(wire, "wire_kink", "run"), level="aloft", competence="crew")
    post(manager, look, level="deck")
    look.refresh_from_db()
    assert look.level == "deck"
    assert Finding.objects.get().place == "run"
    assert verdict(look, part(boat, "starboard")).run == "not_seen"
    old = read(manager, address(boat, "inspection_versions", look.pk))
    assert "Level: aloft → deck check." in old


def test_what_was_made_good_and_photographed_stays_with_its_finding(boat, manager):
    builders.wire(boat, kind="turnbuckle", construction="", lower_terminal="", upper_terminal="")
    screw = part(boat, kind="turnbuckle")
    look = inspect(boat, day(0), saw(screw, "lock_missing", "whole"))
    finding = Finding.objects.get()
    photo = builders.photo(finding)
    recording.make_good_done(finding, day(2), "Bo Sun")
    post(manager, look, **{f"part{screw.pk}-whole-note": "the lower one"})
    finding.refresh_from_db()
    photo.refresh_from_db()
    assert (finding.note, finding.done_by, photo.finding_id) == ("the lower one", "Bo Sun",
                                                                 finding.pk)  # fmt: skip
    assert held(boat) == []
    page = text(post(manager, look, on=str(day(3))))
    assert "made good on 3 Apr 2026, before 4 Apr 2026" in page


def test_an_inspection_of_the_wrong_boat_is_withdrawn_and_stays_readable(boat, manager):
    wire = part(boat)
    look = inspect(boat, day(0), saw(wire, "broken_wire", measure=1), note="the boat with red tape")
    by_manager(look)
    photo = builders.photo(Finding.objects.get())
    url = address(boat, "inspection_correct", look.pk)
    assert "Say why: whoever reads" in text(manager.post(url, {"withdraw": "1", "why": " "}))
    response = manager.post(url, {"withdraw": "1", "why": "it was Plover"}, follow=True)
    assert (held(boat), part(boat).condemned_on) == ([], None)
    assert not Inspection.objects.exists()
    assert "Withdrawn by manager-harbour: it was Plover" in text(response)
    again = manager.get(address(boat, "inspection", look.pk), follow=True)
    for words in ("the boat with red tape", "A wire broken, lifted or cracked across, 1 wire",
                  f"/harbour/photos/{photo.pk}/"):  # fmt: skip
        assert words in text(again)
    assert not Photo.objects.unattached().exists()
    assert f'href="{address(boat, "inspection_versions", look.pk)}"' in read(
        manager, address(boat, "inspections")
    )
    noted = "Aloft of 1 Apr 2026 by A Rigger withdrawn: it was Plover"
    assert noted in read(manager, address(boat, "boat", boat.pk))


def test_who_recorded_it_corrects_it_or_a_manager_and_nobody_else(boat, manager):
    owner, other = signed_in(boat), Client()
    user = builders.person("otto", boat.fleet, "bosun")
    other.force_login(user, "django.contrib.auth.backends.ModelBackend")
    send(owner, boat, draft(boat))
    look = Inspection.objects.get()
    url = address(boat, "inspection_correct", look.pk)
    accountant = signed_in(boat, "accountant")
    statuses = [client.get(url).status_code for client in (owner, manager, other, accountant)]
    assert statuses == [200, 200, 403, 403]
    shown = [url in read(c, address(boat, "inspection", look.pk)) for c in (owner, manager, other)]
    assert shown == [True, True, False]


def test_a_correction_is_refused_as_a_recording_is(boat, manager):
    inspect(boat, day(5))
    look = inspect(boat, day(0))
    assert "already recorded this level" in text(post(manager, look, on=str(day(5))))
    assert "today is 14 Oct 2026" in text(post(manager, look, on="2026-11-01"))
    assert "Sign it" in text(post(manager, look, signed=""))
    assert "Say why: whoever reads" in text(post(manager, look, why=" ", note="new"))
    assert not InspectionVersion.objects.exists()


def test_each_version_is_kept_with_what_the_next_one_changed(boat, manager):
    look = inspect(boat, day(0), note="first")
    for note in ("second", "third"):
        post(manager, look, note=note)
    page = read(manager, address(boat, "inspection_versions", look.pk))
    assert "Corrected 2 times." in page
    assert page.index("Note: second → third.") < page.index("Note: first → second.")


def test_a_later_look_of_the_same_day_takes_the_place_of_the_first_when_a_person_says_so(boat):
    client, kit = signed_in(boat), kit_of(boat)
    send(client, boat, draft(boat, kit, turn_round=True, seen=[]))
    body = draft(boat, kit, sights=[sight(part(boat), "barrel_bent")])
    assert send(client, boat, body).status_code == 409
    url = address(boat, "dock_upload", body["id"])
    assert "Put it in its place" in read(client, url)
    client.post(url, {"place": "1", "why": "the whole deck check"})
    look = Inspection.objects.get()
    assert (look.turn_round, held(boat)) == (False, ["replace", "pair"])
    version = InspectionVersion.objects.get()
    assert version.data["look"]["turn_round"] is True
    again = send(client, boat, body)
    assert (again.status_code, again.json()["inspection"]) == (200, look.pk)


def test_a_reason_is_asked_for_below_the_page_too(boat):
    look = inspect(boat, TODAY)
    user = builders.person("otto", boat.fleet)
    with pytest.raises(ValidationError, match="Say why"):
        corrections.withdraw(look, user, "", timezone.now())


def test_what_is_the_same_in_two_versions_is_not_told():
    data = {
        "look": {"on": "2026-04-01", "level": "deck", "person": "A", "competence": "crew",
                 "method": "eye", "turn_round": False, "note": ""},
        "findings": [], "verdicts": [{"part": "Forestay", "value": "keep"}],
    }  # fmt: skip
    assert changes(data, data) == []
    other = data | {"look": data["look"] | {"on": "2026-04-02"}, "verdicts": []}
    assert changes(data, other) == [
        "Date: 1 Apr 2026 → 2 Apr 2026.", "Verdict on Forestay: keep → none."
    ]  # fmt: skip


def test_a_photo_found_later_is_put_in_by_a_correction_and_told(boat, manager):
    wire = part(boat)
    look = by_manager(inspect(boat, day(0), saw(wire, "tea_stain", cleaned=True)))
    name = f"part{wire.pk}-lower"
    kept = builders.photo(Finding.objects.get())
    page = text(post(manager, look, why="", **{f"{name}-photos": photo()}))
    assert "Say why: whoever reads the old version will ask." in page
    boxes = photo_boxes(page)  # The browser has forgotten the file, the form that comes back not.
    page = text(post(manager, look, **boxes))
    assert "Corrected. What it said before stays readable." in page
    new = Photo.objects.exclude(pk=kept.pk).get()
    assert (new.finding, new.inspection, new.taken_on) == (Finding.objects.get(), look, day(0))
    assert Finding.objects.get().photos.count() == 2
    old = read(manager, address(boat, "inspection_versions", look.pk))
    assert "a photo put in." in old

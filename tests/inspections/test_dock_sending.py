"""An inspection sent from a phone: recorded once, judged like any other, refused in words."""

import datetime as dt

import pytest
from django.test import Client

from fleet.models import Boat
from inspections.models import DockUpload, Finding, Hold, Inspection, PartVerdict
from tests import builders
from tests.builders import TODAY
from tests.inspections.docks import address, day, inspect, part, read, rigged_boat, saw, signed_in
from tests.inspections.drafts import draft, send, sight

pytestmark = pytest.mark.django_db


@pytest.fixture
def bosun(boat) -> Client:
    return signed_in(boat)


def faults(response) -> dict[str, str]:
    assert response.status_code == 422
    return {each["where"]: each["sentence"] for each in response.json()["faults"]}


def unseen(look: Inspection) -> set[tuple]:
    rows = look.findings.filter(sign="not_seen")
    return set(rows.values_list("installation", "place", "note"))


def test_a_look_sent_from_the_dock_is_recorded_and_answered_with_its_verdicts(boat, bosun):
    wire = part(boat)
    found = sight(wire, "broken_wire", measure=1, note="at the mouth")
    response = send(bosun, boat, draft(boat, sights=[found], note="calm"))
    assert response.status_code == 201
    told = response.json()
    look = Inspection.objects.get()
    assert (told["inspection"], told["url"]) == (look.pk, f"/harbour/inspections/{look.pk}/")
    assert {each["part"]: each["value"] for each in told["verdicts"]} == {
        wire.pk: "replace", part(boat, "starboard").pk: "keep"
    }  # fmt: skip
    assert {each["cause"] for each in told["holds"]} == {"replace", "pair"}
    assert (look.person, look.competence, look.note) == ("A Bosun", "crew", "calm")
    assert look.signed_at == dt.datetime(2026, 10, 14, 10, 30, tzinfo=dt.UTC)
    assert look.recorded_by.username == "bosun-harbour"
    page = read(bosun, told["url"])
    assert "not a survey" in page
    assert "A Bosun (crew), by eye, signed 14 Oct 2026, 10:30" in page


def test_the_same_look_sent_again_is_one_inspection_with_the_same_answer(boat, bosun):
    body = draft(boat, sights=[sight(part(boat), "barrel_bent")])
    first, again = (send(bosun, boat, body) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert Inspection.objects.count() == DockUpload.objects.count() == 1


def test_a_sent_draft_gives_what_the_form_without_javascript_gives(boat, bosun):
    """One boat by each way, alike in everything: the same findings, verdicts and holds."""
    other = builders.boat(boat.fleet, "Plover")
    for side in ("port", "starboard"):
        builders.wire(other, side=side)
    for each in (boat, other):
        builders.wire(each, "backstay", "")
    port, starboard, back = part(boat), part(boat, "starboard"), part(boat, "", stay="backstay")
    form = {
        "on": TODAY, "person": "A Bosun", "competence": "rigger", "method": "loupe", "note": "calm",
        "signed": "on",
        f"part{port.pk}-lower-sign": "rust_at_mouth", f"part{port.pk}-lower-cleaned": "yes",
        f"part{port.pk}-run-sign": "small_spots", f"part{port.pk}-run-measure": "4",
        f"part{starboard.pk}-upper-sign": "not_seen",
        f"part{starboard.pk}-upper-note": "boot not taken off",
        f"stay{back.stay_id}-skipped": "on",
        "more0-where": "place:tang", "more0-side": "port", "more0-sign": "tang_crack",
    }  # fmt: skip
    assert bosun.post(address(boat, "inspect", boat.pk) + "?level=aloft", form).status_code == 302

    port, starboard, back = part(other), part(other, "starboard"), part(other, "", stay="backstay")
    found = [
        sight(port, "rust_at_mouth", cleaned=True),
        sight(port, "small_spots", "run", measure=4),
        sight(None, "tang_crack", "tang", side="port"),
    ]
    missed = [{"part": starboard.pk, "place": "upper", "reason": "boot not taken off"}]
    missed += [
        {"part": back.pk, "place": spot, "reason": "not looked at"}
        for spot in ("lower", "run", "upper")
    ]
    seen = [[port.pk, "upper"], [starboard.pk, "lower"], [starboard.pk, "run"]]
    facts = {"competence": "rigger", "method": "loupe", "note": "calm", "level": "aloft"}
    sent = draft(other, sights=found, not_seen=missed, seen=seen, **facts)
    assert send(bosun, other, sent).status_code == 201
    assert outcome(boat) == outcome(other)


def outcome(boat: Boat) -> list:
    """Return all that followed from a boat's looks, by the names of its parts."""
    place = ("installation__stay__name", "installation__stay__side")
    looks = Inspection.objects.filter(boat=boat).values_list(
        "on", "level", "person", "competence", "method", "note", "turn_round"
    )
    found = Finding.objects.filter(inspection__boat=boat).values_list(
        *place, "place", "side", "sign", "measure", "cleaned", "note"
    )
    rows = PartVerdict.objects.filter(inspection__boat=boat)
    verdicts = rows.values_list(
        *place, "lower", "run", "upper", "value", "spot", "watched", "again_by", "reasons"
    )
    holds = Hold.objects.filter(boat=boat).values_list(*place, "cause", "reason", "since")
    return [sorted(map(str, each)) for each in (looks, found, verdicts, holds)]


def test_what_the_draft_passes_over_is_not_seen_and_the_look_is_not_the_boats(boat, bosun):
    port, starboard = part(boat), part(boat, "starboard")
    body = draft(boat, level="aloft", seen=[[port.pk, "lower"], [port.pk, "run"]])
    send(bosun, boat, body)
    look = Inspection.objects.get()
    why = "not reached before the form was sent"
    missed = {(starboard.pk, spot, why) for spot in ("lower", "run", "upper")}
    assert unseen(look) == {(port.pk, "upper", why), *missed}
    verdict = look.verdicts.get(installation=port)
    assert (verdict.lower, verdict.run, verdict.upper) == ("good", "good", "not_seen")
    assert not Inspection.objects.whole().exists()


def test_a_turn_round_check_counts_for_what_it_sees_and_puts_nothing_off(boat, bosun):
    builders.wire(boat, kind="turnbuckle", construction="")
    wire = part(boat)
    body = draft(boat, turn_round=True, seen=[[wire.pk, "lower"]])
    send(bosun, boat, body)
    look = Inspection.objects.get()
    assert look.verdicts.get(installation=wire).lower == "good"
    assert {note for _, _, note in unseen(look)} == {"not looked at"}
    assert not Inspection.objects.whole().exists()
    assert "Turn-round check" in read(bosun, address(boat, "inspection", look.pk))
    refused = send(bosun, boat, draft(boat, level="aloft", turn_round=True))
    assert faults(refused) == {"turn_round": "A turn-round check is made from the deck."}


def test_a_condemned_part_need_not_be_spoken_of(boat, bosun):
    wire = part(boat)
    inspect(boat, day(0), saw(wire, "broken_wire", measure=1))
    send(bosun, boat, draft(boat))
    look = Inspection.objects.latest("pk")
    assert unseen(look) == set()
    assert "still up" in look.verdicts.get(installation=wire).reasons[0]


def test_faults_are_told_all_at_once_each_with_its_place_and_nothing_is_recorded(boat, bosun):
    wire = part(boat)
    wrong = draft(
        boat, level="masthead", person=" ", signed_at=None, on="14.10.2026",
        sights=[sight(wire, "notch", measure=-1), sight(wire, "notch", cleaned="maybe")],
        not_seen=[{"part": wire.pk, "place": "lower", "reason": ""}],
    )  # fmt: skip
    told = faults(send(bosun, boat, wrong))
    assert told["level"] == "One of deck, aloft, mast_down."
    assert told["person"] == "Say who looked: the person signs what was seen."
    assert told["signed_at"] == "Sign it: who looked answers for what was seen."
    assert told["on"] == "Give the day of the inspection."
    assert told["sights.0.measure"].startswith("Give what was measured as a number")
    assert told["sights.1.cleaned"].startswith("Whether it came away")
    assert told["not_seen.0.reason"].startswith("Say why it was not seen")
    assert not Inspection.objects.exists()


def test_what_does_not_fit_the_boat_is_told_with_its_place(boat, bosun):
    wire, strange = part(boat), part(rigged_boat("estuary", "Other"))
    wrong = draft(
        boat,
        seen=[[wire.pk, "whole"], [wire.pk, "lower"]],
        sights=[
            sight(strange, "notch", "run"),
            sight(wire, "notches", "run"),
            sight(wire, "tang_crack"),
            sight(wire, "tea_stain", "run", measure=2),
            sight(wire, "barrel_bent"),
            sight(wire, "barrel_bent", side="port"),
        ],
        not_seen=[{"part": wire.pk, "place": "lower", "reason": "dark"}],
    )
    response = send(bosun, boat, wrong)
    told = [(each["where"], each["sentence"]) for each in response.json()["faults"]]
    assert ("sights.0.part", f"Part {strange.pk} is not on Tern.") in told
    words = "There is no sign called 'notches' in the criteria; did you mean notch"
    assert any(where == "sights.1.sign" and said.startswith(words) for where, said in told)
    assert ("sights.2.place", "“Tang cracked” is not looked for there (tang).") in told
    assert ("sights.3.measure", "This sign is not measured: put the number in the note.") in told
    assert any(where == "sights.5" and "given twice" in said for where, said in told)
    assert [said for where, said in told if where == "seen"] == [
        "Cap shroud, port, lower: either seen, or not seen.",
        "Cap shroud, port has no “whole”: get the boats again.",
    ]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"on": "2026-10-15"}, "The inspection is dated 15 Oct 2026; today is 14 Oct 2026."),
        ({"boat": 987654}, "This boat is not in this fleet"),
        ({"id": "seven"}, "It carries no number of its own"),
        ({"seen": "all"}, "This is no list"),
        ({"note": "a\x00b"}, "This is not an inspection as the phone writes it"),
        ({"note": "\ud800"}, "This is not an inspection as the phone writes it"),
        ({"note": float("nan")}, "This is not an inspection as the phone writes it"),
        ({"note": 7}, "These are no words."),
    ],
)
def test_a_fault_of_the_whole_is_a_sentence(boat, bosun, said, words):
    [told] = faults(send(bosun, boat, draft(boat) | said)).values()
    assert told.startswith(words)
    assert not Inspection.objects.exists()


def test_a_draft_mended_on_the_phone_is_recorded_under_the_same_number(boat, bosun):
    body = draft(boat, person="")
    assert send(bosun, boat, body).status_code == 422
    upload = DockUpload.objects.get()
    assert (upload.state, upload.sentence[:14]) == ("received", "Say who looked")
    assert "has faults" in read(bosun, address(boat, "dock_uploads"))
    assert send(bosun, boat, body | {"person": "A Bosun"}).status_code == 201
    upload.refresh_from_db()
    assert (upload.state, upload.payload["person"]) == ("recorded", "A Bosun")


@pytest.mark.parametrize("body", ["", "[1]", "7", '"x"', "{", "[" * 100_000, b"\xff\xfe\x00"])
def test_what_is_no_draft_is_refused_in_words(boat, bosun, body):
    response = send(bosun, boat, body)
    assert response.status_code == 422
    assert response.json()["faults"][0]["sentence"]


def test_put_out_of_the_fleet_nothing_is_taken_and_back_in_it_is_recorded_once(boat, bosun):
    body, membership = draft(boat), boat.fleet.memberships.get(role="bosun")
    membership.delete()
    assert send(bosun, boat, body).status_code == 404
    assert bosun.get(address(boat, "dock_kit")).status_code == 404
    assert not DockUpload.objects.exists()
    membership.save()
    assert [send(bosun, boat, body).status_code for _ in range(2)] == [201, 200]
    assert Inspection.objects.count() == 1


def test_another_fleet_learns_nothing_of_a_number_that_is_taken(boat, bosun):
    other = rigged_boat("estuary", "Other")
    body = draft(other)
    assert send(signed_in(other), other, body).status_code == 201
    told = faults(send(bosun, boat, body | {"boat": boat.pk}))
    assert told["id"].startswith("This number is taken.")


def test_nobody_signed_in_keeps_the_draft_and_an_accountant_may_not_send(boat):
    response = send(Client(), boat, draft(boat))
    assert response.status_code == 403
    assert response.json()["signed_out"].startswith("Sign in again.")
    assert send(signed_in(boat, "accountant"), boat, draft(boat)).status_code == 403
    assert not DockUpload.objects.exists()

"""Boats handed in: one line each, and a note of damage that waits for somebody to look."""

import datetime as dt

import pytest
from django.urls import reverse

from fleet.models import Change, SeasonUse
from inspections.models import HandIn
from inspections.recording import Sight
from tests import builders
from tests.inspections.docks import address, inspect, part, read, rigged_boat, signed_in

pytestmark = pytest.mark.django_db
D = dt.date
TODAY = builders.TODAY


@pytest.fixture
def boat():
    return rigged_boat()


@pytest.fixture
def bosun(boat):
    return signed_in(boat)


def url(boat) -> str:
    return reverse("hand_ins", kwargs={"fleet": boat.fleet.slug})


def shown(client, boat) -> dict[str, str]:
    """Return what the page's form would send if nothing on it were touched."""
    lines = client.get(url(boat)).context["lines"]
    sent = {}
    for line in lines:
        for name in ("miles", "mast_down"):
            value = line.initial[name]
            sent[f"initial-{line.prefix}-{name}"] = "" if value is None else str(value)
            if value not in (None, False):
                sent[f"{line.prefix}-{name}"] = "on" if value is True else str(value)
    return sent


def hand_in(client, boat, sent=None, **said):
    sent = shown(client, boat) if sent is None else sent
    for name, value in said.items():
        sent[f"boat{boat.pk}-{name}"] = value
    return client.post(url(boat), sent, follow=True)


def unanswered() -> list[str]:
    return [row.note for row in HandIn.objects.unanswered()]


def test_one_line_gives_the_season_its_miles_and_mast(boat, bosun):
    page = hand_in(bosun, boat, miles="1240", mast_down="on").content.decode()
    assert "Saved: Tern." in page
    use = SeasonUse.objects.get()
    assert (use.year, use.miles, use.mast_down) == (2026, 1240, True)
    assert (use.ground, use.service) == (boat.base.ground, "private")
    assert "Season 2026: 1240 miles, mast down" in read(bosun, address(boat, "boat", boat.pk))


def test_only_the_changed_lines_are_saved(boat, bosun):
    other = builders.boat(boat.fleet, "Skua")
    page = hand_in(bosun, boat, miles="900").content.decode()
    assert "Saved: Tern." in page
    assert not SeasonUse.objects.filter(boat=other).exists()
    assert not HandIn.objects.filter(boat=other).exists()


def test_a_page_left_open_does_not_put_old_miles_back(boat, bosun):
    other = builders.boat(boat.fleet, "Skua")
    stale = shown(bosun, boat)
    hand_in(bosun, other, miles="700")
    hand_in(bosun, boat, sent=stale, miles="900")
    assert dict(SeasonUse.objects.values_list("boat__name", "miles")) == {"Tern": 900, "Skua": 700}


def test_nothing_changed_is_nothing_written(boat, bosun):
    SeasonUse.objects.create(
        boat=boat, year=2026, ground=boat.base.ground, miles=900, mast_down=True, service="private"
    )
    assert "No line was changed." in hand_in(bosun, boat).content.decode()
    assert not HandIn.objects.exists()
    assert not Change.objects.exists()


@pytest.mark.parametrize(
    ("miles", "sentence"),
    [
        ("many", "Tern: Miles are a whole number of nautical miles"),
        ("-3", "Tern: Miles cannot be negative."),
        ("100001", "Tern: More than 100,000 miles in one season is not possible."),
        ("12.5", "Tern: Miles are a whole number"),
    ],
)
def test_a_wrong_line_is_said_by_boat_and_no_line_is_lost(boat, bosun, miles, sentence):
    other = builders.boat(boat.fleet, "Skua")
    sent = shown(bosun, boat) | {f"boat{other.pk}-note": "chafe at the spreader"}
    page = hand_in(bosun, boat, sent=sent, miles=miles).content.decode()
    assert sentence in page
    assert f'value="{miles}"' in page
    assert 'value="chafe at the spreader"' in page
    assert not SeasonUse.objects.exists()
    assert not HandIn.objects.exists()


def test_a_note_of_damage_shows_on_the_boat_and_the_fleet_until_somebody_looks(boat, bosun):
    hand_in(bosun, boat, note="backstay hit by the dinghy crane")
    pages = [address(boat, "boat", boat.pk), address(boat, "fleet"), url(boat)]
    for page in pages:
        assert "backstay hit by the dinghy crane" in read(bosun, page)
        assert "inspection needed" in read(bosun, page)
    inspect(boat, TODAY)
    for page in pages:
        assert "backstay hit by the dinghy crane" not in read(bosun, page)


def test_a_look_before_the_note_does_not_answer_it(boat, bosun):
    inspect(boat, TODAY, level="deck")
    hand_in(bosun, boat, note="kink in the cap shroud")
    assert unanswered() == ["kink in the cap shroud"]
    inspect(boat, TODAY - dt.timedelta(days=30))
    assert unanswered() == ["kink in the cap shroud"]


def test_a_look_that_left_stays_out_does_not_answer_a_note(boat, bosun):
    """It may have left out the very stay the note is about."""
    hand_in(bosun, boat, note="kink in the cap shroud")
    skipped = Sight("not_seen", "whole", part(boat, "starboard").pk, note="not looked at")
    inspect(boat, TODAY, skipped)
    assert unanswered() == ["kink in the cap shroud"]


def test_a_note_sent_twice_is_one_note(boat, bosun):
    for _ in range(2):
        hand_in(bosun, boat, note="kink in the cap shroud")
    assert HandIn.objects.count() == 1


def test_a_note_alone_invents_no_season(boat, bosun):
    hand_in(bosun, boat, note="kink in the cap shroud")
    assert not SeasonUse.objects.exists()


def test_a_boat_that_left_has_no_line(boat, bosun):
    builders.boat(boat.fleet, "Skua", left=D(2020, 1, 1))
    assert [line.boat.name for line in bosun.get(url(boat)).context["lines"]] == ["Tern"]


def test_an_accountant_hands_nothing_in_and_reads_the_note(boat, bosun):
    hand_in(bosun, boat, note="kink in the cap shroud")
    reader = signed_in(boat, "accountant")
    assert reader.get(url(boat)).status_code == 403
    assert reader.post(url(boat), {}).status_code == 403
    assert "kink in the cap shroud" in read(reader, address(boat, "boat", boat.pk))

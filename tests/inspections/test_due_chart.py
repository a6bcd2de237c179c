"""Which boat is due when: the chart's marks, its sentence, and the mail that carries it."""

import datetime as dt
import io
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.image import imread

from fleet import chart_picture
from inspections import delivery, due_chart, mail_folder, rounds
from inspections.letters import Letter
from inspections.models import Reminder
from inspections.reminders import queue
from inspections.reminding import digest
from tests import builders

TODAY = builders.TODAY
NOW = dt.datetime(2026, 10, 14, 6, 0, tzinfo=dt.UTC)
SVG = "{http://www.w3.org/2000/svg}"


def dues(**days: int) -> list[due_chart.BoatDue]:
    """Return boats due so many days from today."""
    return due_chart.soonest(
        (number, name, TODAY + dt.timedelta(days=after))
        for number, (name, after) in enumerate(days.items())
    )


SENTENCES = [
    ({}, "No boat is due for a look within two months"),
    ({"Tern": -12}, "Tern is late for a look by 12 days"),
    ({"Tern": 12}, "No boat due for a look is late; next is Tern, by 26 Oct 2026"),
    ({"Tern": 0, "Skua": 9}, "No boat due for a look is late; first of 2 is Tern, today"),
    ({"Tern": -1, "Skua": 9}, "1 of 2 boats due for a look is late, Tern by 1 day; "
                              "next is Skua, by 23 Oct 2026"),
    ({"Tern": -400, "Skua": -90, "Knot": 0, "Coot": 0},
     "2 of 4 boats due for a look are late, Tern by 13 months; next is Knot and 1 more, today"),
    ({"Tern": -8, "Skua": -8}, "All 2 boats due for a look are late, Tern and 1 more by 8 days"),
]  # fmt: skip


@pytest.mark.parametrize(("days", "said"), SENTENCES, ids=lambda value: str(value)[:40])
def test_the_title_says_how_many_are_late_and_who_is_next(days, said):
    boats = sorted(dues(**days), key=lambda boat: (boat.on, boat.pk))
    assert due_chart.title(boats, TODAY) == said


def test_two_boats_need_no_chart_and_of_forty_the_first_fifteen_are_drawn():
    assert due_chart.chart(dues(Tern=-1, Skua=3), TODAY, due_chart.DUE) is None
    many = [(n, f"Boat {n}", TODAY + dt.timedelta(days=n - 20)) for n in range(40)]
    shown = due_chart.shown(many, TODAY)
    assert (shown["drawn"], shown["undrawn"]) == (15, 25)
    assert len(shown["chart"]["data"]["values"]) == 15
    assert shown["chart"]["description"].startswith("20 of 40 boats due for a look are late")


def test_of_two_looks_due_on_a_boat_the_earlier_is_drawn():
    two = [(1, "Tern", TODAY), (1, "Tern", TODAY - dt.timedelta(days=9)), (2, "Skua", TODAY)]
    assert [boat.on for boat in due_chart.soonest(two)] == [TODAY - dt.timedelta(days=9), TODAY]


def test_bars_reach_from_today_to_the_day_due_each_with_its_words():
    spec = due_chart.chart(dues(Tern=-40, Skua=0, Knot=20, Coot=60), TODAY, due_chart.DUE)
    drawn = ElementTree.fromstring(chart_picture.svg(spec, 500))
    widths = {
        re.search(r"boat: (\w+)", path.get("aria-label"))[1]:
            float(re.search(r"h(-?[\d.]+)v9", path.get("d"))[1])
        for path in drawn.iter(f"{SVG}path") if path.get("aria-roledescription") == "bar"
    }  # fmt: skip
    assert widths.keys() == {"Tern", "Skua", "Knot", "Coot"}
    assert widths["Coot"] > 100
    assert abs(widths["Tern"]) == pytest.approx(widths["Coot"] * 40 / 60, abs=0.1)
    assert widths["Knot"] == pytest.approx(widths["Coot"] * 20 / 60, abs=0.1)
    assert widths["Skua"] == pytest.approx(0, abs=0.3)
    said = {text.text for text in drawn.iter(f"{SVG}text")}
    assert {"40 days late", "today", "in 20 days", "in 60 days", "Tern", "Coot"} <= said


@pytest.mark.parametrize(
    "name", ["=1+1", "a\x01b\x7f", "<b>&amp;", "Чайка", "x" * 200, "\u202eneT"]
)
def test_whatever_a_boat_is_called_its_chart_is_drawn(name):
    spec = due_chart.chart(dues(**{name: -3, "Skua": 0, "Knot": 5}), TODAY, due_chart.DUE)
    assert chart_picture.png(spec, 300).startswith(b"\x89PNG")


def test_the_same_boats_give_the_same_bytes_and_others_do_not():
    spec = due_chart.chart(dues(Tern=-40, Skua=0, Knot=20), TODAY, due_chart.DUE)
    other = due_chart.chart(dues(Tern=-41, Skua=0, Knot=20), TODAY, due_chart.DUE)
    assert chart_picture.png(spec, 300) == chart_picture.png(spec, 300)
    assert chart_picture.png(spec, 300) != chart_picture.png(other, 300)


# -- in the mail


@pytest.fixture
def by_smtp(settings, smtp_sink, tmp_path):
    settings.EMAIL_FOLDER = tmp_path / "mail"
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = smtp_sink.host, smtp_sink.port
    return smtp_sink


def late_fleet(boats: int):
    fleet = builders.empty_fleet("harbour")
    for number in range(boats):
        builders.boat(fleet, f"Tern {number + 1}", joined=TODAY - dt.timedelta(days=900 + number))
    builders.person("bo", fleet, "bosun")
    return fleet


@pytest.mark.django_db
def test_a_digest_of_three_boats_shows_them_in_a_picture_of_its_own(by_smtp):
    rounds.queue_and_send(late_fleet(boats=3), NOW)
    [mail] = by_smtp.messages
    choice, _ = mail.iter_parts()
    assert choice.get_content_type() == "multipart/alternative"
    plain, related = choice.iter_parts()
    assert (plain.get_content_type(), related.get_content_type()) == (
        "text/plain", "multipart/related")  # fmt: skip
    html, image = related.iter_parts()
    [cid] = re.findall(r'src="cid:([^"]+)"', html.get_content())
    assert image["Content-ID"] == f"<{cid}>"
    assert image.get_content_disposition() == "inline"
    pixels = imread(io.BytesIO(image.get_content()))
    assert pixels.shape[1] > 700
    assert len(np.unique(pixels.reshape(-1, pixels.shape[2]), axis=0)) > 20  # not blank
    [alt] = re.findall(r'<img [^>]*alt="([^"]+)"', html.get_content())
    assert alt.startswith("All 3 boats in this message are late, Tern 3 by ")
    assert f"<h1>{alt}</h1>" in html.get_content()
    assert f"{alt}." in plain.get_content()
    assert "http" not in re.sub(r'href="[^"]*"', "", html.get_content())  # nothing is fetched


@pytest.mark.django_db
def test_a_digest_of_two_boats_has_no_picture(by_smtp):
    rounds.queue_and_send(late_fleet(boats=2), NOW)
    [mail] = by_smtp.messages
    choice, _ = mail.iter_parts()
    assert [part.get_content_type() for part in choice.iter_parts()] == ["text/plain", "text/html"]


@pytest.mark.django_db
def test_the_copy_that_is_kept_reads_as_before(by_smtp):
    rounds.queue_and_send(late_fleet(boats=3), NOW)
    letter = mail_folder.read(by_smtp.messages[0]["Message-ID"])
    assert "Tern 1: inspection aloft" in letter.text
    assert "Tern 1: inspection aloft" in letter.html


@pytest.mark.django_db
def test_a_digest_sent_again_carries_the_same_picture(by_smtp):
    fleet = late_fleet(boats=3)
    queue(fleet, TODAY)
    rows = delivery.claim(fleet, "bo@example.org", TODAY, NOW)
    first, again = (digest.letter(fleet, rows, TODAY).pictures[0].png for _ in range(2))
    assert first == again
    assert Reminder.objects.filter(state="sending").count() == len(rows)


def test_a_calendar_goes_along_as_a_file():
    message = Letter("Due", "Text", to=["a@example.org"], calendar=b"BEGIN:VCALENDAR\r\n")
    [file] = [part for part in message.message().walk() if part.get_filename() == "due.ics"]
    assert file.get_content_type() == "text/calendar"
    assert file.get_payload(decode=True) == b"BEGIN:VCALENDAR\r\n"

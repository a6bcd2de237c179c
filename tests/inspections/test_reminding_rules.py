"""Pure rules of reminding: quiet hours over both clock changes, back-off, answers, own words."""

import datetime as dt
import smtplib
from zoneinfo import ZoneInfo

import pytest

from inspections.models import Reminder
from inspections.reminding import back_off, phrases, placeholders, refusals
from inspections.reminding.hours import Hours

UTC = dt.UTC


def moments(day: str, zone: str, minutes: int = 10):
    """Yield every ten minutes of that day on that wall, an hour that comes twice twice."""
    start = dt.datetime.fromisoformat(f"{day}T00:00").replace(tzinfo=ZoneInfo(zone))
    moment = start.astimezone(UTC)
    while moment.astimezone(ZoneInfo(zone)).date() == start.date():
        yield moment
        moment += dt.timedelta(minutes=minutes)


# The clocks change on these days (IANA time zone database); each day has 23 or 25 hours.
CHANGES = [
    ("2026-03-29", "Europe/Lisbon", 23),
    ("2026-10-25", "Europe/Lisbon", 25),
    ("2026-03-08", "America/New_York", 23),
    ("2026-11-01", "America/New_York", 25),
    ("2026-10-04", "Australia/Lord_Howe", 23.5),  # Half an hour, and in the other season.
]


@pytest.mark.parametrize(("day", "zone", "hours"), CHANGES)
@pytest.mark.parametrize(("start", "end"), [(21, 7), (1, 3), (2, 3), (0, 23)])
def test_quiet_hours_hold_on_the_wall_on_days_the_clocks_change(day, zone, hours, start, end):
    quiet = Hours(zone, start, end)
    all_day = list(moments(day, zone))
    assert len(all_day) == hours * 6
    awake = [m for m in all_day if quiet.awake(m)]
    assert awake  # Somebody can be written to on every day of the year.
    for moment in awake:
        hour = moment.astimezone(ZoneInfo(zone)).hour
        assert not (start <= hour < end if start < end else hour >= start or hour < end)


def test_quiet_hours_go_over_midnight_and_none_are_none():
    night = Hours("Europe/Lisbon", 22, 7)
    at = dt.datetime(2026, 1, 14, 0, tzinfo=UTC)
    hours = [h for h in range(24) if night.awake(at.replace(hour=h))]
    assert hours == list(range(7, 22))
    assert Hours("UTC").awake(at)
    assert Hours("UTC", 5, 5).awake(at)
    assert Hours("UTC", 5, None).awake(at)


def test_the_readers_own_zone_counts():
    now = dt.datetime(2026, 1, 14, 6, tzinfo=UTC)  # 19:00 in Auckland, 01:00 in New York
    assert Hours("Pacific/Auckland", 22, 7).awake(now)
    assert not Hours("America/New_York", 22, 7).awake(now)


def test_a_message_is_tried_soon_and_then_rarely():
    waits = [back_off.wait(number).total_seconds() / 60 for number in range(1, 8)]
    assert waits == [5, 15, 60, 180, 360, 360, 360]
    assert waits == sorted(waits)


@pytest.mark.parametrize(
    ("fault", "for_good", "not_there", "address", "everybody"),
    [
        (smtplib.SMTPRecipientsRefused({"a@b": (550, b"5.1.1 unknown")}), 1, 1, 1, 0),
        (smtplib.SMTPRecipientsRefused({"a@b": (450, b"4.2.0 greylisted")}), 0, 1, 0, 0),
        (smtplib.SMTPRecipientsRefused({"a@b": (552, b"5.2.2 mailbox full")}), 1, 1, 0, 0),
        (smtplib.SMTPRecipientsRefused({"a@b": (550, b"no such user")}), 1, 1, 1, 0),
        (smtplib.SMTPDataError(554, b"5.7.1 spam"), 1, 1, 0, 0),
        (smtplib.SMTPDataError(451, b"try later"), 0, 1, 0, 0),
        (smtplib.SMTPServerDisconnected("gone"), 0, 0, 0, 0),
        (smtplib.SMTPAuthenticationError(535, b"no"), 0, 1, 0, 1),
        (ConnectionRefusedError(111, "refused"), 0, 1, 0, 1),
        (ConnectionResetError(104, "reset"), 0, 0, 0, 1),
        (TimeoutError("timed out"), 0, 0, 0, 1),
        (OSError(28, "No space left on device"), 0, 1, 0, 1),
        (UnicodeEncodeError("ascii", "é", 0, 1, "no"), 1, 1, 1, 0),
    ],
)
def test_what_a_mail_server_answers_is_read_by_its_code(
    fault, for_good, not_there, address, everybody
):
    """RFC 5321, 4.2.1 and RFC 3463; a lost answer is never taken for a refusal."""
    said = refusals.of_fault(fault)
    told = (said.for_good, said.not_there, said.address, said.everybody)
    assert tuple(map(int, told)) == (for_good, not_there, address, everybody)
    assert said.words


VALUES = {"fleet": "Harbour", "name": "Ida", "date": "1 May", "count": 2, "late": 1, "boats": "T"}


def test_a_fleets_own_words_take_names_in_braces_and_nothing_else():
    text = "{fleet}: {count} things, {{not}} {late} late"
    assert placeholders.faults(text, "opening") == []
    assert placeholders.fill(text, VALUES) == "Harbour: 2 things, {not} 1 late"


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ("Hello {boat_name}", (1, 7), "There is no {boat_name} to put in"),
        ("Hello\n  {fleet", (2, 3), "A single {"),
        ("Hello } there", (1, 7), "A single }"),
        ("{fleet.pk}", (1, 1), "There is no {fleet.pk}"),
        ("{fleet!r:>10}", (1, 1), "There is no"),
        ("{}", (1, 1), "There is no {}"),
        ("{ fleet }", (1, 1), "There is no { fleet }"),
    ],
)
def test_a_fault_in_own_words_says_where_and_what_would_be_right(text, where, words):
    [fault] = placeholders.faults(text, "opening")
    assert (fault.line, fault.column) == where
    assert words in fault.sentence
    with pytest.raises(ValueError, match="Line"):
        placeholders.fill(text, VALUES)


@pytest.mark.parametrize("text", ["{% load x %}", "{{ fleet.members }}", "{# no #}"])
def test_the_language_of_templates_is_never_spoken(text):
    faults = placeholders.faults(text, "opening")
    assert faults or placeholders.fill(text, VALUES) == text.replace("{{", "{").replace("}}", "}")


def test_a_subject_is_one_short_line():
    assert placeholders.faults("One\nTwo", "subject")
    assert placeholders.faults("x" * 121, "subject")
    assert not placeholders.faults("{fleet}: {count}", "subject")


def test_every_phrase_is_there_in_every_language_with_the_same_names():
    for words in (*phrases.KINDS.values(), *phrases.WORDS.values()):
        assert len(words) == len(phrases.LANGUAGES) == len(list(filter(None, words)))
        names = {tuple(sorted(placeholders.PIECE.findall(each))) for each in words}
        assert len(names) == 1, words
    assert set(Reminder.Kind.values) <= set(phrases.KINDS)


@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("en", "was due 2 Oct 2026, 12 days ago"),
        ("de", "war am 2. Oktober 2026 fällig, vor 12 Tagen"),
        ("fr", "devait être fait le 2 octobre 2026, il y a 12 jours"),
        ("es", "vencía el 2 de octubre de 2026, hace 12 días"),
    ],
)
def test_dates_and_spans_are_said_in_the_readers_language(language, words):
    assert phrases.when(dt.date(2026, 10, 2), dt.date(2026, 10, 14), language) == words

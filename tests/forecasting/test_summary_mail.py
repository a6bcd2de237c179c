"""The summary by mail: one message, its chart inline, its papers attached, to members alone."""

import datetime as dt
import io
import re
from html.parser import HTMLParser

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from matplotlib.image import imread

from fleet.models import WorkRow
from fleet.templatetags.wording import figure
from fleet.work import rounds
from forecasting import jobs, reads, summaries
from forecasting.models import BudgetFigure, PartOutlook, RefitJob, SummaryMail
from inspections import delivery, mail_folder, reminders
from inspections.reminding import digest
from tests import builders
from tests.forecasting.papers.conftest import CODE, figures, work
from tests.forecasting.papers.reading import dense

NOW = dt.datetime(2026, 10, 14, 6, 0, tzinfo=dt.UTC)
BACKEND = "django.contrib.auth.backends.ModelBackend"
pytestmark = pytest.mark.django_db


@pytest.fixture
def sink(settings, smtp_sink, tmp_path):
    """Deliver to a real SMTP server."""
    settings.EMAIL_FOLDER = tmp_path / "mail"
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = smtp_sink.host, smtp_sink.port
    return smtp_sink


@pytest.fixture
def fleet(db):
    """A fleet with three years of budget and work on two boats, one called like a formula."""
    rows = builders.one_of_each("harbour")
    BudgetFigure.objects.all().delete()
    other = builders.boat(rows.fleet, CODE, base=builders.base(rows.fleet, "+2 Ness"))
    work(other, 1)
    figures(rows.fleet)
    return rows.fleet


def member(fleet, name: str = "mona", role: str = "manager") -> Client:
    client = Client()
    client.force_login(builders.person(name, fleet, role), BACKEND)
    return client


def ask(client: Client, fleet):
    return client.post(reverse("summary_ask", args=[fleet.slug]), follow=True)


def parts(message) -> tuple:
    """Return plain text, HTML, image part and attachments of the one shape the mail has."""
    assert message.get_content_type() == "multipart/mixed"
    choice, *files = message.iter_parts()
    assert choice.get_content_type() == "multipart/alternative"
    plain, related = choice.iter_parts()
    assert related.get_content_type() == "multipart/related"
    html, image = related.iter_parts()
    return plain.get_content(), html.get_content(), image, files


class Cells(HTMLParser):
    """The cells of every table row, as text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.inside = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs) -> None:
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.inside = True
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        self.inside = self.inside and tag not in ("td", "th")

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.rows[-1][-1] += data


@pytest.mark.parametrize("role", ["manager", "accountant"])
def test_who_asks_gets_one_message_with_chart_and_papers(fleet, sink, role):
    client = member(fleet, role=role)
    ask(client, fleet)
    assert rounds.work_through() == 1
    [message] = sink.messages
    assert sink.recipients == [["mona@example.org"]]
    plain, html, image, files = parts(message)
    [cid] = re.findall(r'src="cid:([^"]+)"', html)
    assert image["Content-ID"] == f"<{cid}>"
    assert (image.get_content_type(), image.get_content_disposition()) == ("image/png", "inline")
    pixels = imread(io.BytesIO(image.get_content()))
    assert pixels.shape[1] > 700
    assert len(np.unique(pixels.reshape(-1, pixels.shape[2]), axis=0)) > 20  # not blank
    [alt] = re.findall(r'<img [^>]*alt="([^"]+)"', html)
    assert alt.startswith("By rule of thumb, rigging will most likely cost ")
    assert f"<h1>{alt}</h1>" in html
    assert f"{alt}." in plain
    names = [part.get_filename() for part in files]
    assert names == ["harbour-budget-2026-10-14.pdf", "harbour-refit-2026-10-14.pdf"]
    assert all(part.get_content_type() == "application/pdf" for part in files)
    assert dense(alt) in dense(files[0].get_content())
    assert not re.search(r'(src|url\()\s*=?\s*["\']?http', html)


def test_both_bodies_carry_the_records_numbers(fleet, sink):
    ask(member(fleet), fleet)
    rounds.work_through()
    plain, html, _, _ = parts(sink.messages[0])
    told = Cells(html).rows
    lines = [line.split() for line in plain.splitlines()]
    for year in reads.budget(fleet, "fleet"):
        minor = (year.p10_minor, year.p50_minor, year.p90_minor, year.mean_minor)
        row = [f"{year.year}", *(figure(each, "EUR") for each in minor)]
        assert row in told
        assert row in lines
    totals = reads.refit_totals(fleet)
    for base in totals:
        cost = f"{base['cost'] / 100:,.2f}"
        numbers = [f"{base['boats']}", f"{base['parts']}", f"{base['must']}",
                   f"{base['hours']:,.1f}", cost]  # fmt: skip
        assert [base["boat__base__name"], *numbers] in told
        assert base["boat__base__name"].split() + numbers in lines
    together = f"{sum(base['cost'] for base in totals) / 100:,.2f}"
    assert [row[-1] for row in told if row[0] == "Together"] == [together]
    assert any(line[:1] == ["Together"] and line[-1] == together for line in lines)


def test_a_fleet_named_like_markup_and_headers_stays_text(fleet, sink):
    fleet.name = "<b>Harbour</b>\nBcc: all@example.org"
    fleet.save()
    ask(member(fleet), fleet)
    rounds.work_through()
    [message] = sink.messages
    assert message["Bcc"] is None
    assert sink.recipients == [["mona@example.org"]]
    assert "&lt;b&gt;Harbour" in parts(message)[1]


def test_the_same_record_gives_the_same_picture_and_papers(fleet, sink):
    member(fleet)
    mail = summaries.ask(fleet, fleet.memberships.get().user)
    first, again = summaries.write(mail), summaries.write(mail)
    assert first.pictures == again.pictures
    assert first.attachments == again.attachments
    assert first.body == again.body


def test_pressing_twice_before_it_went_sends_it_once_and_afterwards_another(fleet, sink):
    client = member(fleet)
    ask(client, fleet)
    ask(client, fleet)
    rounds.work_through()
    assert len(sink.messages) == 1
    ask(client, fleet)
    rounds.work_through()
    assert len({message["Message-ID"] for message in sink.messages}) == 2


def test_what_the_mail_server_refused_says_why_and_goes_out_again_as_what_it_was(fleet, sink):
    client, tried = member(fleet), []
    sink.answer = lambda message: tried.append(message["Message-ID"]) or "451 try later"
    ask(client, fleet)
    rounds.work_through()
    row = WorkRow.objects.get(kind="summary")
    assert row.state == "failed"
    assert "451" in row.outcome
    page = client.get(row.seen_at).content.decode()
    assert "451" in page
    sink.answer = lambda message: "250 kept"
    ask(client, fleet)
    rounds.work_through()
    assert [message["Message-ID"] for message in sink.messages] == tried
    assert SummaryMail.objects.filter(user__username="mona").get().state == "sent"


def test_a_mail_whose_sender_was_killed_goes_out_again_after_its_lease(fleet, sink):
    member(fleet)
    mail = summaries.ask(fleet, fleet.memberships.get().user)
    assert summaries.claim(mail, NOW)
    assert not summaries.claim(mail, NOW + dt.timedelta(minutes=14))
    jobs.ask_for_half_sent(NOW + dt.timedelta(minutes=14))
    assert not WorkRow.objects.filter(kind="summary").exists()
    for _ in range(2):
        jobs.ask_for_half_sent(NOW + dt.timedelta(minutes=16))
    assert WorkRow.objects.filter(kind="summary").count() == 1
    rounds.work_through()
    assert [message["Message-ID"] for message in sink.messages] == [mail.message_id]
    mail.refresh_from_db()
    assert mail.state == "sent"


def test_who_is_no_member_any_more_gets_nothing(fleet, sink):
    ask(member(fleet), fleet)
    fleet.memberships.all().delete()
    rounds.work_through()
    assert sink.messages == []
    assert SummaryMail.objects.get(user__username="mona").state == "withdrawn"
    assert "was not sent" in WorkRow.objects.get(kind="summary").outcome


def test_a_bosun_and_a_member_elsewhere_cannot_ask(fleet):
    assert ask(member(fleet, "bo", "bosun"), fleet).status_code == 403
    elsewhere = builders.empty_fleet("estuary")
    assert ask(member(elsewhere, "ida"), fleet).status_code == 404
    assert not WorkRow.objects.filter(kind="summary").exists()


def test_without_an_address_or_a_forecast_there_is_nothing_to_send(fleet):
    client = member(fleet)
    PartOutlook.objects.all().delete()
    assert b"nothing to send yet" in ask(client, fleet).content
    user = fleet.memberships.get().user
    user.email = ""
    user.save()
    assert b"No mail address of yours" in ask(client, fleet).content
    assert not WorkRow.objects.filter(kind="summary").exists()


def test_a_fleet_with_nothing_to_renew_still_has_its_budget_mailed(fleet, sink):
    RefitJob.objects.all().delete()
    ask(member(fleet), fleet)
    rounds.work_through()
    plain, html, _, _ = parts(sink.messages[0])
    for body in (plain, html):
        assert "Nothing on the refit list" in body
        assert "Together" not in body


def test_the_button_is_there_for_those_who_answer_for_money(fleet):
    address = reverse("summary_ask", args=[fleet.slug])
    for page in ("budget", "refit"):
        url = reverse(page, args=[fleet.slug])
        assert address in member(fleet, f"m-{page}").get(url).content.decode()
        assert address not in member(fleet, f"b-{page}", "bosun").get(url).content.decode()


def test_the_message_is_read_on_its_page_as_it_went_out(fleet, sink):
    client = member(fleet)
    ask(client, fleet)
    rounds.work_through()
    mail = SummaryMail.objects.get(user__username="mona")
    page = client.get(reverse("summary", args=[fleet.slug, mail.pk])).content.decode()
    assert "Summary by mail: sent" in page
    assert mail_folder.read(mail.message_id).subject in page


# -- as a mail reader shows it

TINY = 'src="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR4nGP4z8DwHwAFAAH/iZk9HQAAAABJRU5ErkJggg=="'  # noqa: E501


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 800])
def test_the_mail_can_be_read_by_day_and_night(
    transactional_db, page_at, accessibility_faults, scheme, width, tmp_path
):
    """WCAG 2 AA, as axe-core measures it in Chromium; nothing sticks out on a phone."""
    fleet = builders.one_of_each("harbour").fleet
    for number in range(3):
        builders.boat(fleet, f"Tern {number}", joined=dt.date(2020, 4, 1))
    member(fleet)
    reminders.queue(fleet, fleet.today())
    rows = delivery.claim(fleet, "mona@example.org", fleet.today(), NOW)
    letters = [
        summaries.write(summaries.ask(fleet, fleet.memberships.get().user)),
        digest.letter(fleet, rows, fleet.today()),
    ]
    page = page_at(width, color_scheme=scheme)
    for number, letter in enumerate(letters):
        file = tmp_path / f"{number}.html"
        shown, pictures = re.subn(r'src="cid:[^"]+"', TINY, letter.alternatives[0].content)
        file.write_text(shown)
        assert pictures == 1
        page.goto(file.as_uri())
        assert accessibility_faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width

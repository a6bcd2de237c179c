"""The answer to a demand, the chase list and the year's page, read back."""

import datetime as dt
import io
import zipfile

import pytest
from django.urls import reverse
from pypdf import PdfWriter

from forecasting.models import BoatOutlook
from forecasting.papers.chase_list import chase_list
from forecasting.papers.reply_pack import reply_pack, reply_zip
from forecasting.papers.season_page import season_page
from inspections.aftermath import advice
from inspections.demands import keeping
from inspections.due import due
from inspections.models import Booking, Demand
from tests import builders
from tests.inspections.docks import inspect, part, rigged_boat, saw, signed_in

from .reading import dense, reader, text_of

pytestmark = pytest.mark.django_db
TODAY = builders.TODAY
DAY = dt.timedelta(days=1)


def blank_pdf(pages: int, password: str = "") -> bytes:
    writer, content = PdfWriter(), io.BytesIO()
    for number in range(pages):
        writer.add_blank_page(200 + number, 300)
    if password:
        writer.encrypt(password, algorithm="RC4-128")
    writer.write(content)
    return content.getvalue()


def asked(boat, **facts) -> Demand:
    usual = {
        "asker": "insurer", "asker_name": "Grimsund #Mutual", "reference": "GM-4471",
        "clause": "A #strong[report], please.", "asked_on": TODAY - 40 * DAY,
        "deadline": TODAY + 60 * DAY, "wanted": "report",
    }  # fmt: skip
    return keeping.add(boat.fleet, [boat], **(usual | facts))


def attach(boat, author: str, content: bytes) -> None:
    file = builders.pdf_file(content, f"{author}.pdf")
    advice.attach(boat, file, on=TODAY, author=author, competence="surveyor")


def bookmarks(content: bytes) -> list[str]:
    return [each.title for each in reader(content).outline]


def test_the_answer_is_one_paper_of_letter_schedule_inspection_and_reports_of_others():
    boat = rigged_boat()
    inspect(boat, TODAY - 3 * DAY)
    attach(boat, "S. Vey", blank_pdf(3))
    attach(boat, "P. Locked", blank_pdf(1, "secret"))
    attach(boat, "B. Roken", builders.PDF)
    BoatOutlook.objects.create(
        boat=boat, as_of=TODAY, parts=2, chance_now=0.08, chance_now_low=0.02, chance_now_high=0.3,
        chance_1y=0.2, chance_5y=0.5, chance_failing=0.01,
    )  # fmt: skip
    demand = asked(boat)
    content = reply_pack(demand)
    assert bookmarks(content) == [
        "Letter", "Rigging schedule: Tern", "Inspection of Tern, 11 Oct 2026",
        "Report on Tern, S. Vey, 14 Oct 2026",
    ]  # fmt: skip
    widths = [float(page.mediabox.width) for page in reader(content).pages]
    assert widths[-3:] == [200, 201, 202]
    text = dense(content)
    for words in ("Answer to Grimsund #Mutual", "GM-4471", "A #strong[report], please.",
                  "It is done on Tern", "P. Locked, 14 Oct 2026: under a password.",
                  "B. Roken, 14 Oct 2026: its PDF cannot be read here.",
                  "the inspections that show what is done and the reports of others. "
                  "No forecast goes with this answer."):  # fmt: skip
        assert dense(words) in text
    assert "1in12" not in text
    chosen = reply_pack(demand, forecast=True)
    assert bookmarks(chosen)[-1] == "Forecast"
    for words in ("1 in 12 (8.0%)", "2.0% to 30%", "A forecast never clears a part"):
        assert dense(words) in dense(chosen)
    with zipfile.ZipFile(io.BytesIO(reply_zip(demand))) as packed:
        assert sorted(name.rpartition("-")[0] for name in packed.namelist()) == [
            "", "reports/tern-b-roken-2026-10-14", "reports/tern-p-locked-2026-10-14",
            "reports/tern-s-vey-2026-10-14",
        ]  # fmt: skip
        assert packed.testzip() is None


def test_the_answer_lists_invoices_says_what_is_missing_and_takes_a_letter_of_ones_own():
    boat = rigged_boat()
    new = part(boat)
    new.fitted_on, new.invoice, new.fitter = TODAY - DAY, "F-77", "Loft & Daughter"
    new.save()
    demand = asked(boat, wanted="renew", letter="Dear all,\n\nwe are at it.")
    text = text_of(reply_pack(demand))
    for words in ("F-77", "Loft & Daughter", "Dear all,", "we are at it.",
                  "Still to be renewed: Cap shroud, starboard.",
                  "What follows: the rigging schedule of each boat. No forecast"):  # fmt: skip
        assert words in text
    assert "Please confirm" not in text


def test_an_answer_about_too_many_boats_is_refused_on_its_page():
    boat = rigged_boat()
    more = [builders.boat(boat.fleet, f"Gull {number}") for number in range(60)]
    demand = asked(boat)
    demand.boats.add(*more)
    client = signed_in(boat)
    url = reverse("demand_pack", kwargs={"fleet": boat.fleet.slug, "pk": demand.pk})
    assert "more than 60 boats" in client.get(url, follow=True).content.decode()


def test_the_chase_list_has_a_line_to_sign_and_a_box_for_each_owner():
    boat = rigged_boat()
    boat.owner_name, boat.owner_email = "Bram #Holl", "bram@example.org"
    boat.save()
    builders.boat(boat.fleet, "Gull", joined=TODAY - 200 * DAY)
    Booking.objects.create(boat=boat, first=TODAY, last=TODAY + 9 * DAY)
    fleet = boat.fleet
    content = chase_list(fleet, due(fleet, TODAY))
    text = text_of(content)
    assert "2 boats of 2 owners: 2 with something late or held" in text
    for words in (
        "Bram #Holl",
        "No owner on record",
        "no mail address",
        "Late, and booked to 23 Oct 2026",
        "None on record since the boat joined",
    ):
        assert words in text  # fmt: skip
    assert text.count("Signature of the owner or skipper") == 2
    assert "Nobody needs to be chased today." in text_of(chase_list(fleet, []))


def test_the_years_page_counts_the_year_and_tells_each_boat():
    boat = rigged_boat()
    inspect(boat, TODAY - 400 * DAY, level="mast_down")
    inspect(boat, TODAY - 3 * DAY, saw(part(boat), "barrel_crack_along"))
    builders.boat(boat.fleet, "Gull", joined=TODAY - 900 * DAY)
    text = text_of(season_page(boat.fleet))
    assert "1 of 2 boats inspected within the year, 2 late for a look, 1 held." in text
    for words in (
        "11 Oct 2026",
        "1 parts condemned",
        "0 parts that let go in use",
        "1 whole inspections, aloft",
        "0 whole inspections, mast-down",
    ):
        assert dense(words) in dense(text)  # fmt: skip
    assert len(reader(season_page(boat.fleet)).pages) == 1


def test_a_paper_says_so_where_the_fleet_has_no_boat():
    fleet = builders.empty_fleet("harbour")
    assert "No boat is in the fleet now." in text_of(season_page(fleet))

"""Where the papers are asked for, what they are called, and what every one of them says."""

import json
import re

import pytest
from django.urls import reverse

from fleet import chart_picture, chart_spec
from forecasting import budget_sheet, reads
from forecasting.models import ModelRun, RefitJob

from .reading import dense, reader, text_of

FILES = {
    "refit_pdf": "harbour-refit-2026-10-14.pdf",
    "refit_xlsx": "harbour-refit-2026-10-14.xlsx",
    "refit_csv": "harbour-refit-2026-10-14.csv",
    "hours_pdf": "harbour-what-an-hour-buys-2026-10-14.pdf",
    "hours_xlsx": "harbour-what-an-hour-buys-2026-10-14.xlsx",
    "hours_csv": "harbour-what-an-hour-buys-2026-10-14.csv",
    "budget_pdf": "harbour-budget-2026-10-14.pdf",
    "budget_xlsx": "harbour-budget-2026-10-14.xlsx",
    "outlook_xlsx": "harbour-outlook-2026-10-14.xlsx",
    "outlook_csv": "harbour-outlook-2026-10-14.csv",
    "look_list_pdf": "harbour-to-look-at-2026-10-14.pdf",
    "look_list_xlsx": "harbour-to-look-at-2026-10-14.xlsx",
    "fleet_schedule_pdf": "harbour-rigging-schedule-2026-10-14.pdf",
    "fleet_schedule_xlsx": "harbour-rigging-schedule-2026-10-14.xlsx",
    "board_pdf": "harbour-board-2026-10-14.pdf",
    "season_pdf": "harbour-plan-harbour-as-budgeted-2026-10-14.pdf",
    "season_xlsx": "harbour-plan-harbour-as-budgeted-2026-10-14.xlsx",
    "season_csv": "harbour-plan-harbour-as-budgeted-2026-10-14.csv",
    "work_order": "harbour-harbour-one-work-order-2026-10-14.pdf",
    "rig_schedule": "harbour-harbour-one-rigging-schedule-2026-10-14.pdf",
}
PAPERS = [name for name, file in FILES.items() if file.endswith(".pdf")]


def address(name: str, rows) -> str:
    whose = rows.season_plan if name.startswith("season_") else rows.boat
    of_one = name.startswith("season_") or name in ("work_order", "rig_schedule")
    number = {"pk": whose.pk} if of_one else {}
    return reverse(name, kwargs={"fleet": rows.fleet.slug, **number})


@pytest.mark.parametrize("name", FILES)
def test_an_accountant_too_gets_each_file_under_its_name(client, rows, name):
    response = client.get(address(name, rows))
    assert response.status_code == 200
    assert response["Content-Disposition"] == f'attachment; filename="{FILES[name]}"'


@pytest.mark.parametrize("name", PAPERS)
def test_each_paper_names_fleet_day_model_currency_and_the_caution(client, rows, name):
    printed = text_of(client.get(address(name, rows)).content)
    for words in ("Harbour", "as of 14 Oct 2026", "EUR", "Rule of thumb", f"wire {'f' * 12}"):
        assert words in printed
    assert dense("A forecast never clears a part") in dense(printed)


@pytest.mark.parametrize("name", PAPERS)
def test_without_a_model_a_paper_says_there_is_none(client, rows, name):
    ModelRun.objects.all().delete()
    assert "No forecast has been made yet" in text_of(client.get(address(name, rows)).content)


@pytest.mark.parametrize("name", PAPERS)
def test_each_paper_can_be_read_aloud(client, rows, name):
    """Tagged, titled and in a named language, as PDF/UA-1 (ISO 14289-1) asks."""
    paper = reader(client.get(address(name, rows)).content)
    root = paper.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  (a PDF boolean, not Python's)
    assert root["/StructTreeRoot"]
    assert root["/Lang"] == "en"
    assert paper.metadata.title
    assert "pdfuaid" in root["/Metadata"].get_data().decode()


@pytest.mark.parametrize("name", PAPERS)
def test_a_paper_carries_the_fleets_day_not_the_clocks(client, rows, name):
    made = reader(client.get(address(name, rows)).content).metadata.creation_date
    assert (made.date(), made.hour) == (rows.fleet.today(), 12)


@pytest.mark.parametrize(
    ("page", "files"),
    [("hours", ("hours_pdf", "hours_xlsx", "hours_csv")),
     ("refit", ("refit_pdf", "refit_xlsx", "refit_csv")),
     ("budget", ("budget_pdf", "budget_xlsx", "budget_csv")),
     ("outlook", ("outlook_xlsx", "outlook_csv", "look_list_pdf")),
     ("reminders", ("look_list_pdf", "look_list_xlsx")),
     ("boats", ("fleet_schedule_pdf", "fleet_schedule_xlsx"))],
)  # fmt: skip
def test_the_page_links_to_its_files(client, rows, page, files):
    shown = client.get(reverse(page, kwargs={"fleet": rows.fleet.slug})).content.decode()
    assert all(f'href="{address(name, rows)}"' in shown for name in files)


def test_the_boats_page_has_its_work_order_while_there_is_work(client, rows):
    url = reverse("boat", kwargs={"fleet": rows.fleet.slug, "pk": rows.boat.pk})
    shown = client.get(url).content.decode()
    assert address("work_order", rows) in shown
    assert address("rig_schedule", rows) in shown
    RefitJob.objects.all().delete()
    shown = client.get(url).content.decode()
    assert address("work_order", rows) not in shown
    assert address("rig_schedule", rows) in shown


def test_page_and_paper_draw_one_spec(client, rows):
    """Rule of thumb: hatched in both."""
    page = client.get(reverse("budget", kwargs={"fleet": rows.fleet.slug})).content.decode()
    on_page = json.loads(re.search(r'id="budget-spec"[^>]*>(.*?)</script>', page).group(1))
    figures = list(reads.budget(rows.fleet, "fleet"))
    spec = budget_sheet.chart(figures, rows.fleet)
    assert on_page == json.loads(json.dumps(spec))
    assert f"<h2>{spec['description']}</h2>" in page
    drawn = chart_picture.svg(spec, 400, 150)
    assert '<pattern id="hatch"' in drawn
    assert "url(#hatch)" in drawn


def test_what_rests_on_the_fleets_own_record_is_not_hatched(rows):
    ModelRun.objects.update(state="fitted")
    spec = budget_sheet.chart(list(reads.budget(rows.fleet, "fleet")), rows.fleet)
    assert "url(#hatch)" not in chart_picture.svg(spec, 400, 150)


def test_no_colour_goes_by_name_on_paper(rows):
    spec = budget_sheet.chart(list(reads.budget(rows.fleet, "fleet")), rows.fleet)
    painted = json.dumps(chart_spec.painted(spec, chart_picture.COLOURS))
    colours = re.findall(r'"color": "([^"]+)"', painted)
    assert colours
    assert all(re.fullmatch(r"#[0-9a-f]{6}|url\(#hatch\)", colour) for colour in colours)

"""Files of the whole fleet: outlook, boats to look at, rigging schedule; read back, reconciled."""

import csv
import datetime as dt
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Boat
from fleet.spreadsheets.csv_files import unguard
from forecasting import reads
from forecasting.models import BoatOutlook, PartOutlook
from forecasting.papers import fleet_schedule as schedule
from forecasting.papers import look_list, outlook_sheet, part_words
from forecasting.papers.budget_workbook import budget_workbook
from forecasting.papers.refit_sheet import refit_workbook
from forecasting.papers.rig_schedule import contents as one_boat
from forecasting.papers.work_order import contents as work_order
from inspections.due import due
from inspections.models import Hold, Inspection
from tests import builders

from .conftest import CODE, CYRILLIC, GREEK, LONG, figures, work
from .reading import Sheets, dense, text_of

NAMES = (CODE, GREEK, CYRILLIC, LONG)
TODAY = builders.TODAY


def boats(fleet):
    return reads.boats(fleet, TODAY)


def schedule_workbook(fleet) -> bytes:
    return schedule.fleet_schedule_workbook(fleet, boats(fleet))


BOOKS = (
    schedule_workbook,
    look_list.look_workbook,
    outlook_sheet.outlook_workbook,
    refit_workbook,
    budget_workbook,
)


# -- every workbook


@pytest.mark.parametrize("make", BOOKS)
@pytest.mark.parametrize("name", ["=1+1", "+49", "@x", "-3", "\tTern", '=HYPERLINK("x")'])
def test_a_boat_called_like_a_formula_is_text_in_every_workbook(db, make, name):
    fleet = builders.one_of_each("harbour").fleet
    boat = builders.boat(fleet, name, base=builders.base(fleet, f"{name} base"))
    work(boat, 1)
    fleet.budget.all().delete()
    figures(fleet)
    BoatOutlook.objects.create(
        boat=boat, as_of=TODAY, parts=1, chance_now=0.1, chance_now_low=0, chance_now_high=0.2,
        chance_1y=0.2, chance_5y=0.5, chance_failing=0.001,
    )  # fmt: skip
    book = Sheets(make(fleet))
    cells = [cell for sheet in book.names for row in book.rows[sheet] for cell in row]
    assert name in cells
    assert f"{name} base" in cells
    every = [formula for sheet in book.names for formula in book.formulas(sheet).values()]
    assert all(formula.startswith("SUM(") for formula in every)


@pytest.mark.parametrize("make", BOOKS[:3])
def test_a_workbook_of_the_fleet_is_frozen_dated_and_names_what_it_rests_on(fleet, make):
    book = Sheets(make(fleet))
    assert all(book.frozen(name) for name in book.names if name != "About")
    about = dict(row[:2] for row in book.rows["About"])
    assert (about["Fleet"], about["Currency"]) == (fleet.name, "EUR")
    assert about["As of"] == TODAY
    assert "f" * 12 in about["Models"]
    assert make(fleet) == make(fleet)


@pytest.mark.parametrize("make", BOOKS[:3])
def test_a_fleet_with_nothing_still_has_its_files_which_say_so(db, make):
    fleet = builders.empty_fleet("bare")
    book = Sheets(make(fleet))
    assert any(str(book.rows[name][1][0]).endswith(".") for name in book.names if name != "About")


# -- the outlook


def test_the_outlook_gives_the_records_chances_as_numbers_and_its_days_as_dates(fleet):
    book = Sheets(outlook_sheet.outlook_workbook(fleet))
    head, row = book.rows[outlook_sheet.NAME]
    told = dict(zip(head, row, strict=True))
    outlook = BoatOutlook.objects.get()
    assert told["condemned, unseen, today"] == outlook.chance_now
    assert (told["from"], told["to"]) == (outlook.chance_now_low, outlook.chance_now_high)
    assert told["after that look"] == outlook.after_level["aloft"]
    assert told["fails in service, a season"] == outlook.chance_failing
    assert (told["last inspected"], told["inspect by"]) == (TODAY, dt.date(2027, 1, 20))
    assert (told["held"], told["why held"]) == ("yes", Hold.objects.get().reason)


def test_the_outlook_as_csv_is_rfc_4180_and_says_what_the_workbook_says(fleet):
    builders.boat(fleet, '@x, "quoted"\r\nline')
    Boat.objects.update(design='a "b",\nc')
    text = outlook_sheet.outlook_csv(fleet).decode()
    lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    head, *rows = lines[:-2]
    assert {len(line) for line in lines} == {len(head)}
    assert head[3:] == list(outlook_sheet.HEADERS)
    [row] = rows
    assert row[:3] == [fleet.name, "2026-10-14", "EUR"]
    assert unguard(row[head.index("design")]) == 'a "b",\nc'
    assert float(row[head.index("within a year")]) == BoatOutlook.objects.get().chance_1y
    assert "f" * 12 in lines[-2][1]


# -- boats to look at


def test_the_bosuns_list_is_the_pages_late_first_with_a_box_to_tick(fleet):
    paper = look_list.contents(fleet)
    expected = sorted(
        (each.boat.base.name, each.on, each.boat.name, each.reason)
        for each in due(fleet, TODAY)
        if (each.on - TODAY).days <= 60
    )
    listed = [(base["name"], row["boat"], row["why"]) for base in paper["bases"]
              for row in base["rows"]]  # fmt: skip
    assert sorted(listed) == sorted((base, boat, why) for base, _, boat, why in expected)
    assert [row[0] for row in listed] == [row[0] for row in expected]
    printed = text_of(look_list.look_list(fleet))
    assert "Done, date" in printed
    for name in NAMES:
        assert dense(name) in dense(printed)
    assert paper["chart_title"].startswith("All 5 boats due for a look are late")
    assert dense(paper["chart_title"]) in dense(printed)


def test_the_bosuns_list_counts_late_due_and_held(rows):
    said = look_list.contents(rows.fleet)["answer"]
    assert said == "1 boat late for a look, none more due within two months; 1 held."
    builders.boat(rows.fleet, "Skua", joined=dt.date(2026, 4, 20))
    said = look_list.contents(rows.fleet)["answer"]
    assert said == "1 boat late for a look, 1 more due within two months; 1 held."


def test_the_list_as_a_workbook_has_days_as_dates_and_lateness_as_a_number(fleet):
    head, *rows = Sheets(look_list.look_workbook(fleet)).rows[look_list.NAME]
    assert len(rows) == len(look_list.dues(fleet))
    for row in rows:
        told = dict(zip(head, row, strict=True))
        late = (TODAY - told["due"]).days
        assert told["days late"] == (late if late > 0 else "")


# -- the rigging schedule of all


def test_the_schedule_has_every_part_of_every_boat_as_its_own_schedule_does(fleet):
    paper = schedule.contents(fleet, boats(fleet))
    assert len(paper["boats"]) == 5
    for boat, told in schedule.by_boat(boats(fleet)):
        [of_boat] = [each for each in paper["boats"] if each["name"] == boat.name]
        alone = one_boat(Boat.objects.select_related("fleet", "base__ground").get(pk=boat.pk))
        assert of_boat["answer"] == alone["answer"]
        shared = ("name", "what", "age", "fitted", "seen", "verdict")
        for here, there in zip(of_boat["parts"], alone["parts"], strict=True):
            assert {key: here[key] for key in shared} == {key: there[key] for key in shared}
        assert len(told) == len(alone["parts"])
    printed = dense(schedule.fleet_schedule(fleet, boats(fleet)))
    assert all(dense(name) in printed for name in NAMES)


def test_the_schedule_as_a_workbook_reconciles_with_the_record(fleet):
    book = Sheets(schedule_workbook(fleet))
    head, *parts = book.rows["Parts"]
    every = [dict(zip(head, row, strict=True)) for row in parts]
    standing = list(reads.parts_up_on(boats(fleet)))
    assert len(every) == len(standing)
    assert sorted(row["pin to pin mm"] for row in every) == sorted(p.length_mm for p in standing)
    assert all(isinstance(row["fitted"], dt.date) for row in every)
    together = book.rows["Boats"][-1]
    assert together[6] == len(standing)
    for (row, column), formula in book.formulas("Boats").items():
        assert book.rows["Boats"][row][column] == book.computed("Boats", formula)


def test_what_is_not_on_record_is_to_be_measured_in_the_schedule_of_all(rig):
    paper = schedule.contents(rig.boat.fleet, boats(rig.boat.fleet))
    sized = [part["length"] for part in paper["boats"][0]["parts"]]
    assert part_words.MEASURE in sized
    assert "measure before ordering" in text_of(
        schedule.fleet_schedule(rig.boat.fleet, boats(rig.boat.fleet))
    )
    book = Sheets(schedule_workbook(rig.boat.fleet))
    head, *parts = book.rows["Parts"]
    assert "" in [row[head.index("diameter mm")] for row in parts]


def test_the_schedule_takes_as_many_queries_for_five_boats_as_for_one(fleet):
    def asked(some, number: int) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert len(schedule.contents(fleet, some)["boats"]) == number
        return len(queries)

    assert asked(boats(fleet).filter(name=CODE), 1) == asked(boats(fleet), 5) < 20


def test_the_schedule_is_of_the_boats_the_page_shows(fleet, client):
    base = Boat.objects.get(name=CODE).base
    url = reverse("fleet_schedule_pdf", args=[fleet.slug])
    printed = dense(client.get(f"{url}?base={base.pk}").content)
    assert dense(CODE) in printed
    assert dense(GREEK) not in printed
    page = client.get(f"{reverse('boats', args=[fleet.slug])}?base={base.pk}").content.decode()
    assert f"{url}?base={base.pk}" in page


def test_a_paper_of_too_many_boats_is_refused_in_words(fleet, client, monkeypatch):
    monkeypatch.setattr("forecasting.views.papers.MOST", 4)
    answer = client.get(reverse("fleet_schedule_pdf", args=[fleet.slug]), follow=True)
    assert "choose a base first" in answer.content.decode()
    assert client.get(reverse("fleet_schedule_xlsx", args=[fleet.slug])).status_code == 200


# -- what the papers answer first


def test_a_condemned_part_is_named_in_the_answer_of_its_schedule(rig):
    rig.screw.condemned_on = TODAY
    rig.screw.save()
    boat = Boat.objects.select_related("fleet", "base__ground").get(pk=rig.boat.pk)
    assert "1 condemned (cap shroud, port: turnbuckle)" in one_boat(boat)["answer"]


def test_the_work_order_and_the_schedule_open_with_no_inspection_at_all(rows):
    Inspection.objects.all().delete()
    PartOutlook.objects.all().delete()
    boat = Boat.objects.select_related("fleet", "base__ground").get(pk=rows.boat.pk)
    assert "1 never seen good" in one_boat(boat)["answer"]
    assert work_order(boat)["looks"]["parts"] is not None

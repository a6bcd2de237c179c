"""The files of a plan, of a frozen budget and for the board: read back, they are the page."""

import csv
import io
import re
from decimal import Decimal

import pytest

from forecasting import season_charts, season_reads
from forecasting.accounts import versions
from forecasting.models import BudgetVersion, PartOutlook, ScenarioJob, SeasonScenario
from forecasting.papers.board_paper import board_paper, contents
from forecasting.papers.season_paper import MOST_BOATS, later, season_map, season_paper, why
from forecasting.papers.season_sheet import (
    COST,
    JOBS,
    LIMITS,
    SEASONS,
    plan_of,
    season_rows_csv,
    season_workbook,
)
from forecasting.papers.version_paper import version_paper
from tests import builders

from .conftest import CODE, figures
from .reading import Sheets, reader, text_of

TODAY = builders.TODAY


@pytest.fixture
def plan(fleet, rows):
    """The plan of that fleet with odd cents on three bases, a mast down, one part put off."""
    plan = rows.season_plan
    plan.name = "=less money"
    plan.found |= {
        "work": 80_000 + 61_233 + 20_001 + 47,
        "binding": [{"kind": "money", "base": None, "season": 0, "limit": 900_000, "worth": 0.42}],
    }
    plan.save()
    far = fleet.boats.get(name=CODE)
    part = far.stays.get().installations.get()
    facts = {"scenario": plan, "boat": far, "reason": "Due by the fleet's age rule."}
    ScenarioJob.objects.create(**facts, installation=part, season=0, code="condemned", hours=3.33,
                               cost_minor=61_233, put_off_minor=None, mast_down=True)  # fmt: skip
    ScenarioJob.objects.create(**facts, season=0, code="mast_down", hours=9, cost_minor=20_001,
                               mast_down=True)  # fmt: skip
    near = builders.wire(fleet.boats.get(name="Чайка"), "backstay", "")
    ScenarioJob.objects.create(**facts | {"boat": near.stay.boat}, installation=near, code="pays",
                               season=0, cost_minor=47, put_off_minor=9)  # fmt: skip
    later = builders.wire(fleet.boats.get(name="Ναυσικά"), "backstay", "")
    ScenarioJob.objects.create(scenario=plan, boat=later.stay.boat, installation=later,
                               code="later", reason="Put off for lack of money.", cost_minor=5_000,
                               put_off_minor=1_234, chance=0.25)  # fmt: skip
    return plan


def test_the_workbook_of_a_plan_is_its_page_to_the_cent_and_its_sums_are_formulas(plan, client):
    seasons = client.get(f"/harbour/refit/seasons/{plan.pk}/").context["seasons"]
    book = Sheets(season_workbook(plan))
    jobs = book.rows[JOBS][1:]
    by_season = {row[0]: 0 for row in jobs}
    for row in jobs:
        by_season[row[0]] += Decimal(str(row[COST] or 0))
    for season in seasons:
        assert by_season.get(season["label"], 0) == Decimal(season["cost"]) / 100
    assert book.frozen(JOBS)
    assert book.frozen(SEASONS)
    (total,) = [row for row in jobs if row[0] == "Together"]
    for (row, column), formula in book.formulas(JOBS).items():
        assert book.computed(JOBS, formula) == pytest.approx(book.rows[JOBS][row][column])
    assert total[COST] == float(Decimal(plan.found["work"]) / 100)
    told = {tuple(row[:2]): row[4] for row in book.rows[SEASONS][1:]}
    assert told["2026/27", "+2 Ness"] == 812.81  # 612.33 and 200.01 and .47
    assert told["2026/27", "all bases"] == 812.81
    assert told["2027/28", "Hollow Quay"] == 800.0


def test_the_sums_by_season_and_base_are_those_of_the_rows_they_name(plan):
    book = Sheets(season_workbook(plan))
    header, *jobs = book.rows[JOBS]
    for (row, column), formula in book.formulas(SEASONS).items():
        season, base = book.rows[SEASONS][row][:2]
        summed = "cost" if column == 4 else "hours"
        letter = re.search(r"\*'Jobs'!([A-Z])2", formula).group(1)
        assert header[ord(letter) - ord("A")] == summed
        asked = [job for job in jobs if job[0] == season and base in ("all bases", job[1])]
        found = sum(job[header.index(summed)] or 0 for job in asked)
        assert book.rows[SEASONS][row][column] == pytest.approx(found)
        assert ("EXACT('Jobs'!B2" in formula) == (base != "all bases")


def test_every_file_of_a_plan_says_what_it_rests_on_and_no_text_is_a_formula(plan):
    book = Sheets(season_workbook(plan))
    about = " ".join(str(cell) for row in book.rows["About"] for cell in row)
    for words in ("Plan =less money, worked out as of 14 Oct 2026", "EUR", "Harbour", "0% of that",
                  "Limits that bind: 2026/27, the whole fleet: 9,000 EUR"):  # fmt: skip
        assert words in about, words
    assert book.rows[LIMITS][1][-1] == 0.42
    text = season_rows_csv(plan).decode()
    lines = list(csv.DictReader(io.StringIO(text, newline="")))
    costs = [Decimal(row["cost"]) for row in lines if row.get("cost")]
    assert sum(costs) == Decimal(plan.found["work"]) / 100
    (put_off,) = [row for row in lines if row["off season"] == "put off"]
    assert (put_off["a season later costs"], put_off["cost"]) == ("12.34", "")
    assert put_off["chance condemned in that season"] == "0.25"
    assert {row["fleet"] for row in lines if row["boat"]} == {"Harbour"}
    assert not any(str(cell).startswith("=") for row in lines for cell in row.values())


def test_the_paper_of_a_plan_has_every_job_with_why_and_what_waiting_costs(plan):
    told = text_of(season_paper(plan))
    for words in ("Plan: =less money", "812.81", "may not wait", "12.34", "25%", "Put off beyond",
                  "mast down", "Going aloft and unstepping injure people"):  # fmt: skip
        assert words in told, words
    bases = season_map(plan_of(plan))
    (row,) = [row for base in bases for row in base["boats"] if row["name"] == CODE]
    assert row["cells"][0] == {"parts": "1", "down": True, "must": True}
    assert row["cells"][1]["parts"] == ""


@pytest.mark.parametrize(
    ("facts", "said", "reason"),
    [
        ({"season": 1, "put_off_minor": 1234}, "12.34", "Due."),
        ({"season": 1, "put_off_minor": 1234, "latest": 2}, "12.34", "Due."),
        ({"season": 1, "put_off_minor": 1234, "latest": 1}, "12.34", "Due. It may not wait."),
        ({"season": None, "put_off_minor": 1234}, "12.34", "Due."),
        ({"season": 0, "put_off_minor": None, "latest": 0}, "may not wait", "Due."),
    ],
)
def test_what_a_rule_lets_wait_no_longer_still_says_what_waiting_would_cost(facts, said, reason):
    job = ScenarioJob(installation_id=1, reason="Due.", **facts)
    assert (later(job, "EUR"), why(job)) == (said, reason)
    assert later(ScenarioJob(**facts), "EUR") == "", "the mast is no part"


def test_a_plan_of_more_boats_than_a_page_holds_is_mapped_by_base(plan, monkeypatch):
    assert MOST_BOATS > 50
    monkeypatch.setattr("forecasting.papers.season_paper.MOST_BOATS", 1)
    (bases,) = season_map(plan_of(plan))
    assert {row["name"] for row in bases["boats"]} == {"+2 Ness", "A*", "Hollow Quay"}


def test_a_plan_not_worked_out_says_so_in_each_file(plan):
    SeasonScenario.objects.update(planned_at=None, found={})
    ScenarioJob.objects.all().delete()
    plan.refresh_from_db()
    assert "not worked out yet" in text_of(season_paper(plan))
    assert "not worked out yet" in season_rows_csv(plan).decode()
    assert Sheets(season_workbook(plan)).rows[JOBS][1][0].startswith("Nothing is renewed")


# -- the report to the board


def test_the_report_to_the_board_tells_rigs_plan_money_and_what_waits_in_few_pages(plan, rows):
    other = SeasonScenario.objects.create(
        fleet=plan.fleet, name="A crane day more", planned_at=plan.planned_at, as_of=plan.as_of,
        asked="e" * 64, found=plan.found | {"work": 90_000, "put_off": 1},
    )  # fmt: skip
    content = board_paper(plan.fleet, [plan, other])
    assert 2 <= len(reader(content).pages) <= 4
    told = text_of(content)
    for words in ("report to the board", "boats in the fleet", "Held: these boats do not sail",
                  "split pin missing", "What is renewed when, by the plan", "P90", "P10",
                  "Percentiles do not add", "Put off beyond the five off seasons", "1 in 4",
                  "Plans side by side", "A crane day more", "No reserve is planned",
                  "Frozen budget version 1", "Rule of thumb", f"limits and moves {'e' * 12}",
                  "Nobody goes aloft on a condemned or shocked rig"):  # fmt: skip
        assert words in told, words


def test_without_a_plan_the_board_sees_the_refit_list_and_what_could_wait(fleet, rows):
    told = contents(fleet, [])
    assert (told["plan"], told["season_chart"]) == ("", "")
    assert [base[0] for base in told["by_base"]] == ["+2 Ness", "A*", "Hollow Quay"]
    assert told["put_off_title"].startswith("What could be put off a season")
    assert told["compared"] == []
    PartOutlook.objects.all().delete()
    assert "there is nothing to report" in text_of(board_paper(fleet, []))


def test_the_board_gets_the_plan_asked_for_else_the_first_made(plan, client):
    told = text_of(client.get(f"/harbour/board.pdf?plan={plan.pk}").content)
    assert "=less money" in told
    assert client.get("/harbour/board.pdf?plan=nonsense").status_code == 200


# -- a frozen budget


def test_a_frozen_budget_is_printed_as_it_was_frozen_with_its_marks(fleet, rows):
    version = versions.freeze(fleet, "board", None, "Joana")
    figures(fleet)  # the budget in place moves on
    told = text_of(version_paper(version, TODAY))
    first = versions.lines(version, "fleet")[0]
    for words in ("Frozen on 14 Oct 2026", "Joana", version.figures_mark[:24],
                  version.data_mark[:24], "P10, P50 and P90 do not add", "not a liability",
                  "A*", f"{first['mean'] / 100:,.2f}", f"{first['p90'] / 100:,.2f}"):  # fmt: skip
        assert words in told, words
    assert "NOT THOSE THAT WERE FROZEN" not in told
    version.figures[0]["mean"] += 1
    assert "NOT THOSE THAT WERE FROZEN" in text_of(version_paper(version, TODAY))
    assert BudgetVersion.objects.count() == 2


# -- its charts


def test_off_seasons_that_cost_about_as_much_are_not_told_apart(plan):
    def title(*costs):
        found = [{"label": f"20{n}", "cost": cost} for n, cost in enumerate(costs, 26)]
        return season_charts.seasons_title(found, plan.fleet)

    assert title(6_001_000, 5_999_000, 0) == (
        "2 of 3 off seasons take most, 60,000 EUR each; least in 2028, for nothing"
    )
    assert title(6_001_000, 5_999_000) == "Each off season takes about as much, 60,000 EUR"
    assert title(0, 0) == "No work is planned in these off seasons"


def test_the_bars_of_a_season_add_to_its_cost_and_each_base_is_named_where_there_is_room(plan):
    found = season_reads.by_season(plan)
    spec = season_charts.seasons(found, plan.fleet, "t")
    first = [row for row in spec["data"]["values"] if row["season"] == "2026/27"]
    assert max(row["to"] for row in first) == 812.81
    assert all(row["readable"] for row in first)
    assert season_charts.seasons_title(found, plan.fleet).startswith("Most is renewed in 2026/27")
    assert season_charts.seasons([], plan.fleet, "t") is None
    assert season_charts.ages([], "t") is None

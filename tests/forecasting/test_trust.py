"""The page on trust: in words what was expected and found, and what that is worth."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import WorkRow
from fleet.work import asking
from forecasting import trust_words
from forecasting.models import BackTest
from forecasting.trust_charts import beside, counts
from forecasting.views.trust import read_off, residuals
from tests import builders


def result(years: int = 6, rule: str = "no telling", **total: float) -> dict:
    usual = {"expected": 41.2, "observed": 38.0, "z": -0.4, "error": 7.5, "power": 0.2, "boats": 60}
    row = {
        "low": 3.0,
        "high": 11.0,
        "expected": 6.9,
        "observed": 6.0,
        "z": 0.0,
        "standing": "fitted",
    }
    return {
        "years": [{"year": 2021 + k, **row} for k in range(years)],
        "total": usual | total,
        "groups": {},
        "rivals": [{"name": "model"}, {"name": "age_rule", "verdict": rule}],
    }


# -- words


def test_it_says_in_one_sentence_what_was_expected_and_what_was_found():
    said = trust_words.summary(result())
    assert said == "Over the last six years it expected 41 condemned; 38 were"
    assert trust_words.summary(result(1, observed=1.0)).startswith("Over the last year it")
    assert trust_words.summary({}).startswith("nothing to test yet")


def test_a_small_fleet_is_told_that_it_is_too_few_to_tell():
    said = trust_words.judgement(result(power=0.29))
    assert "60 boats are too few to tell" in said
    assert "29 times in 100" in said


def test_a_large_fleet_is_told_that_an_error_would_have_shown_itself():
    said = trust_words.judgement(result(power=0.9))
    assert "too few" not in said
    assert "would have shown itself" in said


@pytest.mark.parametrize(
    ("observed", "z", "words"),
    [(62.0, 2.8, "Parts go sooner than it says"), (20.0, -2.8, "err on the early side")],
)
def test_a_forecast_that_is_wrong_says_so_and_which_way(observed, z, words):
    said = trust_words.judgement(result(observed=observed, z=z))
    assert words in said
    assert "within what chance" not in said


@pytest.mark.parametrize(
    ("verdict", "words"),
    [
        ("better", "better than the fleet's age rule of 12 years does"),
        ("worse", "go by the rule until it mends"),
        ("no telling", "It does not beat the fleet's age rule of 12 years"),
    ],
)
def test_a_forecast_that_does_not_beat_the_age_rule_says_so(verdict, words):
    assert words in trust_words.against_rule(result(rule=verdict), 12.0)


def test_without_an_age_rule_nothing_is_said_of_one():
    assert trust_words.against_rule({"rivals": [{"name": "model"}]}, None) == ""


def test_years_outside_their_bounds_are_named():
    years = result()["years"]
    assert trust_words.years_title(years).startswith("In each of six years")
    years[2]["observed"] = 15.0
    assert trust_words.years_title(years).endswith("not in 2023")
    assert trust_words.year_words(years[2]) == "more than expected"


def test_a_curve_that_follows_says_by_how_much_and_one_that_does_not_says_where():
    group = {"name": "lower end", "gap": 0.037, "error": 0.02, "at": 9.0, "above": True}
    assert trust_words.curve_title(group).endswith("nowhere more than 4 points apart")
    said = trust_words.curve_title(group | {"gap": 0.12, "error": 0.02})
    assert said == "Lower end: at 9 years the curve stands 12 points above what was seen"


def test_few_lives_may_stray_further_before_the_curve_is_blamed():
    group = {"name": "rod", "gap": 0.12, "error": 0.07, "at": 9.0, "above": True}
    assert "nowhere more than 12" in trust_words.curve_title(group)


def test_the_table_under_a_curve_reads_it_off_at_whole_ages():
    group = {"steps": [[0, 100.0], [5.5, 96.0], [12, 80.0]], "curve": [[0, 100.0], [12, 76.0]]}
    assert read_off(group)[:3] == [(2, 100.0, 96.0), (4, 100.0, 92.0), (6, 96.0, 88.0)]
    assert read_off(group)[-1] == (12, 80.0, 76.0)


def test_the_table_under_the_residuals_reads_them_off_at_hazards():
    found = {"steps": [[0, 100.0], [0.11, 92.0], [0.3, 70.0]], "curve": [[0, 100.0], [0.3, 74.0]]}
    rows = residuals({"residuals": found | {"gap": 0.0, "error": 0.05, "at": 0.1}})["rows"]
    assert [place for place, _, _ in rows] == pytest.approx([0.05, 0.1, 0.15, 0.2, 0.25, 0.3])
    assert rows[0][1:] == pytest.approx((100.0, 100 - 26 / 6))
    assert rows[-1][1:] == pytest.approx((70.0, 74.0))


def test_charts_carry_their_sentence_and_every_point():
    years = [{**year, "year": str(year["year"])} for year in result()["years"]]
    chart = counts(years, "year", "As expected")
    assert chart["description"] == "As expected"
    assert len(chart["data"]["values"]) == 6
    curve = beside(builders.seen_curves()["groups"]["spot"][0], "Follows")
    assert {row["of"] for row in curve["data"]["values"]} == {"steps", "curve"}


# -- the page


@pytest.fixture
def rows(db):
    return builders.one_of_each("harbour")


def page(rows, query: str = "", role: str = "manager") -> str:
    client = Client()
    user = builders.person(role, rows.fleet, role)
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("trust", args=[rows.fleet.slug]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_page_answers_first_and_shows_years_ages_rivals_and_curves(rows):
    text = page(rows)
    assert "Over the last year it expected 4 condemned; 5 were" in text
    assert "12 boats are too few to tell" in text
    assert "nowhere more than 3 points apart" in text
    assert "Hazard laid up" in text
    for chart in ("years-spec", "ages-spec", "curve-0", "curve-1", "residual-spec"):
        assert f'id="{chart}"' in text


def test_a_grouping_can_be_chosen_and_an_unknown_one_is_not_echoed(rows):
    assert "<strong>mast in the off season</strong>" in page(rows, "?by=mast")
    assert "wicked" not in page(rows, "?by=wicked&kind=wicked", "bosun")


def test_a_test_without_any_year_to_test_says_what_is_missing(rows):
    BackTest.objects.update(result={}, seen={})
    assert "nothing to test the forecast on yet" in page(rows)


@pytest.mark.parametrize("tested", [True, False])
def test_while_it_is_worked_out_the_page_says_so_and_how_far_it_is(rows, tested):
    if not tested:
        BackTest.objects.all().delete()
    work = asking.ask(rows.fleet, WorkRow.Kind.BACK_TEST)
    WorkRow.objects.filter(pk=work.pk).update(steps=7, steps_done=2, step="2022: 9 looks forecast")
    text = page(rows, role="accountant")
    assert ("<h1>Past forecasts are being tested</h1>" in text) is not tested
    assert ("What is shown is the last test" in text) is tested
    assert "2022: 9 looks forecast" in text
    assert f'data-work="{reverse("work", args=[rows.fleet.slug, work.pk])}"' in text
    assert "Test past forecasts" not in text
    WorkRow.objects.filter(pk=work.pk).update(state="done")
    assert "data-work" not in page(rows)


def test_an_accountant_reads_it_and_may_not_ask_for_it(rows):
    assert "Test it again" not in page(rows, role="accountant")


def test_asked_for_it_becomes_work(rows):
    client = Client()
    user = builders.person("mara", rows.fleet)
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    answer = client.post(reverse("test_again", args=[rows.fleet.slug]))
    row = WorkRow.objects.get(kind="back_test")
    assert answer.url == reverse("work", args=[rows.fleet.slug, row.pk])


@pytest.mark.parametrize("width", [390, 1280])
def test_it_is_drawn_and_shuts_nobody_out(
    rows, width, live_server, page_at, accessibility_faults, transactional_db
):
    page = page_at(width, user=builders.person("mara", rows.fleet))
    page.goto(reverse("trust", args=[rows.fleet.slug]))
    page.locator(".chart svg").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert accessibility_faults(page) == []

"""Common practice as a fleet holds it: who may change it, what is kept, what the pages say."""

import datetime as dt
import math

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse

from forecasting import charts, life_data, rests_on
from forecasting.models import ForecastPractice
from forecasting.practice import common_practice, prior_in_force
from forecasting.practice_form import PracticeForm
from forecasting.survival import COMMON_PRACTICE, Lives, model_by_deaths, rule_of_thumb
from tests import builders
from tests.forecasting.history import ALL_GOOD, AS_OF, History

pytestmark = pytest.mark.django_db
ANSWER = {
    "kind": "wire", "b10": "12", "doubt": "2.0", "shape": "3.5",
    "reason": "Riggers' own books of 30 years", "factor_severity": "0.8",
    "factor_log2_miles": "0.9",
    "factor_rod": "1.2", "factor_mechanical": "1", "factor_unstepped": "1.1",
    "factor_charter": "0.9", "spread": "1.4",
    "share_lower": "0.5", "share_run": "0.3", "share_upper": "0.2",
}  # fmt: skip


def signed_in(fleet, role: str = "manager") -> Client:
    client = Client()
    client.force_login(
        builders.person(f"{role}-{fleet.slug}", fleet, role),
        "django.contrib.auth.backends.ModelBackend",
    )
    return client


def page(fleet) -> str:
    return reverse("practice", kwargs={"fleet": fleet.slug})


@pytest.fixture
def fleet():
    return builders.empty_fleet("haven")


def test_a_manager_puts_its_own_in_the_place_of_common_practice_with_reason_and_day(fleet):
    answer = signed_in(fleet).post(page(fleet), ANSWER, follow=True)
    assert answer.status_code == 200
    decision = ForecastPractice.objects.get()
    assert decision.since == fleet.today()
    assert decision.reason == ANSWER["reason"]
    assert decision.decided_by
    prior = prior_in_force(fleet, "wire", fleet.today())
    assert (prior.b10, prior.shape) == (12.0, 3.5)
    assert prior.b10_log_sd == pytest.approx(math.log(2) / 1.644854)
    assert prior.slopes["severity"] == pytest.approx(math.log(0.8))
    assert prior.shares == pytest.approx((0.5, 0.3, 0.2))
    assert prior.spread_sd == pytest.approx(math.log(1.4))
    text = answer.content.decode()
    assert "12 years" in text
    assert "Riggers&#x27; own books" in text


def test_a_decision_holds_from_its_day_and_earlier_ones_are_kept(fleet):
    client = signed_in(fleet)
    client.post(page(fleet), ANSWER)
    ForecastPractice.objects.update(since=fleet.today() - dt.timedelta(days=400))
    client.post(page(fleet), ANSWER | {"b10": "14", "reason": "A second look"})
    assert ForecastPractice.objects.count() == 2
    year_ago = fleet.today() - dt.timedelta(days=365)
    found = [prior_in_force(fleet, "wire", day).b10 for day in (fleet.today(), year_ago)]
    assert found == [14, 12]
    assert prior_in_force(fleet, "wire", year_ago - dt.timedelta(days=90)).b10 == 9
    assert prior_in_force(fleet, "chainplate", fleet.today()) == COMMON_PRACTICE["chainplate"]
    text = client.get(page(fleet)).content.decode()
    assert "A second look" in text
    assert "30 years" in text


@pytest.mark.parametrize("role", ["bosun", "accountant"])
def test_others_read_it_and_change_nothing(fleet, role):
    client = signed_in(fleet, role)
    assert "Only a manager changes it" in client.get(page(fleet)).content.decode()
    assert client.post(page(fleet), ANSWER).status_code == 403
    assert not ForecastPractice.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"reason": ""}, "Reason"),
        ({"doubt": "1.5"}, "Nine times in ten"),
        ({"doubt": "1.92"}, "Not below 1.93"),
        ({"b10": "0"}, "One in ten condemned by"),
        ({"shape": "much"}, "Weibull shape"),
        ({"factor_rod": "0"}, "Rod instead of 1x19"),
        ({"share_run": "0.4"}, "must sum to 1: 0.5 + 0.4 + 0.2 is 1.1"),
        ({"share_run": "0"}, "Share that goes at the run"),
        ({"spread": "0.9"}, "Boats differ by a factor of up to about"),
    ],
)
def test_what_makes_no_sense_is_said_and_not_kept(fleet, wrong, says):
    text = signed_in(fleet).post(page(fleet), ANSWER | wrong).content.decode()
    assert "Not saved yet." in text
    assert says in text
    assert not ForecastPractice.objects.exists()


def test_an_unknown_kind_of_part_is_no_page(fleet):
    assert signed_in(fleet).get(page(fleet) + "?kind=halyard").status_code == 404


@pytest.mark.parametrize("kind", COMMON_PRACTICE)
def test_saving_what_is_shown_changes_nothing_worth_a_word(kind):
    prior = COMMON_PRACTICE[kind]
    shown = PracticeForm(None, prior=prior, usual=prior, kind=kind).initial
    form = PracticeForm(shown | {"reason": "as it was"}, prior=prior, usual=prior, kind=kind)
    assert form.is_valid(), form.errors
    again = form.data_of_prior()
    assert again["b10"] == prior.b10
    assert again["b10_log_sd"] == pytest.approx(prior.b10_log_sd, abs=0.005)
    assert again["slopes"] == pytest.approx(dict(prior.slopes), abs=0.001)
    assert again["spread_sd"] == pytest.approx(prior.spread_sd, abs=0.005)
    assert again.get("shares") == (pytest.approx(prior.shares) if kind == "wire" else None)


def test_shares_given_to_two_decimals_are_made_a_whole():
    prior = COMMON_PRACTICE["wire"]
    thirds = {"share_lower": 0.33, "share_run": 0.33, "share_upper": 0.33}
    form = PracticeForm(ANSWER | thirds, prior=prior, usual=prior, kind="wire")
    assert form.is_valid(), form.errors
    assert form.data_of_prior()["shares"] == pytest.approx([1 / 3] * 3)


def test_the_page_says_common_practice_beside_the_fleets_own(fleet):
    client = signed_in(fleet)
    client.post(page(fleet), ANSWER)
    text = client.get(page(fleet)).content.decode()
    for said in ("Common practice: 0.6.", "Common practice: 1.28.", "Common practice: 9."):
        assert said in text
    assert "0.50, 0.30, 0.20" in text
    other = signed_in(fleet, "bosun").get(page(fleet) + "?kind=chainplate").content.decode()
    assert "Common practice: 25." in other
    assert "Share that goes" not in other


def test_a_decision_from_before_shares_could_be_said_keeps_common_practices(fleet):
    data = {"b10": 12.0, "b10_log_sd": 0.5, "shape": 3.0, "slopes": {}}
    ForecastPractice.objects.create(
        fleet=fleet, kind="wire", since=fleet.today(), reason="Old", decided_by="Mara", data=data
    )
    prior = prior_in_force(fleet, "wire", fleet.today())
    assert prior.shares == common_practice(fleet, "wire").shares
    assert prior.b10 == 12.0
    assert "0.60, 0.15, 0.25" in signed_in(fleet).get(page(fleet)).content.decode()


def test_the_how_page_leads_to_it_and_draws_what_is_believed():
    rows = builders.one_of_each("harbour")
    client = signed_in(rows.fleet)
    text = client.get(reverse("how", kwargs={"fleet": rows.fleet.slug})).content.decode()
    assert page(rows.fleet) in text
    assert 'id="evidence-wire-spec"' in text
    assert "Nothing of your own is in this yet" in text


def test_a_death_nobody_placed_is_shared_as_the_fleet_believed_that_day():
    history = History()
    boat = history.boat(complete_since="2010-01-01")
    wire = history.part(boat, "2010-01-01", "2019-07-10", "looked_poor")
    history.look("2018-05-01", (wire, ALL_GOOD))
    ForecastPractice.objects.create(
        fleet=history.fleet, kind="wire", since=AS_OF, reason="Tops go here", decided_by="Mara",
        data={"shares": [0.2, 0.1, 0.7]},
    )  # fmt: skip
    shares = {}
    for day in (AS_OF, AS_OF - dt.timedelta(days=1)):
        table = life_data.lives(history.fleet, "wire", day).rows
        dead = table[np.isfinite(table["condemned"])].set_index("spot")["weight"]
        shares[day == AS_OF] = dead.to_dict()
    assert shares[True] == pytest.approx({"lower": 0.2, "run": 0.1, "upper": 0.7})
    assert shares[False] == pytest.approx({"lower": 0.6, "run": 0.15, "upper": 0.25})


# -- words and picture


def test_a_rule_of_thumb_draws_one_hatched_hill_over_its_age():
    spec = rests_on.picture(rule_of_thumb(), "wire")
    assert spec["description"] == (
        "Common practice: one wire in ten condemned by 9.0 years (4.0 to 20.5)"
    )
    areas = [layer["mark"] for layer in spec["layer"] if layer["mark"]["type"] == "area"]
    assert [area["color"] for area in areas] == ["hatch"]
    rows = spec["data"]["values"]
    top = max(rows, key=lambda row: row["practice"])
    # The highest point of a log-normal density lies at median * exp(-sd^2).
    assert top["age"] == pytest.approx(9 * math.exp(-0.25), rel=0.05)


@pytest.mark.parametrize(("deaths", "filled"), [(4, "hatch"), (5, "deep")])
def test_your_boats_so_far_are_hatched_until_five_are_condemned(deaths, filled):
    n = 40
    condemned = np.where(np.arange(n) < deaths, 8.0, np.inf)
    columns = {"entry": np.zeros(n), "good": np.full(n, 7.0), "condemned": condemned}
    lives = Lives(**columns, cluster=np.arange(n) // 4)
    model = model_by_deaths(lives, COMMON_PRACTICE["wire"]).outcome
    spec = rests_on.picture(model, "wire")
    areas = [layer["mark"] for layer in spec["layer"] if layer["mark"]["type"] == "area"]
    assert [area["color"] for area in areas] == ["hatch", filled]
    labels = [layer["mark"]["text"] for layer in spec["layer"] if layer["mark"]["type"] == "text"]
    assert labels[1] == ("with your boats so far" if deaths < 5 else "with your own record")


def test_practice_is_hatched_and_the_own_record_solid_beside_it():
    rows = [{"age": a, "practice": p, "own": o} for a, p, o in ((5, 0.3, 0), (9, 0.2, 1))]
    spec = charts.evidence(rows, ("practice", "own"), "What is believed")
    areas = [layer["mark"] for layer in spec["layer"] if layer["mark"]["type"] == "area"]
    assert [area["color"] for area in areas] == ["hatch", "deep"]
    labels = [layer["mark"]["text"] for layer in spec["layer"] if layer["mark"]["type"] == "text"]
    assert labels == ["common practice", "with your own record"]

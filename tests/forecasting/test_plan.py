"""Planning anew after a change of rules or prices: by the models in force, fitting nothing."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from fleet.models import Price, WorkRow
from fleet.work import asking, rounds
from fleet.work.doing import Running
from forecasting import refresh
from forecasting.models import BudgetFigure, ModelRun, PartOutlook, RefitJob
from forecasting.steps import basis, runs
from tests import builders

from .history import ALL_GOOD, AS_OF, History

pytestmark = pytest.mark.django_db
HOUR = {"item": "rigger_hour"}


@pytest.fixture
def history() -> History:
    """Two old wires of one boat, past the fleet's age rule: both on the refit list."""
    history = History(as_of=AS_OF, age_rule_years=12)
    boat = history.boat(complete_since="2005-01-01")
    wires = [history.part(boat, "2010-01-01", stay="cap_shroud", side=side)
             for side in ("port", "starboard")]  # fmt: skip
    history.look("2026-05-01", *((wire, ALL_GOOD) for wire in wires))
    Price.objects.create(fleet=history.fleet, item="rigger_hour", price_minor=5000)
    return history


@pytest.fixture
def refreshed(history: History) -> History:
    refresh.run(history.fleet, AS_OF)
    return history


def planned(history: History) -> WorkRow:
    row = asking.ask(history.fleet, "plan")
    rounds.work_through()
    row.refresh_from_db()
    return row


def rows_of(*models) -> list:
    """Return what the tables hold, whatever numbers the rows have."""
    return [sorted(repr({**row, "id": 0}) for row in model.objects.values()) for model in models]


def test_dearer_hours_make_the_list_and_the_budget_dearer_and_leave_the_models(refreshed):
    models, outlooks = rows_of(ModelRun), rows_of(PartOutlook)
    cost, money = (
        [job.cost_minor for job in RefitJob.objects.order_by("pk")],
        BudgetFigure.objects.filter(base=None, boat=None).first().mean_minor,
    )
    assert not basis.is_behind(refreshed.fleet)
    Price.objects.filter(**HOUR).update(price_minor=9000)
    assert basis.is_behind(refreshed.fleet)
    row = planned(refreshed)
    assert (row.state, row.steps_done) == ("done", row.steps), row.outcome
    assert row.outcome.startswith("Planned as of 1 Nov 2026: 2 parts on 1 boat, ")
    dearer = [job.cost_minor for job in RefitJob.objects.order_by("pk")]
    assert sum(dearer) > sum(cost) > 0
    assert BudgetFigure.objects.filter(base=None, boat=None).first().mean_minor > money
    assert not basis.is_behind(refreshed.fleet)
    assert rows_of(ModelRun) == models
    assert rows_of(PartOutlook) == outlooks, "chances do not follow from prices"


def test_planned_anew_it_is_what_a_refresh_makes_of_the_same_rules(refreshed):
    tables = (RefitJob, BudgetFigure, PartOutlook)
    refreshed.fleet.age_rule_years, refreshed.fleet.price_growth = 20, 0.1
    refreshed.fleet.save()
    refresh.plan(refreshed.fleet, AS_OF)
    by_plan = rows_of(*tables)
    RefitJob.objects.all().delete()
    BudgetFigure.objects.all().delete()
    refresh.run(refreshed.fleet, AS_OF)
    assert rows_of(*tables) == by_plan


def test_planned_twice_the_second_time_nothing_changes(refreshed):
    result = refresh.plan(refreshed.fleet, AS_OF)
    assert result.rewritten == 0
    assert "2 parts on the refit list. Nothing had changed." in planned(refreshed).outcome


@pytest.mark.parametrize(
    ("rule", "value"),
    [("age_rule_years", 9.0), ("risk_limit", 0.3), ("aloft_months", 6), ("price_growth", 0.2),
     ("fiscal_year_start", 7), ("budget_years", 15), ("off_season_start", 10)],
)  # fmt: skip
def test_a_changed_rule_is_noticed(refreshed, rule, value):
    setattr(refreshed.fleet, rule, value)
    assert basis.is_behind(refreshed.fleet)


@pytest.mark.parametrize(("rule", "value"), [("reminders_from", 9), ("rule_of_thumb_years", 12.0)])
def test_a_rule_that_no_plan_follows_from_asks_for_none(refreshed, rule, value):
    setattr(refreshed.fleet, rule, value)
    assert not basis.is_behind(refreshed.fleet)


def test_before_the_first_forecast_it_says_to_refresh(history):
    assert not basis.is_behind(history.fleet)
    row = planned(history)
    assert row.state == "failed"
    assert row.outcome == "No forecast has been made yet: refresh the forecast first."
    with pytest.raises(CommandError, match="refresh the forecast first"):
        call_command("plan", stdout=StringIO())


def test_the_command_plans_every_fleet(refreshed):
    Price.objects.filter(**HOUR).update(price_minor=9000)
    out = StringIO()
    call_command("plan", stdout=out)
    assert not basis.is_behind(refreshed.fleet)
    assert "Refit list: 2 parts on 1 boat" in out.getvalue()
    assert "Life of" not in out.getvalue(), "nothing was fitted"


def test_a_plan_overtaken_by_a_refresh_writes_nothing_over_it(refreshed, monkeypatch):
    """A refresh put another model in force between the plan's first step and its last."""
    say = Running.say

    def overtaken(running: Running, step: str) -> None:
        if step.startswith("Budget"):
            ModelRun.objects.in_force().filter(kind="wire").update(in_force=False)
        say(running, step)

    monkeypatch.setattr(Running, "say", overtaken)
    Price.objects.filter(**HOUR).update(price_minor=9000)
    before = rows_of(RefitJob, BudgetFigure)
    row = planned(refreshed)
    assert row.state == "failed"
    assert row.outcome == str(runs.Superseded())
    assert rows_of(RefitJob, BudgetFigure) == before


def test_cancelled_on_the_way_the_old_list_stays(refreshed, monkeypatch):
    say = Running.say

    def cancelled_at_the_list(running: Running, step: str) -> None:
        if step.startswith("Refit list"):
            WorkRow.objects.filter(pk=running.row.pk).update(cancel_asked=True)
        say(running, step)

    monkeypatch.setattr(Running, "say", cancelled_at_the_list)
    Price.objects.filter(**HOUR).update(price_minor=9000)
    before = rows_of(RefitJob, BudgetFigure)
    assert planned(refreshed).state == "cancelled"
    assert rows_of(RefitJob, BudgetFigure) == before
    assert basis.is_behind(refreshed.fleet)


# -- the pages


def signed_in(history: History, role: str) -> Client:
    client = Client()
    person = builders.person(role, history.fleet, role)
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.parametrize("page", ["refit", "budget"])
def test_a_manager_sees_that_prices_changed_and_plans_anew_with_one_press(refreshed, page):
    client, at = signed_in(refreshed, "manager"), reverse(page, args=["north"])
    changed = "Rules or prices of the fleet changed since these figures were made."
    assert changed not in client.get(at).content.decode()
    Price.objects.filter(**HOUR).update(price_minor=9000)
    shown = client.get(at).content.decode()
    assert changed in shown
    assert "Plan anew" in shown
    to = client.post(reverse("plan", args=["north"]))["Location"]
    rounds.work_through()
    assert "Planned as of 1 Nov 2026" in client.get(to).content.decode()
    assert changed not in client.get(at).content.decode()


def test_an_accountant_is_told_who_plans_anew(refreshed):
    client = signed_in(refreshed, "accountant")
    Price.objects.filter(**HOUR).update(price_minor=9000)
    shown = client.get(reverse("budget", args=["north"])).content.decode()
    assert "A manager or bosun makes them anew." in shown
    assert "Plan anew" not in shown
    assert client.post(reverse("plan", args=["north"])).status_code == 403

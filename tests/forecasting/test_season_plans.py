"""Plans of the coming off seasons, from a form to rows and pages: real work, a real small fleet."""

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from fleet.models import Fleet, Price, WorkRow
from fleet.work import asking, rounds
from forecasting import season_planning, season_reads
from forecasting.models import ModelRun, ScenarioJob, SeasonScenario
from forecasting.season_forms import SeasonNumbers
from forecasting.survival import rule_of_thumb
from tests import builders

from .history import ALL_GOOD, AS_OF, History

pytestmark = pytest.mark.django_db


@pytest.fixture
def history() -> History:
    """Two boats, a pair of cap shrouds and a backstay each, one past the age rule of twelve years,
    one soon; forecast by rule of thumb."""
    history = History(as_of=AS_OF, age_rule_years=12)
    for name, fitted in (("Alder", "2010-01-01"), ("Birch", "2017-05-01")):
        boat = history.boat(name, complete_since="2005-01-01")
        wires = [history.part(boat, fitted, stay="cap_shroud", side=side)
                 for side in ("port", "starboard")]  # fmt: skip
        wires.append(history.part(boat, fitted))
        look = history.look("2026-05-01", *((wire, ALL_GOOD) for wire in wires))
    Price.objects.create(fleet=history.fleet, item="rigger_hour", price_minor=5000)
    builders.outlooks(history.fleet, boat, wires[-1], look)
    for kind in ("turnbuckle", "chainplate"):
        ModelRun.objects.create(
            fleet=history.fleet, kind=kind, as_of=AS_OF, state="rule_of_thumb", in_force=True,
            model=rule_of_thumb(kind=kind).to_dict(), fingerprint="f" * 64, code_version="v",
        )  # fmt: skip
    return history


@pytest.fixture
def manager(history) -> Client:
    client = Client()
    client.force_login(builders.person("north-manager", history.fleet, "manager"))
    return client


def given(history: History, **limits) -> dict:
    base = history.base.pk
    said = {"name": "As budgeted", "money": "", "idle": "10000", "boats_a_crane_day": "2",
            "interest": "3", f"hours_{base}": "400", f"crane_days_{base}": "3 3 2 2 2"}  # fmt: skip
    return said | limits


def made(client: Client, history: History, **limits) -> SeasonScenario:
    """Give the form in, let the work be done, and return the scenario."""
    answer = client.post(address("season_plan_new"), given(history, **limits))
    assert answer.status_code == 302, answer.context["form"].errors
    rounds.work_through()
    scenario = SeasonScenario.objects.get(name=limits.get("name", "As budgeted"))
    assert scenario.planned_at, WorkRow.objects.first().outcome
    return scenario


def address(name: str, *pk: int) -> str:
    return reverse(name, args=["north", *pk])


def seasons_of(scenario: SeasonScenario) -> dict[int, int | None]:
    rows = ScenarioJob.objects.filter(scenario=scenario, installation__isnull=False)
    return dict(rows.values_list("installation_id", "season"))


def test_from_the_form_to_a_plan_that_keeps_the_age_rule_and_is_shown_with_its_reasons(
    history, manager
):
    empty = manager.get(address("season_plans")).content.decode()
    assert "Make a plan" in empty
    scenario = made(manager, history)
    alder = scenario.jobs.filter(boat__name="Alder", installation__isnull=False)
    assert {(job.season, job.code) for job in alder} == {(0, "due")}
    birch = scenario.jobs.filter(boat__name="Birch", installation__isnull=False)
    assert {job.latest for job in birch} == {2}, "twelve years old in the third season"
    assert all(job.season <= 2 for job in birch)
    page = manager.get(address("season_plan", scenario.pk)).content.decode()
    assert "Due by the fleet&#x27;s age rule." in page
    assert "of 400" in page
    assert "of 6" in page, "three crane days, two boats a day"
    assert scenario.found["labels"][:2] == ["2026/27", "2027/28"]
    assert scenario.found["gap"] <= 0.001
    again = season_planning.run(scenario, AS_OF, lambda text: None, lambda: None)
    assert again.cost == scenario.found["cost"], "worked out twice it is the same"


def test_too_little_money_says_what_is_lacking_and_a_copy_with_more_does_not(history, manager):
    scenario = made(manager, history, money="500")
    assert [(each["kind"], each["season"]) for each in scenario.found["excess"]]
    page = manager.get(address("season_plan", scenario.pk)).content.decode()
    assert "No plan keeps all limits" in page
    more = {"name": "More money", "money": "1000", "hours": "10", "base": history.base.pk}
    assert manager.post(address("season_plan_copy", scenario.pk), more).status_code == 302
    rounds.work_through()
    other = SeasonScenario.objects.get(name="More money")
    assert other.money == [5500_00] * 5
    assert other.found["excess"] == []
    assert other.bases.get().hours == [410.0] * 5
    beside = manager.get(
        address("season_plans_compare") + f"?plan={scenario.pk}&plan={other.pk}"
    ).content.decode()
    assert "As budgeted" in beside
    assert "All told, worth today" in beside


def test_a_part_moved_by_hand_takes_its_pair_along_and_the_plan_is_priced_anew(history, manager):
    scenario = made(manager, history)
    before = seasons_of(scenario)
    pair = scenario.jobs.filter(boat__name="Birch", installation__stay__name="cap_shroud")
    part = pair.first().installation_id
    to = (before[part] + 1) % 3
    where = address("season_plan_move", scenario.pk)
    assert manager.post(where, {"part": part, "to": to}).status_code == 302
    assert season_planning.is_behind(scenario)
    rounds.work_through()
    scenario.refresh_from_db()
    after = seasons_of(scenario)
    assert {after[job.installation_id] for job in pair.all()} == {to}
    assert scenario.found["before"] is not None
    assert scenario.found["cost"] >= scenario.found["before"] - 1, "no move is cheaper than best"
    assert not season_planning.is_behind(scenario)
    refused = manager.post(where, {"part": part, "to": "none"}, follow=True).content.decode()
    assert "does not leave it that long" in refused
    assert manager.post(where, {"part": part, "to": "free"}).status_code == 302
    rounds.work_through()
    assert seasons_of(scenario) == before


def test_work_that_is_cancelled_leaves_the_plan_as_it_was(history, manager):
    scenario = made(manager, history)
    before = seasons_of(scenario)
    row = asking.ask(history.fleet, "seasons", key=f"{scenario.pk}", scenario=scenario.pk)
    WorkRow.objects.filter(pk=row.pk).update(cancel_asked=True)
    rounds.work_through()
    row.refresh_from_db()
    assert row.state == "cancelled", row.outcome
    assert seasons_of(scenario) == before


def test_it_is_for_managers_and_bosuns_and_before_a_forecast_it_says_what_to_do(history):
    reader = Client()
    reader.force_login(builders.person("north-reader", history.fleet, "accountant"))
    assert reader.get(address("season_plan_new")).status_code == 403
    assert reader.get(address("season_plans")).status_code == 200
    other = History("south")
    client = Client()
    client.force_login(builders.person("south-manager", other.fleet, "manager"))
    page = client.get(reverse("season_plans", args=["south"])).content.decode()
    assert "No plan yet" in page
    scenario = SeasonScenario.objects.create(fleet=other.fleet, name="Early")
    row = asking.ask(other.fleet, "seasons", key=f"{scenario.pk}", scenario=scenario.pk)
    rounds.work_through()
    row.refresh_from_db()
    assert row.state == "failed"
    assert "refresh the forecast first" in row.outcome
    SeasonScenario.objects.create(fleet=history.fleet, name="By command")
    call_command("plan_seasons", fleet="north")
    assert SeasonScenario.objects.get(name="By command").found["gap"] <= 0.001


@pytest.mark.parametrize(
    ("typed", "said"),
    [("a lot", "is no number"), ("-5", "is no number"), ("1 2 3", "3 numbers: give one"),
     ("nan", "is no number")],
)  # fmt: skip
def test_what_is_no_number_a_season_is_said(typed, said):
    with pytest.raises(Exception, match=said):
        SeasonNumbers().clean(typed)


def test_one_number_holds_for_every_season_and_a_blank_is_no_limit():
    field = SeasonNumbers()
    assert field.clean("40,000") == [40_000.0] * 5
    assert field.clean("5 4 3; 2 1") == [5.0, 4.0, 3.0, 2.0, 1.0]
    assert field.clean("") == []


def worked_out(name: str, cost: int, **found) -> SeasonScenario:
    fleet = Fleet(currency="EUR")
    return SeasonScenario(
        fleet=fleet, name=name, planned_at=AS_OF, found={"cost": cost, "excess": []} | found
    )


def test_plans_side_by_side_say_what_each_costs_beside_the_first():
    board, less = worked_out("Board", 90_000_00), worked_out("Less", 94_500_00)
    more = worked_out("More", 88_000_00)
    assert season_reads.difference([board, less, more]) == (
        "“Less” costs 4,500 EUR more and “More” costs 2,000 EUR less than “Board”, all told"
    )
    assert season_reads.cheapest([board, less, more]) is more


def test_a_plan_that_breaks_limits_or_stands_alone_is_not_called_the_cheapest():
    board = worked_out("Board", 90_000_00)
    broken = worked_out("Broken", 10_000_00, excess=[{"kind": "money"}])
    assert season_reads.cheapest([board, broken]) is None
    assert season_reads.cheapest([board, SeasonScenario(name="Not yet")]) is None

"""The board on its page: made, read, moved by hand, put back, deleted; by keyboard in Chromium."""

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import WorkRow
from fleet.templatetags.wording import about
from forecasting import yard_told
from forecasting.models import RefitJob, SeasonScenario, YardPlan, YardVisit
from forecasting.papers.yard_paper import contents
from forecasting.views import yard_boards
from forecasting.yard_problem import prices_of
from tests import builders
from tests.yard_plans import alongside, open_base, shut

pytestmark = pytest.mark.django_db
SCRIPT = {"HTTP_ACCEPT": "application/json"}


@pytest.fixture(scope="module")
def made(django_db_setup, django_db_blocker):
    """A fleet with a board, made once; what a test does to it is taken back with the test."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield builders.one_of_each("harbour")
        transaction.set_rollback(True)


@pytest.fixture
def rows(made, db):
    return made


def signed_in(rows, role: str = "manager") -> Client:
    client = Client()
    user = builders.person(f"mona-{role}", rows.fleet, role)
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    return client


def address(name: str, rows) -> str:
    return reverse(name, args=["harbour", rows.yard_plan.pk])


def week_of(rows) -> int | None:
    return YardVisit.objects.get(plan=rows.yard_plan, boat=rows.boat).first_week


def test_the_board_says_week_by_week_who_is_there_what_is_used_and_what_is_shut(rows):
    shut(rows.yard_plan, rows.boat.base, 3, note="painting")
    alongside(rows.yard_plan, builders.boat(rows.fleet, "Skua"), first_week=None, why="No berth.")
    page = signed_in(rows).get(address("yard_board", rows))
    text = page.content.decode()
    assert "1 of 2 boats has its week" in text
    assert "3 of 20 h" in text
    assert "The yard is shut, 23 Nov to 27 Nov: painting" in text
    assert "Skua: No berth." in text
    assert "as of 14 Oct 2026" in text
    [board] = page.context["boards"]
    assert [len(week.boats) for week in board.weeks] == [0, 1, 0, 0, 0, 0]
    assert board.weeks[3].at.has_hours == 0


def test_a_limit_is_named_as_short_only_where_one_more_of_it_costs_less_than_its_lack(rows):
    plan, hour = rows.yard_plan, prices_of(rows.fleet).hours
    assert hour > 100
    full = {"kind": "hours", "base": rows.boat.base_id, "week": 1, "limit": 20.0, "boats": 2}
    told, manager = [], signed_in(rows)
    for cost, held in ((hour - 1, 0), (hour, 0), (0, 2)):
        plan.found = plan.found | {"binding": [full | {"cost": cost, "held": held}]}
        plan.save()
        page = manager.get(address("yard_board", rows)).content.decode()
        paper = contents(plan)
        assert all(line in page for line in [*paper["short"], paper["not_short"]])
        told.append((paper["short"], paper["not_short"]))
    assert told[0] == ([], told[0][1])
    assert "No limit is worth opening" in told[0][1]
    [line], none = told[1]
    assert none == ""
    assert "2 boats come later, 2 of them condemned or held, because" in told[2][0][0]
    assert line.startswith(f"{rows.boat.base}, week of 9 Nov 2026: 2 boats come later because its")
    assert line.endswith(f"one more hour costs {about(hour, 'EUR')}")


def test_a_board_that_is_not_proven_the_best_says_so_on_page_and_paper_with_its_gap(rows):
    plan = rows.yard_plan
    manager, where = signed_in(rows), address("yard_board", rows)
    page = manager.get(where).content.decode()
    assert "could cost; proven." in page
    assert yard_told.NOT_BEST not in page
    plan.found = plan.found | {"unproven": 1.0, "gap": 0.0123}
    plan.save()
    page = manager.get(where).content.decode()
    for text in (page, contents(plan)["answer"]):
        assert "within 1.2% of the least" in text
        assert yard_told.NOT_BEST in text


def test_a_large_fleets_board_shows_one_base_and_leads_to_the_others(rows, monkeypatch):
    far = builders.base(rows.fleet, "Anchor Quay")
    open_base(rows.yard_plan, far)
    reader, where = signed_in(rows, "bosun"), address("yard_board", rows)
    assert len(reader.get(where).context["boards"]) == 2
    monkeypatch.setattr(yard_boards, "BOATS_AT_ONCE", 0)
    assert [board.base for board in reader.get(where).context["boards"]] == [far]
    own = rows.boat.base
    chosen = reader.get(where, {"base": own.pk})
    assert [board.base for board in chosen.context["boards"]] == [own]
    assert f"?base={far.pk}" in chosen.content.decode()
    assert "the only boat has its week" in chosen.content.decode(), "of all bases"


def test_a_boat_is_moved_by_its_form_kept_by_hand_and_let_go_again(rows):
    manager, where = signed_in(rows), address("yard_week", rows)
    answer = manager.post(where, {"boat": rows.boat.pk, "week": 3}, follow=True).content.decode()
    assert "is kept in the week of 23 Nov 2026." in answer
    assert week_of(rows) == 3
    visit = YardVisit.objects.get(plan=rows.yard_plan, boat=rows.boat)
    assert visit.kept_by.username == "mona-manager"
    assert "by hand" in answer
    free = manager.post(where, {"boat": rows.boat.pk, "week": "free"}, follow=True)
    assert "is kept no more" in free.content.decode()
    assert YardVisit.objects.get(plan=rows.yard_plan, boat=rows.boat).kept_at is None


@pytest.mark.parametrize(
    ("boat", "week", "said"),
    [("0", "1", "not on this board"), ("tern", "1", "not on this board"),
     (None, "77", "Choose one of the weeks"), (None, "soon", "Choose one of the weeks")],
)  # fmt: skip
def test_a_move_that_cannot_be_is_refused_with_a_sentence_and_moves_nothing(rows, boat, week, said):
    asked = {"boat": boat or rows.boat.pk, "week": week}
    answer = signed_in(rows).post(address("yard_week", rows), asked, follow=True)
    assert said in answer.content.decode()
    assert week_of(rows) == 1


def test_a_script_gets_the_changed_parts_a_sentence_and_how_to_put_it_back(rows):
    manager, where = signed_in(rows), address("yard_week", rows)
    first = manager.post(where, {"boat": rows.boat.pk, "week": 2}, **SCRIPT).json()
    assert set(first["parts"]) == {"answer", "limits", f"base-{rows.boat.base_id}"}
    assert first["back"] == {"week": "1", "let_go": "yes"}, "the planner had chosen its week"
    assert "(now)" in first["parts"][f"base-{rows.boat.base_id}"]
    assert not first["refused"]
    second = manager.post(where, {"boat": rows.boat.pk, "week": 4}, **SCRIPT).json()
    assert second["back"] == {"week": "2"}, "kept there before"
    undone = manager.post(where, {"boat": rows.boat.pk, **first["back"]}, **SCRIPT).json()
    assert "is back where it was." in undone["said"]
    visit = YardVisit.objects.get(plan=rows.yard_plan, boat=rows.boat)
    assert (visit.first_week, visit.kept_at) == (1, None)
    assert second["action"] == where
    wrong = manager.post(where, {"boat": rows.boat.pk, "week": "99"}, **SCRIPT).json()
    assert wrong["refused"]
    assert wrong["said"] == "Choose one of the weeks of this board."
    assert week_of(rows) == 1


@pytest.mark.parametrize("role", ["bosun", "accountant"])
def test_others_read_the_board_and_move_nothing(rows, role):
    reader = signed_in(rows, role)
    page = reader.get(address("yard_board", rows)).content.decode()
    assert rows.boat.name in page
    assert "<select" not in page
    assert "draggable" not in page
    for name in ("yard_week", "yard_work_out", "yard_delete"):
        assert reader.post(address(name, rows)).status_code == 403
    assert week_of(rows) == 1


def test_a_board_is_made_from_the_refit_list_or_from_one_season_of_a_plan(rows):
    manager, where = signed_in(rows), reverse("yard_plans", args=["harbour"])
    scenario = SeasonScenario.objects.of(rows.fleet).get()
    YardPlan.objects.all().delete()
    assert "Make the first" in manager.get(where).content.decode()
    assert manager.post(where, {"made_from": "refit"}).status_code == 302
    assert manager.post(where, {"made_from": f"{scenario.pk}-1"}).status_code == 302
    plans = YardPlan.objects.of(rows.fleet).order_by("pk")
    assert [(plan.scenario, plan.season) for plan in plans] == [
        (None, "2026/27"), (scenario, "2027/28"),
    ]  # fmt: skip
    work = WorkRow.objects.of(rows.fleet).filter(kind="yard")
    assert {row.key for row in work} == {f"{plan.pk}" for plan in plans}
    again = manager.post(where, {"made_from": "refit"})
    assert "not one of the available choices" in again.content.decode()
    listed = manager.get(where).content.decode()
    assert "2 boards of the yard" in listed
    plans.filter(scenario=None).update(season="2025/26")
    assert manager.post(where, {"made_from": "refit"}).status_code == 302, "another year's list"
    assert "not yet" in listed


def test_before_anything_is_planned_the_page_says_what_to_do(rows):
    YardPlan.objects.all().delete()
    RefitJob.objects.all().delete()
    SeasonScenario.objects.all().delete()
    page = signed_in(rows).get(reverse("yard_plans", args=["harbour"])).content.decode()
    assert "Nothing is on the refit list and no season is planned" in page


def test_a_board_that_is_not_worked_out_yet_says_so_and_leads_to_working_it_out(rows):
    fresh = YardPlan.objects.create(fleet=rows.fleet, season="2027/28")
    page = signed_in(rows).get(reverse("yard_board", args=["harbour", fresh.pk])).content.decode()
    assert "no weeks yet" in page
    assert "Work the weeks out" in page
    reader = signed_in(rows, "bosun")
    for name in ("yard_orders", "yard_csv", "yard_ics", "yard_xlsx"):
        assert reader.get(reverse(name, args=["harbour", fresh.pk])).status_code == 200
    orders = reader.get(reverse("yard_orders", args=["harbour", fresh.pk])).content.decode()
    assert "Nothing to order" in orders


def test_a_board_is_deleted_after_a_question_and_nothing_else_is(rows):
    manager, where = signed_in(rows), address("yard_delete", rows)
    asked = manager.get(where).content.decode()
    assert "1 boat loses its week" in asked
    assert YardPlan.objects.filter(pk=rows.yard_plan.pk).exists()
    assert manager.post(where, follow=True).status_code == 200
    assert not YardPlan.objects.filter(pk=rows.yard_plan.pk).exists()
    assert RefitJob.objects.of(rows.fleet).exists()


def test_a_board_of_ten_boats_asks_no_more_of_the_database_than_one_of_one(rows):
    manager, counts = signed_in(rows), []
    names = ("yard_board", "yard_orders", "yard_xlsx", "yard_ics")
    for boats in (0, 9):
        for number in range(boats):
            boat = builders.boat(rows.fleet, f"Tern {number}")
            RefitJob.objects.create(
                boat=boat, installation=builders.wire(boat), season="2026/27", code="age",
                reason="Old.", cost_minor=1, put_off_minor=0,
            )  # fmt: skip
            alongside(rows.yard_plan, boat, first_week=number % 6)
        for name in names:
            manager.get(address(name, rows))
            with CaptureQueriesContext(connection) as asked:
                assert manager.get(address(name, rows)).status_code == 200
            counts.append(len(asked))
    assert counts[: len(names)] == counts[len(names) :]

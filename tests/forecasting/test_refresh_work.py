"""The refresh as a row of work: its steps, its words, and how it is cancelled."""

import pytest

from fleet.models import WorkRow
from fleet.work import asking, rounds
from fleet.work.doing import Running
from forecasting.models import BackTest, ModelRun, PartOutlook

from .history import ALL_GOOD, AS_OF, History

pytestmark = pytest.mark.django_db


@pytest.fixture
def history() -> History:
    history = History(as_of=AS_OF)
    wire = history.part(history.boat(complete_since="2005-01-01"), "2010-01-01")
    history.look("2026-05-01", (wire, ALL_GOOD))
    return history


def refreshed(history: History) -> WorkRow:
    row = asking.ask(history.fleet, "refresh")
    rounds.work_through()
    row.refresh_from_db()
    return row


def test_it_says_in_words_what_came_of_it_and_every_step_was_counted(history):
    row = refreshed(history)
    assert (row.state, row.steps_done) == ("done", row.steps), row.outcome
    assert "1 part on 1 boat, " in row.outcome
    assert PartOutlook.objects.of(history.fleet).get().as_of == AS_OF


def test_the_steps_planned_are_the_steps_taken(history, monkeypatch):
    steps, say = [], Running.say

    def heard(running: Running, step: str) -> None:
        if running.row.kind == "refresh":
            steps.append(step)
        say(running, step)

    monkeypatch.setattr(Running, "say", heard)
    row = refreshed(history)
    assert row.steps == len([step for step in steps if not step.startswith("Note: ")])


def test_cancelled_on_the_way_it_has_written_nothing(history, monkeypatch):
    say = Running.say

    def cancelled_at_the_outlook(running: Running, step: str) -> None:
        if step.startswith("Outlook"):
            WorkRow.objects.filter(pk=running.row.pk).update(cancel_asked=True)
        say(running, step)

    monkeypatch.setattr(Running, "say", cancelled_at_the_outlook)
    row = refreshed(history)
    assert row.state == "cancelled"
    assert row.outcome.startswith("Cancelled after this step: Outlook: 1 part on 1 boat")
    assert not PartOutlook.objects.exists()
    assert not ModelRun.objects.exists()


def test_a_refresh_that_changed_something_has_past_forecasts_tested_and_the_next_one_not(history):
    refreshed(history)
    tested = WorkRow.objects.get(kind="back_test")
    assert (tested.state, tested.steps_done) == ("done", tested.steps), tested.outcome
    assert tested.outcome == "Past forecasts tested."
    assert BackTest.objects.of(history.fleet).count() == 3
    refreshed(history)
    assert WorkRow.objects.filter(kind="back_test").count() == 1

"""Long work as rows: claimed once, its progress told, cancelled, taken up again, ended in words."""

import datetime as dt
import threading
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import OperationalError, connection, transaction
from django.utils import timezone

from fleet.models import WorkRow
from fleet.work import asking, claiming, doing, rounds
from tests import builders

pytestmark = pytest.mark.django_db
MINUTES = dt.timedelta(minutes=1)


# -- jobs for these tests, named in the settings as the real ones are


def splice(running: doing.Running) -> doing.Done:
    running.plan(3)
    for step in ("wire cut", "strands tucked", "splice served"):
        running.say(step)
    return doing.Done("A sound splice.", "/harbour/boats/")


def splice_and_look_up(running: doing.Running) -> doing.Done:
    """As above; somebody asks to cancel while the first step is done."""
    running.plan(3)
    asking.cancel(running.row, running.row.asked_by)
    running.say("wire cut")
    raise AssertionError("the second step was begun all the same")


def lose_it(running: doing.Running) -> doing.Done:
    running.plan(2)
    WorkRow.objects.filter(pk=running.row.pk).update(claim="somebody else")
    running.say("wire cut")
    raise AssertionError("it went on with a row that was no longer its own")


def refuse(running: doing.Running) -> doing.Done:
    raise doing.NotDone("There is no wire of that diameter.", "/harbour/import/")


def break_off(running: doing.Running) -> doing.Done:
    raise ZeroDivisionError("no strands")


@pytest.fixture
def job(settings):
    """Let a function of this file do the refreshes."""

    def let(function) -> None:
        settings.STAYWARD_JOBS = {"refresh": f"{__name__}.{function.__name__}"}

    let(splice)
    return let


@pytest.fixture
def fleet(job):
    return builders.empty_fleet("harbour")


def asked(fleet, **facts) -> WorkRow:
    mona = fleet.memberships.first() or builders.person("mona", fleet).memberships.get()
    return asking.ask(fleet, "refresh", mona.user, **facts)


def done(row: WorkRow) -> WorkRow:
    rounds.work_through()
    row.refresh_from_db()
    return row


def age(row: WorkRow, span: dt.timedelta) -> None:
    WorkRow.objects.filter(pk=row.pk).update(lease_until=timezone.now() - span)


# -- asking


def test_asking_twice_for_what_waits_is_asking_once(fleet):
    assert asked(fleet) == asked(fleet)
    assert asked(fleet, key="another") != asked(fleet)


def test_what_is_asked_while_one_is_under_way_comes_after_it(fleet):
    first = asked(fleet)
    assert claiming.claim(timezone.now()) == first
    second = asked(fleet)
    assert second != first
    assert claiming.claim(timezone.now()) is None


def test_work_of_a_day_is_asked_once_even_when_it_is_over(fleet):
    row = done(asked(fleet, day=builders.TODAY))
    assert row.state == "done"
    assert asked(fleet, day=builders.TODAY) == row
    assert asked(fleet, day=builders.TODAY + dt.timedelta(days=1)) != row


def test_work_of_a_day_is_asked_while_that_of_the_day_before_still_waits(fleet):
    """The workers were away over night."""
    days = [builders.TODAY + dt.timedelta(days=number) for number in range(3)]
    rows = [asked(fleet, day=day) for day in days]
    assert [row.day for row in rows] == days
    rounds.work_through()
    assert set(WorkRow.objects.values_list("state", flat=True)) == {"done"}


@pytest.mark.django_db(transaction=True)
def test_nobody_is_told_of_work_that_was_rolled_back(fleet, monkeypatch):
    rung = []
    monkeypatch.setattr(asking, "ring", rung.append)
    with transaction.atomic():
        asked(fleet)
        transaction.set_rollback(True)
    assert (rung, WorkRow.objects.count()) == ([], 0)
    assert asked(fleet).pk == rung[0]


# -- doing


def test_work_is_done_step_by_step_and_its_result_is_in_words(fleet):
    row = done(asked(fleet))
    assert (row.state, row.outcome, row.seen_at) == ("done", "A sound splice.", "/harbour/boats/")
    assert (row.steps_done, row.steps, row.step, row.tries) == (3, 3, "splice served", 1)
    assert row.claimed_at <= row.ended_at
    assert row.lease_until is None


def test_a_job_that_cannot_be_done_says_why(fleet, job):
    job(refuse)
    row = done(asked(fleet))
    assert (row.state, row.outcome) == ("failed", "There is no wire of that diameter.")
    assert row.seen_at == "/harbour/import/"


def test_a_fault_of_the_program_ends_the_row_and_not_the_worker(fleet, job, caplog):
    job(break_off)
    row = done(asked(fleet))
    assert row.state == "failed"
    assert "ZeroDivisionError: no strands" in row.outcome
    assert "Traceback" in caplog.text
    job(splice)
    assert done(asked(fleet)).state == "done"


def test_what_is_cancelled_before_it_begins_never_begins(fleet):
    row = asked(fleet)
    assert asking.cancel(row, row.asked_by)
    assert done(row).state == "cancelled"
    assert row.outcome == "Cancelled by mona before it began."
    assert not asking.cancel(row, row.asked_by), "it was over"


def test_what_is_under_way_stops_between_two_steps(fleet, job):
    job(splice_and_look_up)
    row = done(asked(fleet))
    assert (row.state, row.steps_done) == ("cancelled", 1)
    assert row.outcome == "Cancelled after this step: wire cut"


def test_a_worker_whose_row_was_taken_from_it_leaves_the_row_alone(fleet, job):
    job(lose_it)
    row = asked(fleet)
    doing.do(claiming.claim(timezone.now()))
    row.refresh_from_db()
    assert (row.state, row.claim, row.outcome) == ("running", "somebody else", "")


def test_a_worker_asked_to_end_puts_its_row_back_for_the_next(fleet):
    row = asked(fleet)
    doing.do(claiming.claim(timezone.now()), stopping=lambda: True)
    row.refresh_from_db()
    assert (row.state, row.steps_done, row.tries) == ("running", 1, 0)
    assert done(row).state == "done"
    assert row.tries == 1


# -- claiming


def test_only_one_work_of_a_kind_is_under_way_in_a_fleet_and_others_are_not_held_up(fleet):
    first, second = asked(fleet, key="one"), asked(fleet, key="two")
    elsewhere = asking.ask(builders.empty_fleet("estuary"), "refresh")
    other_kind = asking.ask(fleet, "import")
    claimed = [claiming.claim(timezone.now()) for _ in range(4)]
    assert claimed == [first, elsewhere, other_kind, None]
    doing.end(doing.Running(claimed[0], bool), "done", "")
    assert claiming.claim(timezone.now()) == second


def test_two_who_want_the_same_row_do_not_both_get_it(fleet):
    row = asked(fleet)
    seen_by_both = [WorkRow.objects.get(pk=row.pk) for _ in range(2)]
    assert [claiming.take(each, timezone.now()) for each in seen_by_both] == [True, False]


def test_the_second_of_a_kind_is_refused_by_the_table_itself(fleet):
    rows = [asked(fleet, key="one"), asked(fleet, key="two")]
    assert [claiming.take(row, timezone.now()) for row in rows] == [True, False]


def test_work_whose_worker_is_gone_is_taken_up_again(fleet):
    row = asked(fleet)
    gone = claiming.claim(timezone.now())
    assert claiming.claim(timezone.now()) is None
    assert rounds.to_ring(timezone.now()) == []
    age(row, MINUTES)
    assert rounds.to_ring(timezone.now()) == [row.pk]
    again = claiming.claim(timezone.now())
    assert (again, again.tries) == (row, 2)
    with pytest.raises(doing.ClaimLost):
        doing.Running(gone, bool).say("wire cut")


def test_what_gets_stuck_three_times_fails_and_says_so(fleet):
    row = asked(fleet)
    for _ in range(3):
        assert claiming.claim(timezone.now()) == row
        age(row, MINUTES)
    assert claiming.claim(timezone.now()) is None
    row.refresh_from_db()
    assert row.state == "failed"
    assert "Begun 3 times" in row.outcome


def test_what_got_stuck_while_it_was_being_cancelled_is_cancelled(fleet):
    row = asked(fleet)
    claiming.claim(timezone.now())
    asking.cancel(row, row.asked_by)
    age(row, MINUTES)
    assert done(row).state == "cancelled"


def test_work_begun_before_the_clock_was_put_back_is_taken_up_again(fleet):
    row = asked(fleet)
    claiming.claim(timezone.now() + dt.timedelta(days=30))
    assert rounds.to_ring(timezone.now()) == [row.pk]
    assert claiming.claim(timezone.now()) == row


def test_a_step_longer_than_the_lease_is_not_taken_for_stuck(fleet):
    row = asked(fleet)
    ours = claiming.claim(timezone.now())
    later = timezone.now() + 10 * MINUTES
    assert claiming.renew(ours, later)
    assert WorkRow.objects.get(pk=row.pk).lease_until > later
    WorkRow.objects.update(claim="somebody else")
    assert not claiming.renew(ours, later)


@pytest.mark.django_db(transaction=True)
def test_the_lease_is_renewed_while_the_work_is_done(fleet, monkeypatch):
    monkeypatch.setattr(doing, "BEAT_SECONDS", 0.05)
    asked(fleet)
    row = claiming.claim(timezone.now())
    with doing.kept_alive(row):
        threading.Event().wait(0.5)
    assert WorkRow.objects.get(pk=row.pk).lease_until > row.lease_until


@pytest.mark.django_db(transaction=True)
def test_many_workers_at_once_do_each_row_once(fleet, settings):
    settings.STAYWARD_JOBS = dict.fromkeys(("refresh", "import"), f"{__name__}.splice")
    fleets = [fleet, *(builders.empty_fleet(f"fleet-{number}") for number in range(5))]
    for each in fleets:
        for key in ("a", "b"):
            asking.ask(each, "refresh", key=key)
            asking.ask(each, "import", key=key)
    start, faults = threading.Barrier(4), []

    def work() -> None:
        try:
            start.wait()
            while WorkRow.objects.unfinished().exists():
                rounds.work_through()
        except (OperationalError, doing.ClaimLost) as fault:
            faults.append(fault)
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert not faults
    rows = WorkRow.objects.values_list("state", "tries").distinct()
    assert list(rows.order_by()) == [("done", 1)]
    assert WorkRow.objects.count() == 24


def test_the_ticker_once_does_what_there_is_and_ends(fleet):
    row = asked(fleet)
    out = StringIO()
    call_command("ticker", "--once", stdout=out)
    row.refresh_from_db()
    assert row.state == "done"
    assert out.getvalue() == "1 works done.\n"

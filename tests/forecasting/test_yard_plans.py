"""From rows to the weeks of an off season: worked out, saved, moved by hand, let go."""

import datetime as dt
from itertools import pairwise
from types import SimpleNamespace

import pytest
from django.core.management import call_command

from fleet.models import WorkRow
from fleet.work import asking, rounds
from forecasting import yard_moves, yard_planning, yard_reads
from forecasting.models import LeadTime, RefitJob, ScenarioJob, YardBaseWeeks, YardBlock
from forecasting.yard_calendar import span_of
from inspections.models import Booking, Hold
from tests import builders
from tests.season_plans import season_plan

pytestmark = pytest.mark.django_db
FIRST = dt.date(2026, 11, 2)  # the first Monday of the off season from November to March
DEAR, CHEAP, LEAST = 52_000, 5_200, 520  # a thousand, a hundred and ten a week


def day(week: int, weekday: int = 0) -> dt.date:
    return FIRST + dt.timedelta(weeks=week, days=weekday)


@pytest.fixture
def yard() -> SimpleNamespace:
    """Four boats at a base with twenty hours a week: held, dear, booked, and one whose mast comes
    down."""
    fleet = builders.empty_fleet("harbour", off_season_start=11, off_season_end=3)
    base = builders.base(fleet)
    base.rigger_hours = 20 * span_of(base, fleet.today()).whole
    base.save()
    boats = {name: builders.boat(fleet, name) for name in ("Tern", "Gull", "Skua", "Auk")}
    for name, put_off in (("Tern", 0), ("Gull", DEAR), ("Skua", CHEAP), ("Auk", LEAST)):
        job(boats[name], put_off, must=name == "Tern", code="condemned" if not put_off else "age")
    RefitJob.objects.create(boat=boats["Auk"], season="2026/27", code="mast_down", hours=4,
                            reason="Once.", cost_minor=0, put_off_minor=0)  # fmt: skip
    return SimpleNamespace(fleet=fleet, base=base, plan=yard_planning.plan_for(fleet), **boats)


def job(boat, put_off: int, hours: float = 12, **facts) -> RefitJob:
    usual = {"season": "2026/27", "reason": "Past the age rule.", "cost_minor": 60_000}
    return RefitJob.objects.create(
        boat=boat, installation=builders.wire(boat), hours=hours, put_off_minor=put_off,
        **(usual | facts),
    )  # fmt: skip


def worked_out(yard) -> yard_planning.Planned:
    return yard_planning.run(yard.plan, yard.fleet.today(), lambda step: None, lambda: None)


def weeks(yard) -> dict[str, int | None]:
    return dict(yard.plan.visits.values_list("boat__name", "first_week"))


def book(boat, first: dt.date, days: int) -> Booking:
    return Booking.objects.create(boat=boat, first=first, last=first + dt.timedelta(days=days))


def test_the_held_boat_comes_first_then_who_loses_most_and_nothing_changes_when_asked_again(yard):
    planned = worked_out(yard)
    assert (planned.boats, planned.changed, planned.lacks) == (4, True, 0)
    assert weeks(yard) == {"Tern": 0, "Gull": 1, "Skua": 2, "Auk": 3}
    assert yard.plan.monday(0) == FIRST
    tern = yard.plan.visits.get(boat=yard.Tern)
    assert tern.must
    assert tern.why.startswith("Condemned or held, so before others.")
    before = yard.plan.planned_at
    assert not worked_out(yard).changed
    yard.plan.refresh_from_db()
    assert yard.plan.planned_at == before


def test_a_standing_hold_makes_a_boat_one_of_the_first(yard):
    Hold.objects.create(boat=yard.Auk, cause="event", reason="lightning", since=builders.TODAY)
    worked_out(yard)
    assert {name for name, week in weeks(yard).items() if week in (0, 1)} == {"Tern", "Auk"}


def test_a_boat_is_put_around_its_guests_and_ready_before_those_of_spring(yard):
    book(yard.Gull, day(0), 18)
    book(yard.Gull, dt.date(2027, 4, 3), 7)
    worked_out(yard)
    gull = yard.plan.visits.get(boat=yard.Gull)
    assert gull.first_week == 3
    assert "back from its guests, 20 Nov 2026" in gull.why
    assert "Ready before its guests from 3 Apr 2027" in gull.why


def test_parts_that_take_six_weeks_keep_the_boat_out_until_they_are_there(yard):
    LeadTime.objects.create(fleet=yard.fleet, weeks=1)
    LeadTime.objects.create(fleet=yard.fleet, kind="wire", construction="1x19", weeks=6,
                            supplier="North Wire")  # fmt: skip
    worked_out(yard)
    there = yard.fleet.today() + dt.timedelta(weeks=6)
    assert min(week for week in weeks(yard).values()) == 4  # the first Monday after 25 November
    assert yard.plan.visits.get(boat=yard.Tern).parts_ready == there
    wanted = yard_reads.parts_wanted(yard.plan)
    assert {each.lead.supplier for each in wanted} == {"North Wire"}
    assert wanted[0].job.boat == yard.Tern
    assert wanted[0].order_by == day(4) - dt.timedelta(weeks=6)


def test_nobody_stands_in_a_shut_yard_nor_with_a_contractor_on_the_boat(yard):
    YardBlock.objects.create(fleet=yard.fleet, first=day(0), last=day(1, 6), what="shut")
    YardBlock.objects.create(fleet=yard.fleet, base=yard.base, boat=yard.Tern, first=day(2),
                             last=day(3, 2), what="contractor", hours=8)  # fmt: skip
    worked_out(yard)
    assert weeks(yard)["Tern"] == 4
    board = yard_reads.by_base_and_week(yard.plan)[0]
    assert [week.has_hours for week in board.weeks[:4]] == pytest.approx([0, 0, 12, 15.2])
    assert [week.days for week in board.weeks[:3]] == [0, 0, 5]
    assert [len(week.blocks) for week in board.weeks[:5]] == [1, 1, 1, 1, 0]


def test_a_move_is_kept_and_priced_and_what_cannot_be_is_refused_in_words(yard):
    book(yard.Skua, day(6), 11)
    worked_out(yard)
    cost = yard.plan.found["cost"]
    mona = builders.person("mona", yard.fleet)
    refused = yard_moves.move(yard.plan, yard.Skua, 7, mona).refused
    assert refused == "Skua is away with guests from 14 Dec 2026 to 25 Dec 2026."
    assert "open from 2 Nov 2026" in yard_moves.move(yard.plan, yard.Skua, 40, mona).refused
    assert "cannot be left out" in yard_moves.move(yard.plan, yard.Tern, None, mona).refused
    moved = yard_moves.move(yard.plan, yard.Skua, 10, mona)
    assert (moved.refused, moved.warning) == ("", "")
    skua = yard.plan.visits.get(boat=yard.Skua)
    assert (skua.first_week, skua.kept_by, skua.why) == (10, mona, "Moved here by hand.")
    assert yard.plan.found["cost"] > cost
    assert yard.plan.found["gap"] > 0
    assert yard_planning.is_behind(yard.plan)
    worked_out(yard)
    assert weeks(yard) == {"Tern": 0, "Gull": 1, "Skua": 10, "Auk": 2}
    assert yard_moves.let_go(yard.plan, yard.Skua) == ""
    worked_out(yard)
    assert weeks(yard)["Skua"] == 2


def test_a_move_over_what_there_is_is_allowed_and_said(yard):
    worked_out(yard)
    moved = yard_moves.move(yard.plan, yard.Auk, 0, None)
    assert moved.warning == (
        "Moved, and kept there; but the week of 2 Nov 2026 has 8 more riggers' hours than the 20 "
        "there are."
    )
    assert [(each["kind"], each["over"]) for each in yard.plan.found["lacks"]] == [("hours", 8)]
    week = yard_reads.by_base_and_week(yard.plan)[0].weeks[0]
    assert (week.over, week.masts, len(week.visits)) == (["hours"], 1, 2)


def test_a_boat_taken_out_of_the_season_stays_out_when_planned_anew(yard):
    worked_out(yard)
    yard_moves.move(yard.plan, yard.Gull, None, None)
    worked_out(yard)
    [gull] = yard_reads.unplaced(yard.plan)
    assert (gull.boat, gull.why) == (yard.Gull, "Taken out of this off season by hand.")
    assert weeks(yard)["Skua"] == 1


def test_what_was_typed_in_or_moved_by_hand_stays_with_its_monday_as_weeks_go_by(yard):
    worked_out(yard)
    row = YardBaseWeeks.objects.get(plan=yard.plan)
    row.by_hand, row.masts = True, [float(n) for n in range(yard.plan.weeks)]
    row.save()
    yard_moves.move(yard.plan, yard.Skua, 10, None)
    yard_moves.move(yard.plan, yard.Gull, 1, None)
    later = dt.date(2026, 11, 18)
    yard_planning.run(yard.plan, later, lambda step: None, lambda: None)
    row = YardBaseWeeks.objects.get(plan=yard.plan)
    assert yard.plan.first_monday == dt.date(2026, 11, 23)
    assert row.masts[:3] == [3, 4, 5]
    assert weeks(yard)["Skua"] == 7
    assert yard.plan.visits.get(boat=yard.Skua).kept_at
    assert not yard.plan.visits.get(boat=yard.Gull).kept_at  # that week is over


def test_a_base_whose_off_season_is_nearly_over_stays_open_for_eight_weeks(yard):
    span = span_of(yard.base, dt.date(2027, 3, 20))
    assert (span.first, span.weeks) == (dt.date(2027, 3, 22), 8)
    assert span_of(yard.base, dt.date(2027, 3, 20), 1).first == dt.date(2027, 11, 1)


def test_a_base_is_open_until_the_day_somebody_said(yard):
    worked_out(yard)
    YardBaseWeeks.objects.filter(plan=yard.plan).update(until=dt.date(2026, 11, 20))
    assert worked_out(yard).lacks
    row = YardBaseWeeks.objects.get(plan=yard.plan)
    assert (row.opens, row.closes, row.until) == (0, 3, dt.date(2026, 11, 20))
    assert max(weeks(yard).values()) == 2


def test_the_weeks_of_a_season_of_the_long_plan_are_those_of_its_jobs(yard):
    part = RefitJob.objects.get(boat=yard.Gull).installation
    scenario = season_plan(yard.Gull, part)
    scenario.bases.update(crane_days=[6] * 5)
    plan = yard_planning.plan_for(yard.fleet, scenario, 1)
    yard_planning.run(plan, yard.fleet.today(), lambda step: None, lambda: None)
    assert (plan.season, plan.monday(0)) == ("2027/28", dt.date(2027, 11, 1))
    assert [job.pk for job in yard_reads.jobs(plan)] == [ScenarioJob.objects.get().pk]
    assert yard_planning.plan_for(yard.fleet, scenario, 1) == plan
    row = plan.bases.get()
    assert set(row.hours) == {9.1}  # 200 hours over the 22 weeks from November to March
    assert sum(row.masts) == 12  # six crane days of two boats
    gaps = [b - a for a, b in pairwise(w for w, masts in enumerate(row.masts) if masts)]
    assert set(gaps) <= {3, 4}


def test_as_long_work_it_says_its_steps_and_by_command_it_is_the_same(yard, capsys):
    row = asking.ask(yard.fleet, WorkRow.Kind.YARD, key="1", plan=yard.plan.pk)
    rounds.work_through()
    row.refresh_from_db()
    assert (row.state, row.steps_done) == (WorkRow.State.DONE, 3)
    assert row.outcome == "4 boats have their weeks, gap 0.00 %."
    call_command("plan_yard", fleet="harbour")
    assert "Nothing had changed" in capsys.readouterr().out


def test_stopped_between_two_steps_it_leaves_the_weeks_as_they_were(yard):
    worked_out(yard)
    before = weeks(yard)
    YardBlock.objects.create(fleet=yard.fleet, first=day(0), last=day(0, 4), what="shut")

    def stop() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        yard_planning.run(yard.plan, yard.fleet.today(), lambda step: None, stop)
    assert weeks(yard) == before
    worked_out(yard)
    assert weeks(yard)["Tern"] == 1


def test_what_somebody_moves_while_the_weeks_are_worked_out_stays_moved(yard):
    worked_out(yard)
    YardBlock.objects.create(fleet=yard.fleet, first=day(0), last=day(0, 4), what="shut")
    moved = []

    def meanwhile() -> None:
        if not moved:
            moved.append(yard_moves.move(yard_planning.plan_for(yard.fleet), yard.Skua, 10, None))

    yard_planning.run(yard.plan, yard.fleet.today(), lambda step: None, meanwhile)
    assert moved[0].refused == ""
    assert weeks(yard) == {"Tern": 1, "Gull": 2, "Skua": 10, "Auk": 4}
    assert yard.plan.visits.get(boat=yard.Skua).kept_at
    assert yard_planning.is_behind(yard.plan)


def test_without_a_job_there_is_nothing_to_plan(yard):
    RefitJob.objects.all().delete()
    with pytest.raises(yard_planning.NothingToDo, match="no work to plan"):
        worked_out(yard)

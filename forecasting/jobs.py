"""The long work of this app as rows of ``fleet.work``: forecasts, plans, tests of both, mail."""

import datetime as dt
from functools import partial

from django.urls import reverse
from django.utils import timezone

from fleet.models import WorkRow
from fleet.templatetags.wording import day
from fleet.work import asking
from fleet.work.doing import Done, NotDone, Running

from . import back_test, refresh, season_planning, summaries, yard_planning
from .models import SeasonScenario, SummaryMail, YardPlan
from .steps import runs
from .steps.back_testing import YEARS
from .steps.wording import counted

# Record, a life of each kind, what becomes of a watch, outlook, refit list, budget, other ways to
# keep the rigs, ages, saved.
STEPS = len(refresh.KINDS) + 8
PLAN_STEPS = 8  # the same without the lives
YARD_STEPS = 2  # jobs read, saved; and the weeks of each base
SEASON_STEPS = 8  # record, watch, outlook, prices, plans put together, whole plans, saved, to spare


def refresh_forecast(running: Running) -> Done:
    """Fit, forecast and plan for the fleet as of its today. Repeating changes nothing."""
    fleet = running.row.fleet
    running.plan(STEPS)
    try:
        result = refresh.run(fleet, fleet.today(), say=running.say)
    except runs.Superseded as reason:
        raise NotDone(str(reason), reverse("outlook", args=[fleet.slug])) from reason
    said, seen_at = words("Forecast", result), reverse("outlook", args=[fleet.slug])
    if not result.rewritten:
        return Done(said, seen_at)
    return Done(said, seen_at, then=partial(asking.ask, fleet, WorkRow.Kind.BACK_TEST))


def plan_anew(running: Running) -> Done:
    """Make the refit list and the budget anew by the models in force, as of the fleet's today."""
    fleet = running.row.fleet
    running.plan(PLAN_STEPS)
    try:
        result = refresh.plan(fleet, fleet.today(), say=running.say)
    except (runs.NoModels, runs.Superseded) as reason:
        raise NotDone(str(reason), reverse("how", args=[fleet.slug])) from reason
    return Done(words("Planned", result), reverse("refit", args=[fleet.slug]))


def plan_the_seasons(running: Running) -> Done:
    """Work one scenario of the coming off seasons out. Repeating changes nothing."""
    fleet = running.row.fleet
    scenarios = SeasonScenario.objects.of(fleet)
    scenario = scenarios.filter(pk=running.row.arguments["scenario"]).first()
    if scenario is None:
        raise NotDone(
            "That plan was deleted meanwhile.", reverse("season_plans", args=[fleet.slug])
        )
    page = reverse("season_plan", args=[fleet.slug, scenario.pk])
    running.plan(SEASON_STEPS)
    try:
        plan = season_planning.run(scenario, fleet.today(), running.say, running.pause)
    except runs.NoModels as reason:
        raise NotDone(str(reason), reverse("how", args=[fleet.slug])) from reason
    except (season_planning.NothingStands, ValueError) as reason:
        raise NotDone(f"{scenario.name} was not planned. {reason}", page) from reason
    kept = "" if plan.feasible else " No plan keeps all limits: see which, and by how much."
    return Done(f"{scenario.name} is planned, gap {100 * plan.gap:.2f} %.{kept}", page)


def plan_the_yard(running: Running) -> Done:
    """Work the weeks of one off season out. Repeating changes nothing."""
    fleet = running.row.fleet
    plan = YardPlan.objects.of(fleet).filter(pk=running.row.arguments["plan"]).first()
    if plan is None:
        raise NotDone("That board was deleted meanwhile.", reverse("yard_plans", args=[fleet.slug]))
    running.plan(YARD_STEPS + fleet.bases.count())
    try:
        planned = yard_planning.run(plan, fleet.today(), running.say, running.pause)
    except yard_planning.NothingToDo as reason:
        raise NotDone(str(reason), reverse("refit", args=[fleet.slug])) from reason
    return Done(yard_planning.words(planned), reverse("yard_board", args=[fleet.slug, plan.pk]))


def words(what: str, result: refresh.RefreshResult) -> str:
    changed = "" if result.rewritten else " Nothing had changed."
    notes = "".join(f" Note: {warning}" for warning in result.warnings)
    return (
        f"{what} as of {day(result.as_of)}: {counted(result.parts, 'part')} on "
        f"{counted(result.boats, 'boat')}, {counted(result.jobs, 'part')} on the refit list."
        f"{changed}{notes}"
    )


def check_past_forecasts(running: Running) -> Done:
    """Test the forecasts of the last years. Repeating changes nothing."""
    fleet = running.row.fleet
    running.plan(YEARS + 1)
    tested = back_test.run(fleet, fleet.today(), say=running.say)
    words = (
        "Past forecasts tested." if tested.changed else "Nothing had changed since the last test."
    )
    return Done(words, reverse("trust", args=[fleet.slug]))


def send_summary(running: Running) -> Done:
    """Draw and set what one person asked for, then send it; begun again it is one message still."""
    fleet = running.row.fleet
    mail = SummaryMail.objects.of(fleet).filter(pk=running.row.arguments["mail"]).first()
    if mail is None or not summaries.may_go(mail):
        if mail is not None:
            summaries.record(mail, SummaryMail.State.WITHDRAWN)
        raise NotDone("Who asked for it may not have it any more: it was not sent.")
    page = reverse("summary", args=[fleet.slug, mail.pk])
    running.plan(2)
    message = summaries.write(mail)
    running.say("Chart drawn, budget and refit list set")
    sent = summaries.send(mail, message, timezone.now())
    mail.refresh_from_db()
    if mail.state == SummaryMail.State.FAILED:
        raise NotDone(f"It could not be sent: {mail.failure}. Ask for it again.", page)
    if not sent and mail.state == SummaryMail.State.SENDING:
        raise NotDone(
            "The program that was sending it was ended, and nobody knows whether it went. It goes "
            "out again by itself, under the same Message-ID, within a quarter of an hour.",
            page,
        )
    return Done(f"Sent to {mail.to_name}, {mail.to_email}: {message.subject}.", page)


def ask_for_half_sent(now: dt.datetime) -> None:
    """Ask for the summaries whose sender was ended while it had them."""
    for mail in summaries.half_sent(now):
        in_hand = WorkRow.objects.of(mail.fleet).filter(kind=WorkRow.Kind.SUMMARY).unfinished()
        if not in_hand.filter(key=f"{mail.pk}").exists():
            asking.ask(mail.fleet, WorkRow.Kind.SUMMARY, key=f"{mail.pk}", mail=mail.pk)

"""The refresh of the forecast and the plan by it, as rows of ``fleet.work`` ask for them."""

from django.urls import reverse

from fleet.templatetags.wording import day
from fleet.work.doing import Done, NotDone, Running

from . import refresh
from .steps import runs
from .steps.wording import counted

STEPS = len(refresh.KINDS) + 5  # record, a life of each kind, outlook, refit list, budget, saved
PLAN_STEPS = 5  # the same without the lives


def refresh_forecast(running: Running) -> Done:
    """Fit, forecast and plan for the fleet as of its today. Repeating changes nothing."""
    fleet = running.row.fleet
    running.plan(STEPS)
    try:
        result = refresh.run(fleet, fleet.today(), say=running.say)
    except runs.Superseded as reason:
        raise NotDone(str(reason), reverse("outlook", args=[fleet.slug])) from reason
    return Done(words("Forecast", result), reverse("outlook", args=[fleet.slug]))


def plan_anew(running: Running) -> Done:
    """Make the refit list and the budget anew by the models in force, as of the fleet's today."""
    fleet = running.row.fleet
    running.plan(PLAN_STEPS)
    try:
        result = refresh.plan(fleet, fleet.today(), say=running.say)
    except (runs.NoModels, runs.Superseded) as reason:
        raise NotDone(str(reason), reverse("how", args=[fleet.slug])) from reason
    return Done(words("Planned", result), reverse("refit", args=[fleet.slug]))


def words(what: str, result: refresh.RefreshResult) -> str:
    changed = "" if result.rewritten else " Nothing had changed."
    notes = "".join(f" Note: {warning}" for warning in result.warnings)
    return (
        f"{what} as of {day(result.as_of)}: {counted(result.parts, 'part')} on "
        f"{counted(result.boats, 'boat')}, {counted(result.jobs, 'part')} on the refit list."
        f"{changed}{notes}"
    )

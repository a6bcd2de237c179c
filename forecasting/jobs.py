"""The refresh of the forecast and the test of past ones, as rows of ``fleet.work`` ask for them."""

from functools import partial

from django.urls import reverse

from fleet.models import WorkRow
from fleet.templatetags.wording import day
from fleet.work import asking
from fleet.work.doing import Done, Running

from . import back_test, refresh
from .steps.back_testing import YEARS
from .steps.wording import counted

# Record, a life of each kind, what becomes of a watch, outlook, refit list, budget, saved.
STEPS = len(refresh.KINDS) + 6


def refresh_forecast(running: Running) -> Done:
    """Fit, forecast and plan for the fleet as of its today. Repeating changes nothing."""
    fleet = running.row.fleet
    running.plan(STEPS)
    result = refresh.run(fleet, fleet.today(), say=running.say)
    changed = "" if result.rewritten else " Nothing had changed."
    notes = "".join(f" Note: {warning}" for warning in result.warnings)
    words = (
        f"Forecast as of {day(result.as_of)}: {counted(result.parts, 'part')} on "
        f"{counted(result.boats, 'boat')}, {counted(result.jobs, 'part')} on the refit list."
    )
    said, seen_at = f"{words}{changed}{notes}", reverse("outlook", args=[fleet.slug])
    if not result.rewritten:
        return Done(said, seen_at)
    return Done(said, seen_at, then=partial(asking.ask, fleet, WorkRow.Kind.BACK_TEST))


def check_past_forecasts(running: Running) -> Done:
    """Test the forecasts of the last years. Repeating changes nothing."""
    fleet = running.row.fleet
    running.plan(YEARS + 1)
    tested = back_test.run(fleet, fleet.today(), say=running.say)
    words = (
        "Past forecasts tested." if tested.changed else "Nothing had changed since the last test."
    )
    return Done(words, reverse("trust", args=[fleet.slug]))

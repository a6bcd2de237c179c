"""The refresh of the forecast, as a row of ``fleet.work`` asks for it."""

from django.urls import reverse

from fleet.templatetags.wording import day
from fleet.work.doing import Done, Running

from . import refresh
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
    return Done(f"{words}{changed}{notes}", reverse("outlook", args=[fleet.slug]))

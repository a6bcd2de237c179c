"""Why a boat stands in the yard when it does, or why it does not, in words."""

from fleet.templatetags.wording import day

from .models import YardPlan
from .planning.yard import OUT, Placed, Work, Yard, weeks_open_to
from .yard_problem import BoatFacts

HINDERED = {
    "parts": "its parts are not there in time",
    "away": "it is away with guests",
    "contractor": "others work on it",
    "shut": "the yard is shut",
    "closed": "the base is open for fewer weeks than it needs",
}
LIMITS = {
    "hours": "riggers' hours",
    "masts": "masts taken down and put up",
    "berths": "berths for boats with the mast down",
}


def why(plan: YardPlan, yard: Yard, facts: BoatFacts, placed: Placed) -> str:
    """Return a sentence or two: what decided its week, and what it is in time for."""
    work = facts.work
    if placed.week is None:
        return _nowhere(work, placed)
    said = []
    if work.kept is not None:
        said.append("Moved here by hand.")
    elif work.must:
        said.append("Condemned or held, so before others.")
    if work.kept is None:
        said.append(_week(plan, yard, facts, placed))
    if placed.late:
        said.append(f"Not ready before its guests from {day(facts.new_season)}.")
    elif facts.new_season:
        said.append(f"Ready before its guests from {day(facts.new_season)}.")
    return " ".join(each for each in said if each)


def _nowhere(work: Work, placed: Placed) -> str:
    if work.kept == OUT:
        return "Taken out of this off season by hand."
    return f"No week: {HINDERED.get(placed.hindered, HINDERED['closed'])} in most or all of them."


def _week(plan: YardPlan, yard: Yard, facts: BoatFacts, placed: Placed) -> str:
    """Return why this week and no earlier one."""
    work = facts.work
    first = min(weeks_open_to(yard, work), default=placed.week)
    if placed.week > first:
        return "Earlier weeks are full of boats that come before it."
    if first == yard.opens:
        return "As soon as the off season allows."
    if facts.parts_ready and work.ready == first:
        return f"As soon as its parts are there, by {day(facts.parts_ready)}."
    back = max((row.last for row in facts.bookings if row.last < plan.monday(first)), default=None)
    if back is not None and first - 1 in work.guests and not work.must:
        return f"As soon as it is back from its guests, {day(back)}."
    if first - 1 in work.contractor:
        return "As soon as others are done with it."
    return "The first week that leaves it time enough."

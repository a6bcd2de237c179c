"""A boat moved by hand to another week of the yard and kept there, or let go again.

What cannot be is refused in a sentence; what goes over a limit is allowed, and said.
"""

from dataclasses import dataclass, replace

from django.db import transaction
from django.utils import timezone

from fleet.models import Boat
from fleet.templatetags.wording import day

from .models import YardPlan, YardVisit
from .planning.yard import Work, answer_of, hindrance, is_late
from .yard_planning import base_found, found_of, told
from .yard_problem import BaseQuestion, questions
from .yard_reads import jobs
from .yard_words import LIMITS

GONE = "That boat is not in this plan. Work the plan out anew, then move it."


@dataclass(frozen=True)
class Moved:
    """refused: why nothing was changed, blank where it was; warning: what the move goes over."""

    refused: str = ""
    warning: str = ""


@transaction.atomic
def move(plan: YardPlan, boat: Boat, week: int | None, user) -> Moved:
    """Keep the boat in that week, None for not in this off season, and price the plan anew."""
    visit = plan.visits.select_for_update().filter(boat=boat).first()
    question = question_at(plan, visit)
    if visit is None or question is None or boat.pk not in question.facts:
        return Moved(GONE)
    work = question.facts[boat.pk].work
    refused = _refused(plan, question, work, week)
    if refused:
        return Moved(refused)
    visit.first_week, visit.kept_by, visit.kept_at = week, user, timezone.now()
    visit.save(update_fields=["first_week", "kept_by", "kept_at"])
    priced_anew(plan, question_at(plan, visit))
    return Moved("", _warning(plan, question, work, week))


@transaction.atomic
def let_go(plan: YardPlan, boat: Boat) -> str:
    """No longer keep what was moved by hand: it stays where it is until the plan is made anew.

    Return a sentence where it was not kept, else blank.
    """
    visit = plan.visits.select_for_update().filter(boat=boat).first()
    if visit is None:
        return GONE
    if visit.kept_at is None:
        return "It was not moved by hand."
    visit.kept_by = visit.kept_at = None
    visit.save(update_fields=["kept_by", "kept_at"])
    question = question_at(plan, visit)
    if question is not None and boat.pk in question.facts:
        priced_anew(plan, question)
    return ""


def question_at(plan: YardPlan, visit: YardVisit | None) -> BaseQuestion | None:
    """Return the question of the base of a visit, as the rows stand now."""
    if visit is None:
        return None
    rows = list(plan.bases.filter(base=visit.base_id).select_related("base__fleet", "plan"))
    for row in rows:
        row.plan = plan
    found = questions(plan, rows, list(jobs(plan)))
    return found[0] if found else None


def _refused(plan: YardPlan, question: BaseQuestion, work: Work, week: int | None) -> str:
    facts, yard = question.facts[work.boat], question.yard
    name = facts.boat.name
    if week is None:
        held = f"{name} is condemned or held: it cannot be left out of this off season."
        return held if work.must else ""
    code = hindrance(yard, replace(work, kept=None), week)
    if not code:
        return ""
    row, weeks = question.row, f"{work.weeks} week{'s' if work.weeks > 1 else ''}"
    stands = f"from {day(plan.monday(week))}" if 0 <= week < plan.weeks else "then"
    return {
        "closed": f"{row.base} is open from {day(plan.monday(row.opens))} to "
        f"{day(plan.monday(row.closes))}: {name} needs {weeks} of that.",
        "parts": f"The parts of {name} are there by {day(facts.parts_ready)} if ordered on "
        f"{day(plan.as_of)}: not before.",
        "away": f"{name} is away with guests {_away(plan, facts, work, week)}.",
        "contractor": f"Others work on {name} {stands}: see the blocks of the yard.",
        "shut": f"The yard is shut in a week in which {name} would stand, {stands} for {weeks}.",
    }[code]


def _away(plan: YardPlan, facts, work: Work, week: int) -> str:
    begins, ends = plan.monday(week), plan.monday(week + work.weeks)
    for row in facts.bookings:
        if row.first < ends and row.last >= begins:
            return f"from {day(row.first)} to {day(row.last)}"
    return "then"


def _warning(plan: YardPlan, question: BaseQuestion, work: Work, week: int | None) -> str:
    """Return what is gone over in the weeks it stands in, and whether it is late there."""
    if week is None:
        return ""
    weeks = _weeks(plan, question) | {work.boat: week}
    stands = range(week, week + work.weeks)
    over = [each for each in answer_of(question.yard, weeks).lacks if each.week in stands]
    said = [
        f"the week of {day(plan.monday(each.week))} has {each.over:g} more {LIMITS[each.kind]} "
        f"than the {each.limit:g} there are"
        for each in over
    ]
    if is_late(work, week):
        new = question.facts[work.boat].new_season
        said.append(f"it is not ready before its guests from {day(new)}")
    return f"Moved, and kept there; but {'; '.join(said)}." if said else ""


def _weeks(plan: YardPlan, question: BaseQuestion) -> dict[int, int]:
    rows = plan.visits.filter(base=question.row.base_id).exclude(first_week=None)
    known = {work.boat for work in question.yard.works}
    return {boat: week for boat, week in rows.values_list("boat", "first_week") if boat in known}


def priced_anew(plan: YardPlan, question: BaseQuestion) -> None:
    """Say of each visit at this base, and of the base, what they come to now; nothing is moved.

    The bound stays that of the plan as it was worked out, so what moves cost shows in the gap.
    """
    before = {each["base"]: each for each in plan.found.get("bases", [])}
    old = before.get(question.row.base_id, {})
    answer = answer_of(question.yard, _weeks(plan, question), old.get("bound"))
    rows = {row.boat_id: row for row in plan.visits.filter(base=question.row.base_id)}
    for placed in answer.placed:
        if placed.boat in rows:
            told(plan, question, placed, rows[placed.boat])
    fields = ["first_week", "late", "cost_minor", "week_later_minor", "why"]
    YardVisit.objects.bulk_update(rows.values(), fields)
    entry = base_found(plan, answer) | {"wish": old.get("wish", [])}
    before[question.row.base_id] = entry | {"unproven": old.get("unproven", 0.0)}
    plan.found = found_of(list(before.values()))
    plan.save(update_fields=["found"])

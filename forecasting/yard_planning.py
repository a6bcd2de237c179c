"""From the record of a fleet to the weeks of an off season, saved. Repeated, it changes nothing."""

import datetime as dt
import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from fleet.models import Base, Fleet

from .models import SeasonScenario, YardBaseWeeks, YardPlan, YardVisit
from .planning.yard import OUT, Lack, Placed, YardAnswer, plan_yard
from .steps.wording import counted
from .yard_calendar import set_out, span_of
from .yard_problem import BaseQuestion, Kept, kept_by_hand, questions
from .yard_reads import jobs
from .yard_words import why

Say = Callable[[str], None]


class NothingToDo(Exception):
    """There is no job in the list the plan is of."""

    def __init__(self) -> None:
        super().__init__("Nothing is to be renewed in that off season: there is no work to plan.")


@dataclass(frozen=True)
class Planned:
    """What came of it: boats with a week, without, late; changed: whether rows were written."""

    boats: int
    unplaced: int
    late: int
    gap: float
    lacks: int
    changed: bool


def plan_for(
    fleet: Fleet, scenario: SeasonScenario | None = None, season: int | None = None, by=None
) -> YardPlan:
    """Return the plan of the refit list, or of a scenario's season: the one there is, or a new one.

    A new one has no weeks before it is worked out.
    """
    if scenario is not None:
        keys = {"fleet": fleet, "scenario": scenario, "scenario_season": season}
        label = (scenario.found.get("labels") or [""])[season]
        return YardPlan.objects.get_or_create(**keys, defaults={"made_by": by, "season": label})[0]
    base = Base.objects.of(fleet).first()
    label = span_of(base, fleet.today()).season.label if base else ""
    keys = {"fleet": fleet, "scenario": None, "season": label}
    return YardPlan.objects.get_or_create(**keys, defaults={"made_by": by})[0]


def run(plan: YardPlan, as_of: dt.date, say: Say, pause: Callable[[], None]) -> Planned:
    """Work the weeks out and save them. say: after each step; pause: often, and may raise to stop.

    Raises NothingToDo where no job is on the list.
    """
    asked, rows = question_of(plan, as_of)
    say(f"Jobs, bookings, lead times: {counted(sum(len(q.facts) for q in asked), 'boat')}")
    digest = digest_of(plan, asked)
    if plan.asked == digest:
        return outcome(plan, changed=False)
    answers = []
    for question in asked:
        answers.append(plan_yard(question.yard, tell=lambda step: pause()))
        say(f"Weeks at {question.row.base}")
    save(plan, digest, rows, list(zip(asked, answers, strict=True)))
    say("Saved")
    return outcome(plan, changed=True)


def question_of(plan: YardPlan, as_of: dt.date) -> tuple[list[BaseQuestion], list[YardBaseWeeks]]:
    """Set the plan's weeks out as of that day, unsaved, and return the question of each base."""
    on_list = list(jobs(plan))
    bases = sorted({job.boat.base for job in on_list}, key=lambda base: (base.name, base.pk))
    if not bases:
        raise NothingToDo
    rows = set_out(plan, bases, as_of)
    return questions(plan, rows, on_list), rows


def rows_of(plan: YardPlan, as_of: dt.date) -> list[YardBaseWeeks]:
    """Return what each base has: as it stands in the plan, or, before it is worked out, unsaved."""
    rows = list(plan.bases.select_related("base", "plan"))
    for row in rows:
        row.plan = plan
    return rows or question_of(plan, as_of)[1]


def digest_of(plan: YardPlan, asked: list[BaseQuestion]) -> str:
    """Return the SHA-256 of all that the weeks follow from."""
    said = [[f"{plan.first_monday}", plan.weeks, f"{plan.as_of}"]]
    for question in asked:
        yard = question.yard
        left = [[float(n) for n in yard.left[kind]] for kind in ("hours", "masts", "berths")]
        works = [_said(work) for work in sorted(yard.works, key=lambda work: work.boat)]
        said.append([yard.base, yard.opens, yard.closes, left, yard.left.days.tolist(), works,
                     vars(yard.prices)])  # fmt: skip
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _said(work) -> list:
    return [sorted(value) if isinstance(value, frozenset) else value for value in
            vars(work).values()]  # fmt: skip


def is_behind(plan: YardPlan) -> bool:
    """Return whether jobs, bookings, blocks, lead times, limits or moves changed since."""
    if not plan.asked:
        return False
    now = YardPlan.objects.select_related("fleet", "scenario").get(pk=plan.pk)
    try:
        asked, _ = question_of(now, plan.as_of)
    except NothingToDo:
        return True
    return digest_of(now, asked) != plan.asked


def outcome(plan: YardPlan, changed: bool) -> Planned:
    visits = list(plan.visits.all())
    placed = sum(visit.first_week is not None for visit in visits)
    late = sum(visit.late for visit in visits)
    found = plan.found
    return Planned(placed, len(visits) - placed, late, found["gap"], len(found["lacks"]), changed)


def save(
    plan: YardPlan, digest: str, rows: list[YardBaseWeeks],
    found: list[tuple[BaseQuestion, YardAnswer]],
) -> None:  # fmt: skip
    """Write bases, visits and what was found; what somebody moved meanwhile stays where it is."""
    with transaction.atomic():
        kept = kept_by_hand(plan)
        plan.bases.all().delete()
        plan.visits.all().delete()
        YardBaseWeeks.objects.bulk_create(rows)
        YardVisit.objects.bulk_create(
            [visit_row(plan, question, placed, kept.get(placed.boat))
             for question, answer in found for placed in answer.placed]
        )  # fmt: skip
        plan.asked, plan.planned_at = digest, timezone.now()
        plan.found = found_of([base_found(plan, answer) for _, answer in found])
        plan.save()


def visit_row(
    plan: YardPlan, question: BaseQuestion, placed: Placed, kept: Kept | None = None
) -> YardVisit:
    facts = question.facts[placed.boat]
    work = facts.work
    row = YardVisit(
        plan=plan, base=question.row.base, boat=facts.boat, weeks=work.weeks, hours=work.hours,
        mast_down=work.mast_down, must=facts.must, parts_ready=facts.parts_ready,
        kept_by=kept and kept.visit.kept_by, kept_at=kept and kept.visit.kept_at,
    )  # fmt: skip
    told(plan, question, placed, row)
    if kept is not None:
        row.first_week = None if kept.week == OUT else kept.week
    return row


def told(plan: YardPlan, question: BaseQuestion, placed: Placed, row: YardVisit) -> None:
    """Put what the planner found of a visit into its row."""
    row.first_week, row.late = placed.week, placed.late
    row.cost_minor = round(placed.cost)
    row.week_later_minor = None if placed.next_cost is None else round(placed.next_cost)
    row.why = why(plan, question.yard, question.facts[placed.boat], placed)[:300]


def base_found(plan: YardPlan, answer: YardAnswer) -> dict:
    """Return what was found at one base, as plain JSON."""
    return {
        "base": answer.base, "cost": round(answer.cost), "bound": answer.bound,
        "unproven": answer.unproven,
        "lacks": [_lack(plan, answer.base, each) for each in answer.lacks],
        "wish": [_lack(plan, answer.base, each) for each in answer.wish],
        "binding": [
            {"kind": each.kind, "base": answer.base, "week": each.week, "limit": each.limit,
             "monday": f"{plan.monday(each.week)}", "boats": each.boats, "held": each.held,
             "cost": round(each.cost)}
            for each in answer.full
        ],
    }  # fmt: skip


def _lack(plan: YardPlan, base: int, each: Lack) -> dict:
    return {
        "kind": each.kind, "base": base, "week": each.week, "monday": f"{plan.monday(each.week)}",
        "limit": each.limit, "over": each.over, "cost": round(each.cost),
    }  # fmt: skip


def found_of(bases: list[dict]) -> dict:
    """Return what the pages say of the plan: totals, and its limits one after the other."""
    cost, bound = sum(each["cost"] for each in bases), sum(each["bound"] for each in bases)
    lists = {
        kind: [each for base in bases for each in base[kind]]
        for kind in ("lacks", "wish", "binding")
    }
    return lists | {
        "bases": bases, "cost": cost, "bound": bound,
        "gap": max(0.0, cost - bound) / cost if cost > bound else 0.0,
        "unproven": sum(base["unproven"] for base in bases),
        "opening": sum(each["cost"] for each in lists["lacks"]),
        "wish_cost": sum(each["cost"] for each in lists["wish"]),
    }  # fmt: skip


def words(planned: Planned) -> str:
    """Return what came of it in a sentence or two."""
    if not planned.changed:
        return "Nothing had changed: the weeks stay as they are."
    said = f"{counted(planned.boats, 'boat has its weeks', 'boats have their weeks')}"
    said += f", {planned.unplaced} without" if planned.unplaced else ""
    said += f", {planned.late} not ready before guests" if planned.late else ""
    lacks = " Limits are gone over: see which, and by how much." if planned.lacks else ""
    return f"{said}, gap {100 * planned.gap:.2f} %.{lacks}"

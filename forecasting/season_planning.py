"""From the record of a fleet and one scenario to its plan over several off seasons, saved.

By the models in force, like `refresh.plan`; fitting nothing. Repeating it changes no plan.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Iterator

from django.db import transaction
from django.utils import timezone

from . import life_data, refresh
from .models import SEASONS, ScenarioJob, SeasonScenario
from .planning.seasons import SeasonPlan, plan_seasons
from .steps import basis, runs
from .steps.prospects import Prospects, look_ahead
from .steps.season_problem import season_problem
from .steps.standing import afloat
from .steps.wording import counted

Say = Callable[[str], None]
SET_UP, SET_UP_REASON = "mast_down", "Mast down and up again, once for all the jobs on this boat."


class NothingStands(Exception):
    """No part stands on any boat of the fleet: there is nothing to plan."""

    def __init__(self) -> None:
        super().__init__("No part stands on any boat: there is nothing to plan.")


def run(
    scenario: SeasonScenario,
    as_of: dt.date,
    say: Say,
    pause: Callable[[], None],
    ahead: Prospects | None = None,
) -> SeasonPlan:
    """Work the scenario out and save it. say: after each step; pause: often, and may raise to stop.
    ahead: the fleet's prospects of that day, where they are at hand.

    Raises NoModels before the first refresh, NothingStands, and ValueError, in words, where limits
    and rules leave a part no season.
    """
    asked = asked_digest(scenario)
    ahead = ahead or prospects(scenario, as_of, say)
    problem, chances = season_problem(ahead, scenario, scenario.moves.all())

    def tell(step: str) -> None:
        if step:
            say(step)
        pause()

    plan = plan_seasons(problem, tell=tell)
    due = dict(zip(problem.parts.part.tolist(), problem.parts.due.tolist(), strict=True))
    at = {part: p for p, part in enumerate(ahead.afloat.table.parts.tolist())}
    rows = list(job_rows(scenario, plan, due, lambda part, y: float(chances[at[part], y])))
    save(scenario, asked, as_of, found_of(plan, ahead, scenario), rows)
    say(f"Saved: {counted(len(rows), 'row')}")
    return plan


def prospects(scenario: SeasonScenario, as_of: dt.date, say: Say) -> Prospects:
    """Return the prospects the refit list rests on too."""
    fleet = scenario.fleet
    decisions = runs.in_force(fleet, refresh.KINDS)
    records = refresh.read(fleet, as_of, say)
    tables = {kind: life_data.lives(fleet, kind, as_of, records) for kind in refresh.KINDS}
    models = {kind: decision.model for kind, decision in decisions.items()}
    standing = afloat(records)
    if standing is None:
        raise NothingStands
    watched = refresh.watched(fleet, records, tables["wire"], models["wire"], say)
    standing = refresh.with_reports(standing, records, models["wire"], watched)
    ahead = look_ahead(fleet, records, standing, models, tables)
    say(f"Outlook of {counted(len(standing.parts), 'part')}")
    return ahead


def job_rows(
    scenario: SeasonScenario, plan: SeasonPlan, due: dict[int, int], chance
) -> Iterator[ScenarioJob]:
    """Yield a row for what is renewed or put off, and for each mast that comes down."""
    for job in plan.jobs:
        if job.season is None and job.code not in ("later", "pinned"):
            continue
        yield ScenarioJob(
            scenario=scenario,
            boat_id=job.boat,
            installation_id=job.part,
            season=job.season,
            code=job.code,
            reason=job.sentence,
            mast_down=job.mast_down,
            hours=job.hours,
            cost_minor=job.cost,
            put_off_minor=job.deferral,
            chance=1.0 if job.code == "condemned" else chance(job.part, job.season or 0),
            latest=due[job.part] if due[job.part] >= 0 else None,
        )
    for mast in plan.mast_down:
        yield ScenarioJob(
            scenario=scenario, boat_id=mast.boat, season=mast.season, code=SET_UP,
            reason=SET_UP_REASON, mast_down=True, hours=mast.set_up_hours,
            cost_minor=mast.set_up_cost,
        )  # fmt: skip


def found_of(plan: SeasonPlan, ahead: Prospects, scenario: SeasonScenario) -> dict:
    """Return what the page says of the plan, as plain JSON."""
    bases = sorted(base.pk for base in scenario.fleet.bases.all())
    lifts = scenario.boats_a_crane_day
    used = {
        str(pk): {kind: plan.used[kind][k].tolist() for kind in ("hours", "crane", "yard")}
        for k, pk in enumerate(bases)
    }
    return {
        "labels": labels(ahead),
        "cost": plan.cost,
        "bound": plan.bound,
        "gap": plan.gap,
        "work": plan.work,
        "put_off": plan.put_off,
        "money": plan.used["money"][0].tolist(),
        "used": used,
        "waits": plan.condemned_wait,
        "excess": [_limit(each, lifts) | {"over": each.over} for each in plan.excess],
        "binding": [_limit(each, lifts) | {"worth": each.worth} for each in plan.binding],
        "before": scenario.found.get("cost"),
    }


def _limit(each, lifts: float) -> dict:
    """A limit by kind, base and season; crane lifts are told as such, days beside them."""
    days = each.limit / lifts if each.kind == "crane" else None
    return {
        "kind": each.kind, "base": each.base, "season": each.season, "limit": each.limit,
        "days": days,
    }  # fmt: skip


def labels(ahead: Prospects) -> list[str]:
    """Return the names of the off seasons, after those of the first boat's base."""
    season = ahead.seasons[0]
    first = season.next_starts.year - 1
    if "/" not in season.label:
        return [f"{first + y}" for y in range(SEASONS)]
    return [f"{first + y}/{(first + y + 1) % 100:02d}" for y in range(SEASONS)]


def asked_digest(scenario: SeasonScenario) -> str:
    """Return the SHA-256 of all that the scenario's plan follows from beside the record."""
    asked = [
        basis.digest(scenario.fleet),
        [scenario.money, scenario.idle_minor, scenario.boats_a_crane_day, scenario.discount],
        [
            [row.base_id, row.hours, row.crane_days, row.yard_slots]
            for row in scenario.bases.order_by("base_id")
        ],
        list(scenario.moves.order_by("installation_id").values_list("installation_id", "season")),
    ]
    return hashlib.sha256(json.dumps(asked).encode()).hexdigest()


def is_behind(scenario: SeasonScenario) -> bool:
    """Return whether limits, moves, rules or prices changed since it was worked out."""
    return bool(scenario.asked) and scenario.asked != asked_digest(scenario)


def save(
    scenario: SeasonScenario, asked: str, as_of: dt.date, found: dict, rows: list[ScenarioJob]
) -> None:
    with transaction.atomic():
        scenario.jobs.all().delete()
        ScenarioJob.objects.bulk_create(rows, batch_size=500)
        SeasonScenario.objects.filter(pk=scenario.pk).update(
            asked=asked, as_of=as_of, planned_at=timezone.now(), found=found
        )

"""From the record of a fleet to its outlook, refit list and budget, in the order told below.

Pull, not push: a refresh reads what has been recorded since, and writes only what has changed.
"""

import datetime as dt
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from fleet.models import Fleet, Installation

from . import life_data
from .models import ModelRun
from .steps import condition, runs, saving, watches
from .steps.ages import age_rows
from .steps.basis import basis
from .steps.budget_behind import part_money, payer_rows
from .steps.budget_rows import budget_rows, budgeted, nothing_rows
from .steps.look_curves import look_curve
from .steps.outlook_rows import boat_rows, inspect_by_rows, part_rows
from .steps.prospects import Prospects, look_ahead
from .steps.refit_rows import refit, refit_rows
from .steps.standing import Afloat, afloat
from .steps.ways import way_rows
from .steps.wording import counted
from .survival import LifeModel

Say = Callable[[str], None]
KINDS = tuple(str(kind) for kind in Installation.Kind.values)  # wires first: they lend slopes


@dataclass(frozen=True)
class RefreshResult:
    """What a refresh left in place. ``rewritten``: tables that had to be; 0 where nothing changed.

    runs: kind of part -> the run in force; warnings: what prices had to be guessed, in words.
    ahead: the prospects it all follows from, None where nothing stands.
    """

    fleet: Fleet
    as_of: dt.date
    runs: dict[str, ModelRun]
    boats: int
    parts: int
    jobs: int
    rewritten: int
    warnings: tuple[str, ...]
    ahead: Prospects | None = field(default=None, repr=False, compare=False)


def run(fleet: Fleet, as_of: dt.date, say: Say = lambda text: None) -> RefreshResult:
    """Fit, forecast and plan for one fleet as of a day, and save it. Repeating changes nothing."""
    records = read(fleet, as_of, say)
    tables = {kind: life_data.lives(fleet, kind, as_of, records) for kind in KINDS}
    decisions: dict[str, runs.Decision] = {}
    for kind in KINDS:
        wires = decisions[KINDS[0]].model if decisions else None
        decisions[kind] = decide(fleet, kind, tables[kind], as_of, say, wires)
    return follow(fleet, records, tables, decisions, say)


def plan(fleet: Fleet, as_of: dt.date, say: Say = lambda text: None) -> RefreshResult:
    """Make outlook, refit list and budget anew by the models in force, fitting nothing.

    For when rules or prices changed. Raises NoModels before the first refresh, and Superseded
    when one put newer models in force meanwhile.
    """
    decisions = runs.in_force(fleet, KINDS)
    records = read(fleet, as_of, say)
    tables = {kind: life_data.lives(fleet, kind, as_of, records) for kind in KINDS}
    return follow(fleet, records, tables, decisions, say)


def follow(
    fleet: Fleet,
    records: life_data.Records,
    tables: dict[str, life_data.LifeTable],
    decisions: dict[str, runs.Decision],
    say: Say,
) -> RefreshResult:
    """Save what follows from the record and the models: outlooks, refit list and budget."""
    as_of = records.as_of
    models = {kind: decision.model for kind, decision in decisions.items()}
    rests_on = (basis(fleet, as_of),)
    read_watches = watched(fleet, records, tables["wire"], models["wire"], say)
    standing = afloat(records)
    if standing is None:
        say("No part stands on any boat: nothing to forecast.")
        found = saving.Found(
            decisions,
            budget=tuple(nothing_rows(fleet, as_of)),
            basis=rests_on,
            condition=read_watches.run,
        )
        return save(fleet, as_of, found, (), say)
    with step(say, "Outlook") as came_out:
        standing = with_reports(standing, records, models["wire"], read_watches)
        ahead = look_ahead(fleet, records, standing, models, tables)
        came_out(
            f"{counted(len(standing.parts), 'part')} on {counted(len(standing.boats), 'boat')}"
        )
    fleet_to_be = joined_by(ahead, records, models, tables, read_watches)
    plans = planned(ahead, fleet_to_be, records, decisions, read_watches, say)
    found = replace(plans, basis=rests_on)
    return replace(save(fleet, as_of, found, ahead.prices.warnings, say), ahead=ahead)


def read(fleet: Fleet, as_of: dt.date, say: Say) -> life_data.Records:
    with step(say, "Record read") as came_out:
        records = life_data.read(fleet, as_of)
        looks = counted(len(records.looks), "inspection")
        came_out(f"{counted(len(records.boats), 'boat')}, {looks} up to {as_of:%d %b %Y}")
    return records


def decide(
    fleet: Fleet,
    kind: str,
    table: life_data.LifeTable,
    as_of: dt.date,
    say: Say,
    wires: LifeModel | None = None,
) -> runs.Decision:
    with step(say, f"Life of {kind}s") as came_out:
        decision = runs.decide(fleet, kind, table, as_of, wires)
        last = decision.new[-1] if decision.new else decision.in_force
        left_out = sum(table.left_out.values())
        came_out(
            f"{counted(last.lives, 'spot')}, {counted(last.deaths, 'condemned', 'condemned')}, "
            f"{left_out:,.0f} left out; {last.get_state_display()}"
            + ("" if decision.new else ", unchanged")
        )
    return decision


def watched(
    fleet: Fleet,
    records: life_data.Records,
    table: life_data.LifeTable,
    model: LifeModel,
    say: Say,
) -> condition.ConditionDecision:
    with step(say, "What becomes of a watch") as came_out:
        decision = condition.decide(fleet, records, table, model, records.as_of)
        run = decision.run
        came_out(f"{run.followed} of {counted(run.watches, 'watch', 'watches')} followed up; "
                 + run.get_state_display())  # fmt: skip
    return decision


def with_reports(
    standing: Afloat,
    records: life_data.Records,
    model: LifeModel,
    decision: condition.ConditionDecision,
) -> Afloat:
    """Return what stands, with what looks reported of it, where the record tells what follows."""
    told = decision.condition
    if told is None:
        return standing
    found = watches.foreseen(records, standing.table, model, told)
    return replace(standing, table=replace(standing.table, foreseen=found))


def joined_by(
    ahead: Prospects,
    records: life_data.Records,
    models: dict[str, LifeModel],
    tables: dict[str, life_data.LifeTable],
    decision: condition.ConditionDecision,
) -> Prospects:
    """Return the same with the boats that join later: they count in the budget from that day on."""
    standing = afloat(records, coming=True)
    if len(standing.boats) == len(ahead.afloat.boats):
        return ahead
    standing = with_reports(standing, records, models["wire"], decision)
    return look_ahead(ahead.fleet, records, standing, models, tables)


def planned(
    ahead: Prospects,
    fleet_to_be: Prospects,
    records: life_data.Records,
    decisions: dict[str, runs.Decision],
    read_watches: condition.ConditionDecision,
    say: Say,
) -> saving.Found:
    """Return the rows that follow from the prospects: outlooks, refit list and budget.

    fleet_to_be: the prospects with the boats that join later; only the budget counts those.
    """
    in_force = {kind: decision.in_force for kind, decision in decisions.items()}
    with step(say, "Refit list") as came_out:
        work = refit(ahead)
        jobs = tuple(refit_rows(ahead, work))
        came_out(f"{counted(len(work.jobs), 'part')} on {counted(len(work.boats), 'boat')}")
    with step(say, "Budget") as came_out:
        budget = budgeted(fleet_to_be, work)
        money = tuple(budget_rows(fleet_to_be, budget))
        came_out(f"{len(budget.years)} fiscal years by fleet, base and boat")
    with step(say, "Other ways to keep the rigs") as came_out:
        ways = tuple(way_rows(fleet_to_be, work))
        came_out("as planned, on condition alone, at a fixed age")
    with step(say, "Ages and intervals that cost least") as came_out:
        ages = tuple(age_rows(ahead, in_force))
        looked = tuple(condition.looked(ahead, read_watches.condition))
        came_out(f"{counted(len(ages), 'group')} of parts, {counted(len(looked), 'kind')} of look")
    return saving.Found(
        decisions=decisions,
        parts=tuple(part_rows(ahead, in_force, records)),
        boats=tuple(boat_rows(ahead, records)),
        inspect_by=tuple(inspect_by_rows(ahead, records)),
        jobs=jobs,
        budget=money,
        behind=tuple(part_money(fleet_to_be, budget)),
        payers=tuple(payer_rows(fleet_to_be, budget)),
        ways=ways,
        condition=read_watches.run,
        intervals=tuple(condition.interval_row(ahead, each) for each in looked),
        failing=tuple(condition.failing_rows(ahead)),
        ages=ages,
        look_curves=tuple(look_curve(ahead, each) for each in looked),
    )


def save(
    fleet: Fleet, as_of: dt.date, found: saving.Found, warnings: tuple[str, ...], say: Say
) -> RefreshResult:
    with step(say, "Saved") as came_out:
        rewritten = saving.save(fleet, found)
        came_out(counted(rewritten, "table") + " rewritten" if rewritten else "nothing changed")
    for warning in warnings:
        say(f"Note: {warning}")
    return RefreshResult(
        fleet=fleet,
        as_of=as_of,
        runs={kind: decision.in_force for kind, decision in found.decisions.items()},
        boats=len(found.boats),
        parts=len(found.parts),
        jobs=len([job for job in found.jobs if job.installation_id]),
        rewritten=rewritten,
        warnings=warnings,
    )


@contextmanager
def step(say: Say, what: str) -> Iterator[Callable[[str], None]]:
    """Say what was done, what came of it and how long it took."""
    start, came_of_it = time.monotonic(), []
    yield came_of_it.append
    say(f"{what}: {came_of_it[-1]} ({time.monotonic() - start:.1f} s)")

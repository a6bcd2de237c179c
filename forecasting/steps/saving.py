"""Writes what a refresh found: only where it differs from what is there, in one transaction."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from django.db import models, transaction

from fleet.models import Fleet
from inspections.models import InspectBy

from ..models import (
    AgeGroup,
    BoatOutlook,
    BudgetDraws,
    BudgetFigure,
    ConditionRun,
    FailingRate,
    LookCurve,
    LookInterval,
    PartMoney,
    PartOutlook,
    PlanBasis,
    PolicyCost,
    RefitJob,
)
from . import runs

ROWS_AT_ONCE = 500
ORDERED_BY = (
    "year",
    "code",
    "season",
    "level",
    "payer",
    "way",
    "kind",
    "construction",
    "service",
)  # with what a row is of, one row each


@dataclass(frozen=True)
class Found:
    """Everything one refresh of a fleet has to write; rows not yet saved."""

    decisions: dict[str, runs.Decision]
    parts: Sequence[PartOutlook] = ()
    boats: Sequence[BoatOutlook] = ()
    inspect_by: Sequence[InspectBy] = ()
    jobs: Sequence[RefitJob] = ()
    budget: Sequence[BudgetFigure] = field(default_factory=tuple)
    behind: Sequence[PartMoney] = ()
    payers: Sequence[BudgetDraws] = ()
    ways: Sequence[PolicyCost] = ()
    basis: Sequence[PlanBasis] = ()
    condition: ConditionRun | None = None
    intervals: Sequence[LookInterval] = ()
    failing: Sequence[FailingRate] = ()
    ages: Sequence[AgeGroup] = ()
    look_curves: Sequence[LookCurve] = ()


@transaction.atomic
def save(fleet: Fleet, found: Found) -> int:
    """Make the stored rows of a fleet the found ones; return how many tables had to be rewritten.

    Two refreshes of one fleet take turns. A table whose rows are the same is left alone. Raises
    Superseded where a model it rests on is no longer in force.
    """
    Fleet.objects.select_for_update().get(pk=fleet.pk)
    runs.must_be_in_force(found.decisions)
    changed = int(runs.save(found.decisions) > 0) + _save_condition(fleet, found.condition)
    for row in found.parts:
        row.run_id = row.run.pk
    tables = (
        (PartOutlook, found.parts),
        (BoatOutlook, found.boats),
        (InspectBy, found.inspect_by),
        (RefitJob, found.jobs),
        (BudgetFigure, found.budget),
        (PartMoney, found.behind),
        (BudgetDraws, found.payers),
        (PolicyCost, found.ways),
        (PlanBasis, found.basis),
        (LookInterval, found.intervals),
        (FailingRate, found.failing),
        (AgeGroup, found.ages),
        (LookCurve, found.look_curves),
    )
    return changed + sum(_replace(model.objects.of(fleet), rows) for model, rows in tables)


def _save_condition(fleet: Fleet, run: ConditionRun | None) -> int:
    """Save a new reading of the watches; a refused one leaves the last good one in force."""
    if run is None or run.pk is not None:
        return 0
    run.in_force = run.state == ConditionRun.State.FITTED
    if run.in_force:
        ConditionRun.objects.of(fleet).in_force().update(in_force=False)
    run.save()
    return 1


def _replace(stored: models.QuerySet, rows: Sequence[models.Model]) -> bool:
    fields = [each for each in stored.model._meta.concrete_fields if not each.primary_key]
    there = stored.values_list(*(each.attname for each in fields))
    whose = [i for i, each in enumerate(fields) if each.is_relation or each.name in ORDERED_BY]
    if _in_order(there, whose) == _in_order((_values(row, fields) for row in rows), whose):
        return False
    stored.delete()
    stored.model.objects.bulk_create(rows, batch_size=ROWS_AT_ONCE)
    return True


def _values(row: models.Model, fields: list[models.Field]) -> tuple:
    """Return the values as the database gives them back: a 0 in a float column as 0.0."""
    return tuple(each.to_python(getattr(row, each.attname)) for each in fields)


def _in_order(rows: Iterable[tuple], whose: Sequence[int]) -> list[tuple]:
    """Return the rows by what they are of, comparably with others of the same table."""
    return sorted(rows, key=lambda row: [str(row[i]) for i in whose])

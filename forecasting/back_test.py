"""How far to trust the forecast: past ones tested, the curve in force beside what was seen.

It costs a fit for each year and kind of part, so it is work of its own, done when what it rests on
has changed; a refresh asks for it.
"""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from fleet.models import Fleet

from . import life_data
from .models import BackTest, ModelRun
from .steps.back_testing import KINDS, Say, fingerprint, years_of
from .steps.seen import seen
from .steps.verdict_of_past import result
from .survival import LifeModel


@dataclass(frozen=True)
class Tested:
    """What a test left in place. changed: False where everything was as it had been."""

    fleet: Fleet
    rows: tuple[BackTest, ...]
    changed: bool


def run(fleet: Fleet, today: dt.date, say: Say = lambda text: None) -> Tested:
    """Test the forecasts of the last years and save what came out. Repeating changes nothing."""
    records = life_data.read(fleet, today)
    tables = {kind: life_data.lives(fleet, kind, today, records) for kind in KINDS}
    runs = {run.kind: run for run in ModelRun.objects.of(fleet).in_force()}
    now = fingerprint(fleet, today, tables, runs)
    stored = tuple(BackTest.objects.of(fleet))
    if len(stored) == len(KINDS) and all(row.fingerprint == now for row in stored):
        say("Nothing has changed since the last test.")
        return Tested(fleet, stored, False)
    years = years_of(fleet, today, records, say)
    rows = tuple(
        BackTest(
            fleet=fleet,
            kind=kind,
            as_of=today,
            fingerprint=now,
            result=result(years[kind]),
            seen=seen(LifeModel.from_dict(runs[kind].model), tables[kind]) if kind in runs else {},
        )
        for kind in KINDS
    )
    say("What was seen set beside the curves in force")
    save(fleet, rows)
    return Tested(fleet, rows, True)


@transaction.atomic
def save(fleet: Fleet, rows: tuple[BackTest, ...]) -> None:
    """Put these in the place of what there was; two tests of one fleet take turns."""
    Fleet.objects.select_for_update().get(pk=fleet.pk)
    BackTest.objects.of(fleet).delete()
    BackTest.objects.bulk_create(rows)

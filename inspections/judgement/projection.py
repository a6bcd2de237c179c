"""Writes what follows from the record: only rows that differ, so that ids stay as they are."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.db import models, transaction

from fleet.models import Boat, Installation

from ..models import Hold, Inspection, PartVerdict
from . import holds
from .history import BoatHistory, load
from .inserting import insert
from .judging import Bench, Judged, Verdict

BOATS_AT_ONCE = 25
ROWS_AT_ONCE = 500
VERDICT_FIELDS = (
    *("lower", "run", "upper", "whole"),
    *("value", "spot", "reasons", "watched", "again_by"),
)
HOLD_KEY = ("boat_id", "cause", "installation_id", "inspection_id", "finding_id", "since")
HOLD_FIELDS = ("reason", "unproved_id", "lifted_on", "lifted_by", "lifted_how")


@dataclass
class Written:
    """How many rows follow from the record, and how many of them had to be written."""

    verdicts: int = 0
    holds: int = 0
    changed: int = 0


def judge(boat_ids: Iterable[int]) -> Written:
    """Judge every inspection of these boats in order of date; settle their holds.

    Raises ``criteria.UnknownSign`` for a finding whose sign is in no criteria and ValueError for a
    sign at a spot the part does not have; nothing of the boats at hand is written then.
    """
    written, bench = Written(), Bench()
    for chunk in _chunks(sorted(set(boat_ids))):
        with transaction.atomic():
            judged = [bench.judge_boat(history) for history in _locked(chunk)]
            written.verdicts += sum(len(each.verdicts) for each in judged)
            written.changed += _write_verdicts(judged) + _write_condemned(judged)
            written.changed += _write_criteria([each.history for each in judged])
            _settle(judged, written)
    return written


def settle(boat_ids: Iterable[int]) -> Written:
    """Work out the holds of these boats from facts on record, and write those that differ."""
    written, bench = Written(), Bench()
    for chunk in _chunks(sorted(set(boat_ids))):
        with transaction.atomic():
            _settle([bench.judge_boat(history) for history in _locked(chunk)], written)
    return written


def _chunks(boat_ids: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(boat_ids), BOATS_AT_ONCE):
        yield boat_ids[start : start + BOATS_AT_ONCE]


def _locked(boat_ids: list[int]) -> Iterator[BoatHistory]:
    """Read the boats' histories while nobody else writes what follows from them."""
    list(Boat.objects.select_for_update().filter(pk__in=boat_ids).order_by("pk").values_list("pk"))
    return load(boat_ids)


def _settle(judged: list[Judged], written: Written) -> None:
    wanted = [hold for each in judged for hold in holds.project(each)]
    written.holds += len(wanted)
    written.changed += _write_holds(judged, wanted) + _ask_for_proof(wanted)


def _write_verdicts(judged: list[Judged]) -> int:
    boats = [each.history.boat.pk for each in judged]
    rows = PartVerdict.objects.filter(inspection__boat__in=boats)
    key = ("inspection_id", "installation_id")
    wanted = [row for each in judged for row in each.verdicts]
    return _write(PartVerdict, rows, key, VERDICT_FIELDS, wanted)


def _write_holds(judged: list[Judged], wanted: list[Hold]) -> int:
    rows = Hold.objects.filter(boat__in=[each.history.boat.pk for each in judged])
    return _write(Hold, rows, HOLD_KEY, HOLD_FIELDS, wanted)


def _ask_for_proof(wanted: list[Hold]) -> int:
    """Note on each part that holds its boat now that only a proved renewal will end that.

    The one thing here that is remembered: once it was so, no row entered later undoes it.
    """
    standing = [h for h in wanted if h.cause == Hold.Cause.REPLACE and h.lifted_on is None]
    parts = {h.installation.pk: h.installation for h in standing if not h.installation.proof_due}
    for part in parts.values():
        part.proof_due = True
    Installation.objects.bulk_update(parts.values(), ["proof_due"], batch_size=ROWS_AT_ONCE)
    return len(parts)


def forget_proof(boat_ids: Iterable[int]) -> None:
    """Forget it of parts that no condemnation and no failure on record holds or held a boat for.

    Only after an import was taken back: what it said of those parts was never so.
    """
    due = Installation.objects.filter(stay__boat__in=list(boat_ids), proof_due=True)
    holding = Hold.objects.filter(cause=Hold.Cause.REPLACE, installation=models.OuterRef("pk"))
    due.exclude(models.Exists(holding)).update(proof_due=False)


def _write(
    model: type[models.Model],
    rows: models.QuerySet,
    key: tuple[str, ...],
    fields: tuple[str, ...],
    wanted: Sequence[Verdict | Hold],
) -> int:
    """Make the stored rows the wanted ones; return how many were added, changed or removed."""
    stored = {
        row[1 : 1 + len(key)]: row for row in rows.order_by().values_list("pk", *key, *fields)
    }
    new, changed = [], []
    for row in wanted:
        own = tuple(getattr(row, name) for name in key)
        values = tuple(getattr(row, name) for name in fields)
        old = stored.pop(own, None)
        if old is None:
            new.append(own + values)
        elif old[1 + len(key) :] != values:
            columns = dict(zip((*key, *fields), own + values, strict=True))
            changed.append(model(pk=old[0], **columns))
    gone = [old[0] for old in stored.values()]
    for start in range(0, len(gone), ROWS_AT_ONCE):
        model.objects.filter(pk__in=gone[start : start + ROWS_AT_ONCE]).delete()
    insert(model, (*key, *fields), new)
    model.objects.bulk_update(changed, fields, batch_size=ROWS_AT_ONCE)
    return len(new) + len(changed) + len(gone)


def _write_condemned(judged: list[Judged]) -> int:
    """Set on each part the day it was first judged *replace*."""
    changed = []
    for each in judged:
        for span in each.history.spans:
            day: dt.date | None = each.condemned.get(span.part.pk)
            if span.part.condemned_on != day:
                span.part.condemned_on = day
                changed.append(span.part)
    Installation.objects.bulk_update(changed, ["condemned_on"], batch_size=ROWS_AT_ONCE)
    return len(changed)


def _write_criteria(histories: list[BoatHistory]) -> int:
    """Note on each inspection by which limits it was judged."""
    changed = defaultdict(list)
    for history in histories:
        for look in history.inspections:
            version, criteria = history.criteria_on(look.on)
            limits = (version.pk if version else None, criteria.version)
            if (look.criteria_id, look.criteria_fingerprint) != limits:
                changed[limits].append(look.pk)
    for (version, fingerprint), looks in changed.items():
        for start in range(0, len(looks), ROWS_AT_ONCE):
            rows = Inspection.objects.filter(pk__in=looks[start : start + ROWS_AT_ONCE])
            rows.update(criteria=version, criteria_fingerprint=fingerprint)
    return sum(map(len, changed.values()))

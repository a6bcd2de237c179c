"""The last import taken back: its new rows go, its changed rows are again what they were.

Nothing entered since is lost: as soon as a row of the import was changed afterwards, or something
was recorded on it, the undo refuses and says what. A model that only follows from the record (a
verdict, a forecast) says so by ``FOLLOWS``, a condition on its rows; those rows go with it.
"""

import hashlib
from collections.abc import Iterable, Iterator, Sequence

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import ForeignObjectRel
from django.db.models.options import Options
from django.utils import timezone

from .models import Fleet, ImportRecord
from .spreadsheets.drafts import Draft

AT_ONCE = 500
KEPT = 5  # Imports of a fleet that can still be undone, one after the other.
# Fields worked out from the record, which change without anybody touching the row.
WORKED_OUT = {"condemned_on", "criteria_id", "criteria_fingerprint"}


def remember(draft: Draft, files: Iterable[str], by) -> ImportRecord | None:
    """Keep what undoing a written draft takes; None when it wrote nothing."""
    rows = [
        {
            "model": model._meta.label,
            "new": digests(model, new),
            "changed": _changed(model, before),
        }
        for model, new, before in draft.written()
    ]
    if not rows:
        return None
    record = ImportRecord.objects.create(
        fleet=draft.fleet,
        by=by,
        files=", ".join(files)[:500],
        new=sum(count.new for count in draft.counts.values()),
        changed=sum(count.changed for count in draft.counts.values()),
        boats=sorted(boat.pk for boat in draft.touched.values()),
        rows=rows,
    )
    old = ImportRecord.objects.of(draft.fleet).values_list("pk", flat=True)[KEPT:]
    ImportRecord.objects.filter(pk__in=list(old)).update(rows=[])
    return record


def _changed(model: type[models.Model], before: dict[int, dict]) -> dict[str, dict]:
    return {
        pk: {"digest": digest, "before": before[int(pk)]}
        for pk, digest in digests(model, list(before)).items()
    }


def digests(model: type[models.Model], ids: Sequence[int]) -> dict[str, str]:
    """Return id -> a short digest of that row as it stands, for the rows that exist."""
    names = [f.attname for f in model._meta.concrete_fields if f.attname not in WORKED_OUT]
    found = {}
    for chunk in _chunks(ids):
        rows = model._default_manager.order_by().filter(pk__in=chunk)
        for pk, *values in rows.values_list("pk", *names):
            found[str(pk)] = hashlib.sha256(repr(values).encode()).hexdigest()[:12]
    return found


def _chunks(ids: Iterable) -> Iterator[list[int]]:
    ids = [int(pk) for pk in ids]
    for start in range(0, len(ids), AT_ONCE):
        yield ids[start : start + AT_ONCE]


def last_import(fleet: Fleet) -> ImportRecord | None:
    """Return the newest import that has not been undone, if undoing it is still possible."""
    record = ImportRecord.objects.of(fleet).select_related("by").filter(undone_at=None).first()
    return record if record and record.rows else None


def undoing_words(record: ImportRecord) -> str:
    """Say what undoing takes out and what it puts back, kind by kind."""
    new, changed = _of_each(record, "new"), _of_each(record, "changed")
    said = [
        f"takes out {new} that it added" if new else "",
        f"puts {changed} back as before it" if changed else "",
    ]
    return f"Undoing {', and '.join(filter(None, said))}."


def undone_words(record: ImportRecord) -> str:
    """Say what an undo has done; asked for before, since the record forgets its rows."""
    new, changed = _of_each(record, "new"), _of_each(record, "changed")
    said = [f"taken out {new}" if new else "", f"as before {changed}" if changed else ""]
    return f"Undone: {'; '.join(filter(None, said))}."


def _of_each(record: ImportRecord, what: str) -> str:
    return _listed((apps.get_model(rows["model"])._meta, len(rows[what])) for rows in record.rows)


def _listed(counts: Iterable[tuple[Options, int]]) -> str:
    """Return ``1 boat, 3 parts and 2 inspections`` of models' options and numbers."""
    words = [
        f"{number:,} {meta.verbose_name if number == 1 else meta.verbose_name_plural}"
        for meta, number in counts
        if number
    ]
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


@transaction.atomic
def undo(record: ImportRecord, by) -> list[int]:
    """Take an import back; return the ids of its boats that are left, to be judged again.

    Raises ValidationError, in words, if it is not the last one or later work rests on its rows.
    """
    # Whoever imports holds the fleet, whoever records an inspection its boat: both wait.
    fleet = Fleet.objects.select_for_update().get(pk=record.fleet_id)
    list(fleet.boats.select_for_update().order_by("pk").values_list("pk"))
    last = last_import(record.fleet)
    if last is None or last.pk != record.pk:
        raise ValidationError("This is not the last import any more, so it was left as it is.")
    tables = [(apps.get_model(rows["model"]), rows) for rows in last.rows]
    reasons = [*_changed_since(tables), *_recorded_since(tables)]
    if reasons:
        raise ValidationError(reasons)
    for model, rows in reversed(tables):
        _take_back(model, rows)
    last.rows, last.undone_at, last.undone_by = [], timezone.now(), by
    last.save(update_fields=["rows", "undone_at", "undone_by"])
    left = record.fleet.boats.filter(pk__in=last.boats)
    return list(left.values_list("pk", flat=True))


def _changed_since(tables: list[tuple[type[models.Model], dict]]) -> Iterator[str]:
    for model, rows in tables:
        left = rows["new"] | {pk: each["digest"] for pk, each in rows["changed"].items()}
        now = digests(model, list(left))
        gone = sum(pk not in now for pk in left)
        other = sum(pk in now and now[pk] != digest for pk, digest in left.items())
        what = model._meta.verbose_name_plural
        if gone:
            yield f"Of its {what}, {gone} {_are(gone)} not there any more."
        if other:
            yield (
                f"Of its {what}, {other} {_are(other)} changed since. Undoing the import would "
                "lose that."
            )


def _recorded_since(tables: list[tuple[type[models.Model], dict]]) -> Iterator[str]:
    """Yield what was recorded after the import on rows that it added."""
    own = {model: {int(pk) for pk in rows["new"]} for model, rows in tables}
    found: dict[type[models.Model], set[int]] = {}
    for model, rows in tables:
        for link in model._meta.related_objects:
            later = _linked(link, rows["new"]) - own.get(link.related_model, set())
            found.setdefault(link.related_model, set()).update(later)
    counts = [(model._meta, len(ids)) for model, ids in found.items() if ids]
    if counts:
        were = "was" if [number for _, number in counts] == [1] else "were"
        yield (
            f"{_listed(counts)} {were} recorded since on what it added. Undoing the import would "
            "lose that."
        )


def _linked(link: ForeignObjectRel, new: dict[str, str]) -> set[int]:
    """Return the ids of rows that point at new rows, without those that follow from the record."""
    rows = link.related_model._default_manager.order_by()
    follows = getattr(link.related_model, "FOLLOWS", None)
    if follows is not None:
        rows = rows.exclude(follows) if follows else rows.none()
    where = f"{link.field.name}__in"
    return {
        pk
        for chunk in _chunks(new)
        for pk in rows.filter(**{where: chunk}).values_list("pk", flat=True)
    }


def _are(number: int) -> str:
    return "is" if number == 1 else "are"


def _take_back(model: type[models.Model], rows: dict) -> None:
    """Delete the new rows of one table first: the old part goes up where the new one stood."""
    for chunk in _chunks(rows["new"]):
        model._default_manager.filter(pk__in=chunk).delete()
    stored = model._default_manager.in_bulk([int(pk) for pk in rows["changed"]])
    fields: set[str] = set()
    for pk, each in rows["changed"].items():
        for attname, value in each["before"].items():
            field = model._meta.get_field(attname)
            setattr(stored[int(pk)], field.attname, field.to_python(value))
            fields.add(field.name)
    if fields:
        model._default_manager.bulk_update(stored.values(), sorted(fields), batch_size=AT_ONCE)

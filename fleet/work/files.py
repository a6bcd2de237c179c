"""Files that a job made for somebody to download: one a row, kept some days under ``var/made``."""

import datetime as dt
from collections import Counter
from pathlib import Path

from django.conf import settings

from ..models import WorkRow

KEPT = dt.timedelta(days=3)
MOST_OF_A_FLEET = 5


def folder() -> Path:
    """Return the folder, made readable by its owner alone."""
    place = Path(settings.VAR_DIR) / "made"
    place.mkdir(parents=True, exist_ok=True, mode=0o700)
    return place


def path_of(row: WorkRow) -> Path:
    """Return where the file of a row lies, or will."""
    return folder() / str(row.pk)


def kept_until(row: WorkRow) -> dt.datetime | None:
    """Return until when the file can be downloaded; None when there is none."""
    if not row.made or row.ended_at is None or not path_of(row).is_file():
        return None
    return row.ended_at + KEPT


def sweep(now: dt.datetime) -> None:
    """Delete what is too old or too much of one fleet, and what belongs to no row any more."""
    of_fleet: Counter[int] = Counter()
    for row in WorkRow.objects.exclude(made="").order_by("-ended_at", "-pk"):
        of_fleet[row.fleet_id] += 1
        if row.ended_at < now - KEPT or of_fleet[row.fleet_id] > MOST_OF_A_FLEET:
            path_of(row).unlink(missing_ok=True)
            WorkRow.objects.filter(pk=row.pk).update(made="")
    for path in folder().iterdir():
        # Nobody's: cut off while it was written, or its row is gone with its fleet.
        if dt.datetime.fromtimestamp(path.stat().st_mtime, dt.UTC) < now - 2 * KEPT:
            path.unlink(missing_ok=True)

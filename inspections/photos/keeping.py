"""A photo taken in once under the id it got on the phone, and what nobody claimed taken out."""

import datetime as dt
import hashlib
import uuid

from django.db import transaction

from fleet.models import Fleet

from ..models import Photo
from . import files
from .redraw import NoPhoto, redraw

KEPT = dt.timedelta(days=30)
EVERY = dt.timedelta(days=1)
CUT_OFF = dt.timedelta(days=2)


def keep(
    fleet: Fleet, user, photo_id: uuid.UUID, sent: bytes, taken_on: dt.date
) -> tuple[Photo, bool]:
    """Return the photo, and whether it is new; the same id again is the same photo.

    Raises NoPhoto for what is none, and for an id that is another fleet's.
    """
    known = Photo.objects.filter(pk=photo_id).first()
    if known is not None:
        return _own(known, fleet), False
    made = redraw(sent)
    facts = {
        "fleet": fleet,
        "taken_on": taken_on,
        "width": made.width,
        "height": made.height,
        "bytes": len(made.jpeg),
        "sha256": hashlib.sha256(made.jpeg).hexdigest(),
        "by": user,
    }
    with transaction.atomic():
        # The row first: it makes two senders of one photo take turns at its files.
        photo, new = Photo.objects.get_or_create(pk=photo_id, defaults=facts)
        if new:
            files.write(fleet.pk, photo_id, made)
    return _own(photo, fleet), new


def _own(photo: Photo, fleet: Fleet) -> Photo:
    if photo.fleet_id != fleet.pk:
        raise NoPhoto("This number is taken. Take the photo again.")
    return photo


def prune_daily(now: dt.datetime) -> None:
    """Prune, unless that was done within the day; two clocks that both do it do no harm."""
    mark = files.folder() / ".pruned"
    if mark.exists() and dt.datetime.fromtimestamp(mark.stat().st_mtime, dt.UTC) > now - EVERY:
        return
    prune(now)
    mark.touch()


def prune(now: dt.datetime) -> int:
    """Delete photos that belong to nothing after 30 days; return how many files and photos went."""
    number = 0
    for photo in Photo.objects.unattached().filter(received_at__lt=now - KEPT):
        # Only if it is still nobody's: a look may have claimed it since it was read.
        if Photo.objects.unattached().filter(pk=photo.pk).delete()[0]:
            files.remove(photo.fleet_id, photo.pk)
            number += 1
    return number + _sweep(now)


def _sweep(now: dt.datetime) -> int:
    """Delete what was cut off while it was written.

    A whole file without a row stays: an older copy of the database may have been put back.
    """
    number = 0
    for path in list(files.cut_off()):
        if dt.datetime.fromtimestamp(path.stat().st_mtime, dt.UTC) < now - CUT_OFF:
            path.unlink(missing_ok=True)
            number += 1
    return number

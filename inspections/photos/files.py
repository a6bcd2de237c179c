"""Where the files of photos lie: ``photos/<fleet>/<id>.jpg``, and a small one beside each."""

import os
import uuid
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from .redraw import Redrawn

LARGE, SMALL = ".jpg", "-small.jpg"


def folder() -> Path:
    """Return the folder of all photos, made readable by its owner alone."""
    place = Path(settings.VAR_DIR) / "photos"
    place.mkdir(parents=True, exist_ok=True, mode=0o700)
    return place


def path_of(fleet_id: int, photo_id: uuid.UUID, size: str = LARGE) -> Path:
    return folder() / str(fleet_id) / f"{photo_id}{size}"


def write(fleet_id: int, photo_id: uuid.UUID, made: Redrawn) -> None:
    """Put both files on the disk itself: the phone deletes its own once we say we have it."""
    place = folder() / str(fleet_id)
    place.mkdir(exist_ok=True, mode=0o700)
    for size, content in ((LARGE, made.jpeg), (SMALL, made.small)):
        _write(path_of(fleet_id, photo_id, size), content)
    descriptor = os.open(place, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _write(path: Path, content: bytes) -> None:
    part = path.with_name(f"{path.name}.{uuid.uuid4().hex}.part")
    with part.open("wb") as handle:
        handle.write(content)
        handle.flush()
        os.fsync(handle.fileno())
    part.replace(path)


def remove(fleet_id: int, photo_id: uuid.UUID) -> None:
    for size in (LARGE, SMALL):
        path_of(fleet_id, photo_id, size).unlink(missing_ok=True)


def cut_off() -> Iterator[Path]:
    """Yield what is still being written, or was left behind so."""
    yield from folder().glob("*/*.part")

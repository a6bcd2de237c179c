"""Photos sent with the form without JavaScript: kept as they come, then given to their findings.

A browser sends a file once and forgets it when the form comes back with a fault. So a good photo is
kept at once, belonging to nothing yet, and the form that comes back names it by its number.
"""

import datetime as dt
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict

from fleet.models import Fleet
from fleet.spreadsheets import files as all_files

from ..models import Inspection, Photo
from ..photos import keeping
from ..photos.redraw import MOST_BYTES, NoPhoto
from .draft import MOST_PHOTOS

FILES, KEPT = "-photos", "-kept"
TOGETHER = all_files.MOST_BYTES  # What one request may bring; the server drops what is beyond.


@dataclass
class FormPhotos:
    """The photos of one spot or place of the form, and what is wrong with those that are none."""

    name: str
    kept: list[Photo] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def files_name(self) -> str:
        return self.name + FILES

    @property
    def kept_name(self) -> str:
        return self.name + KEPT


@dataclass
class SentPhotos:
    """What came with one sending of the form, by the prefix of the spot it belongs to."""

    by_name: dict[str, FormPhotos] = field(default_factory=dict)

    def at(self, name: str) -> FormPhotos:
        return self.by_name.setdefault(name, FormPhotos(name))


def take_in(
    fleet: Fleet, user, today: dt.date, data: QueryDict, sent: MultiValueDict
) -> SentPhotos:
    """Keep each good photo and say what is wrong with the others; nothing else is refused by it."""
    photos = SentPhotos()
    for key in data:
        if key.endswith(KEPT):
            photos.at(key.removesuffix(KEPT)).kept += _free(fleet, user, data.getlist(key))
    for name, file, arrived in _arrived(sent):
        place = photos.at(name)
        if not arrived:
            words = f"{TOGETHER // 2**20} MB of photos at a time. This one did not come along"
            place.faults.append(f"{file.name}: one form takes {words}: add it again.")
        elif len(place.kept) == MOST_PHOTOS:
            place.faults.append(f"{file.name}: {MOST_PHOTOS} photos of one finding are the most.")
        else:
            _keep(fleet, user, today, file, place)
    return photos


def _arrived(sent: MultiValueDict) -> Iterator[tuple[str, UploadedFile, bool]]:
    """Yield (prefix, file, whether all of it came), in the order in which they were sent."""
    total = 0
    for key, files in sent.lists():
        for file in files:
            total += file.size
            if key.endswith(FILES):
                yield key.removesuffix(FILES), file, total <= TOGETHER


def _keep(fleet: Fleet, user, today: dt.date, file: UploadedFile, place: FormPhotos) -> None:
    try:
        content = file.read(MOST_BYTES + 1)
        place.kept.append(keeping.keep(fleet, user, uuid.uuid4(), content, today)[0])
    except NoPhoto as why:
        place.faults.append(f"{file.name}: {why}")


def _free(fleet: Fleet, user, numbers: list[str]) -> list[Photo]:
    """Return the photos this person has sent that belong to nothing yet."""
    known = []
    for number in numbers:
        try:
            known.append(uuid.UUID(number))
        except ValueError:
            continue  # No number that this form wrote: it names no photo.
    own = Photo.objects.of(fleet).unattached().filter(by=user)
    return list(own.filter(pk__in=known))


def attach(photos: SentPhotos, named: dict[str, tuple], look: Inspection) -> None:
    """Give the kept photos to their findings; ``named``: prefix -> (part, place, sign, side)."""
    found = {
        _key(each.installation_id, each.place, each.sign, each.side): each
        for each in look.findings.all()
    }
    for name, key in named.items():
        own = [photo.pk for photo in photos.at(name).kept]
        rows = Photo.objects.of(look.boat.fleet).unattached().filter(pk__in=own)
        rows.update(inspection=look, finding=found[_key(*key)], taken_on=look.on)


def _key(part: int | None, place: str, sign: str, side: str) -> tuple:
    """What a finding is known by; a part has its side of its own."""
    return part, place, sign, "" if part else side

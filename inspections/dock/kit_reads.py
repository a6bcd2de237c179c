"""The kit a phone keeps: the boats of a base with all that an inspection of them rests on.

However many boats there are, it is read in the same number of queries.
"""

import datetime as dt
import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from fleet.models import Base, Boat, Fleet

from ..judgement.history import criteria_of, load
from ..judgement.judging import Bench
from ..models import Hold, Inspection, Photo
from . import kit_words
from .kit import BoatRecord, boat_in_kit

KIT = 1  # The form of this file; a phone that knows another asks for a new page.


def kit_of(fleet: Fleet, base: Base | None, user, now: dt.datetime) -> dict[str, Any]:
    """Return the kit of one base, or of the whole fleet, as plain JSON values."""
    today = fleet.today()
    boats = Boat.objects.of(fleet).standing(today)
    if base is not None:
        boats = boats.filter(base=base)
    names = dict(boats.order_by("name", "pk").values_list("pk", "name"))
    records = {record.boat.pk: record for record in boat_records(names)}
    return {
        "kit": KIT,
        "made": now.isoformat(),
        "today": today.isoformat(),
        "fleet": {"slug": fleet.slug, "name": fleet.name},
        "base": {"id": base.pk, "name": base.name} if base else None,
        "person": who_inspects(fleet, user),
        "words": kit_words.words(),
        "criteria": kit_words.criteria(criteria_of(fleet, today)),
        "boats": [boat_in_kit(records[pk]) for pk in names],
    }


def boat_records(boat_ids: Iterable[int]) -> list[BoatRecord]:
    """Return the judged records of these boats with what stands beside them."""
    ids, bench = list(boat_ids), Bench()
    held, photos = _held(ids), _photos(ids)
    return [
        BoatRecord(bench.judge_boat(history), held[history.boat.pk], photos)
        for history in load(ids)
    ]


def who_inspects(fleet: Fleet, user) -> dict[str, str]:
    """Return the name somebody signs with, and the competence they last recorded under."""
    last = Inspection.objects.of(fleet).filter(recorded_by=user).order_by("-pk")
    competence = last.values_list("competence", flat=True).first()
    return {
        "name": user.get_full_name() or user.get_username(),
        "competence": competence or str(Inspection.Competence.CREW),
    }


def _held(boat_ids: list[int]) -> dict[int, list[str]]:
    by_boat = defaultdict(list)
    rows = Hold.objects.standing().filter(boat__in=boat_ids)
    for boat, reason in rows.values_list("boat", "reason"):
        by_boat[boat].append(reason)
    return by_boat


def _photos(boat_ids: list[int]) -> dict[int, list[str]]:
    by_finding = defaultdict(list)
    rows = Photo.objects.filter(finding__inspection__boat__in=boat_ids)
    for finding, pk in rows.values_list("finding", "pk"):
        by_finding[finding].append(str(pk))
    return by_finding


def fingerprint(kit: dict[str, Any]) -> str:
    """Return what stays the same while the kit does, whenever it was made."""
    lasting = {name: value for name, value in kit.items() if name != "made"}
    return hashlib.sha256(json.dumps(lasting, sort_keys=True).encode()).hexdigest()[:32]

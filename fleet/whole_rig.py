"""A whole rig put on record at once, on one boat and on its sisters; what stands there stays."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Count

from . import rig_patterns
from .models import Boat, Change, Fleet, Installation, Stay
from .rig_patterns import PatternPart
from .spreadsheets.part_places import Span
from .spreadsheets.part_sheet import rig_facts
from .templatetags.wording import day

OF_A_WIRE = ("construction", "alloy", "diameter_mm", "lower_terminal", "upper_terminal")
IN_FOIL = "wire inside a furler foil"
Slot = tuple[rig_patterns.Place, str]  # where, and which kind of part


@dataclass(frozen=True)
class RigPlan:
    """What would be put on record on one boat, and which places already have such a part."""

    boat: Boat
    parts: tuple[PatternPart, ...]
    taken: tuple[PatternPart, ...]

    @property
    def places(self) -> list[tuple[str, str]]:
        """Return (place in words, kinds of part in words) of what is new, in order of the rig."""
        return in_words(self.parts)

    @property
    def taken_places(self) -> list[tuple[str, str]]:
        return in_words(self.taken)


def in_words(parts: Iterable[PatternPart]) -> list[tuple[str, str]]:
    kinds: dict[rig_patterns.Place, list[str]] = {}
    for part in parts:
        kinds.setdefault(part.place, []).append(IN_FOIL if in_foil(part) else part.kind)
    return [
        (Stay(mast=mast, name=name, side=side).label, ", ".join(found))
        for (mast, name, side), found in kinds.items()
    ]


def in_foil(part: PatternPart) -> bool:
    """Return whether a part is said to be a wire that runs inside a furler foil."""
    return part.kind == Installation.Kind.WIRE and part.place[1] in part.said.get("foils", ())


def usual(boat: Boat, today: dt.date) -> dict[str, Any]:
    """Return what is likely of a rig: what is on record of its own stays, or of its sisters.

    A headsail on a furler is common practice, no source; its wire counts as unseen until the foil
    is opened, so that a wrong guess never passes a wire that nobody saw. A cutter's inner forestay
    mostly carries a hanked staysail.
    """
    boats = [boat, *sisters(boat, today)]
    rows = Installation.objects.standing().filter(stay__boat__in=boats, kind="wire")
    known = {each.name: each.in_foil for each in Stay.objects.filter(boat=boat)}
    guess = {Stay.Name.FORESTAY.value: True} | known
    alloys = rows.exclude(alloy="").order_by().values_list("alloy")
    commonest = alloys.annotate(count=Count("pk")).order_by("-count", "alloy").first()
    return {
        "foils": [name for name in furlable(boat) if guess.get(name)],
        "alloy": commonest[0] if commonest else "",
    }


def furlable(boat: Boat) -> tuple[str, ...]:
    """Return the stays of such a rig that may run inside a foil."""
    names = (Stay.Name.FORESTAY.value, Stay.Name.INNER_FORESTAY.value)
    return names[:1] if boat.rig != Boat.Rig.CUTTER else names


def sisters(boat: Boat, today: dt.date) -> list[Boat]:
    """Return the other boats of the same design that are in the fleet now."""
    own = design_of(boat)
    boats = Boat.objects.of(boat.fleet).standing(today).exclude(pk=boat.pk).order_by("name")
    return [each for each in boats if own and design_of(each) == own]


def design_of(boat: Boat) -> str:
    return " ".join(boat.design.casefold().split())


def plans(boats: Iterable[Boat], said: Mapping[str, Any], kinds: Iterable[str]) -> list[RigPlan]:
    """Return what the pattern of each boat's own rig makes of one description, boat by boat.

    ``said`` holds ``fitted`` (date or None), ``certainty``, fields of a part by their names, and
    ``foils``, the stays whose wire runs inside a furler foil.
    """
    boats, kinds = list(boats), tuple(kinds)
    standing = _standing(boats)
    return [_plan(boat, said, kinds, standing.get(boat.pk, set())) for boat in boats]


def _standing(boats: list[Boat]) -> dict[int, set[Slot]]:
    up: dict[int, set[Slot]] = {}
    rows = Installation.objects.standing().filter(stay__boat__in=boats).select_related("stay")
    for part in rows:
        place = (part.stay.mast, part.stay.name, part.stay.side)
        up.setdefault(part.stay.boat_id, set()).add((place, part.kind))
    return up


def _plan(boat: Boat, said: Mapping[str, Any], kinds: tuple[str, ...], up: set[Slot]) -> RigPlan:
    facts = rig_facts(boat)
    order = {place: number for number, place in enumerate(rig_patterns.stays(facts))}
    parts = rig_patterns.copy_to_sisters(boat.design, [facts], said, kinds)
    parts.sort(key=lambda part: order[part.place])
    new = tuple(part for part in parts if (part.place, part.kind) not in up)
    return RigPlan(boat, new, tuple(part for part in parts if part not in new))


def faults(
    boats: Iterable[Boat], fitted: dt.date | None, certainty: str, today: dt.date
) -> Iterator[str]:
    """Yield what cannot be true of a fitting date on these boats, in words."""
    if fitted is None:
        return
    if fitted > today:
        yield f"{day(fitted)} is still to come. Give the day; a year alone stands for 1 July."
        return
    slack = 2 if certainty == Installation.Certainty.ESTIMATED else 0
    for boat in boats:
        if fitted.year < boat.build_year - slack:
            yield (
                f"{boat} was built later, in {boat.build_year}. Correct the date, or leave it out."
            )


def overlaps(made: Iterable[RigPlan]) -> Iterator[str]:
    """Yield what came off after the day on which the new part is said to have gone up."""
    for plan in made:
        gone = Installation.objects.filter(stay__boat=plan.boat, removed_on__isnull=False)
        latest: dict[Slot, dt.date] = {}
        for part in gone.select_related("stay").order_by("removed_on"):
            latest[(part.stay.mast, part.stay.name, part.stay.side), part.kind] = part.removed_on
        for part in plan.parts:
            off = latest.get((part.place, part.kind))
            span = Span(part.said["fitted"], part.said["certainty"], None)
            if off and not span.may_follow(off):
                place = in_words([part])[0][0]
                yield (
                    f"{plan.boat}, {place}, {part.kind}: the one before came off later, on "
                    f"{day(off)}. Correct the date."
                )


@transaction.atomic
def put_up(
    fleet: Fleet,
    boats: Iterable[Boat],
    said: Mapping[str, Any],
    kinds: Iterable[str],
    words: str,
    by,
) -> list[RigPlan]:
    """Put a whole rig on record on these boats, all or none; return what was added where.

    A place that has a standing part of a kind keeps it. Raises ValidationError, in words.
    """
    ids = [boat.pk for boat in boats]
    boats = list(Boat.objects.of(fleet).select_for_update().filter(pk__in=ids).order_by("pk"))
    made = plans(boats, said, kinds)
    wrong = [*faults(boats, said["fitted"], said["certainty"], fleet.today()), *overlaps(made)]
    if wrong:
        raise ValidationError(wrong)
    if not any(plan.parts for plan in made):
        raise ValidationError("Every place of this rig has such a part already; nothing is added.")
    for plan in made:
        if plan.parts:
            _add(plan, words, by)
    return made


def _add(plan: RigPlan, words: str, by) -> None:
    stays = {
        (stay.mast, stay.name, stay.side): stay for stay in Stay.objects.filter(boat=plan.boat)
    }
    foils = {part.place: in_foil(part) for part in plan.parts if part.kind == "wire"}
    for mast, name, side in dict.fromkeys(part.place for part in plan.parts):
        place = (mast, name, side)
        if place not in stays:
            stays[place] = Stay(boat=plan.boat, mast=mast, name=name, side=side)
        # Only a wire that is put up now says whether it runs inside a foil.
        stays[place].in_foil = foils.get(place, stays[place].in_foil)
        stays[place].save()
    Installation.objects.bulk_create(_part(stays[part.place], part) for part in plan.parts)
    number = len(plan.parts)
    Change.objects.create(
        fleet=plan.boat.fleet,
        boat=plan.boat,
        what=f"Whole rig, {number} part{'' if number == 1 else 's'}: {words}"[:300],
        by=by,
        after={"parts": [[*part.place, part.kind] for part in plan.parts]},
    )


def _part(stay: Stay, part: PatternPart) -> Installation:
    said = dict(part.said)
    fitted, certainty = said.pop("fitted"), said.pop("certainty")
    said.pop("foils", None)
    if part.kind != Installation.Kind.WIRE:
        # The thread of a turnbuckle is not the diameter of its wire: what is not known stays blank.
        for name in OF_A_WIRE:
            said.pop(name, None)
    return Installation(
        stay=stay, kind=part.kind, fitted_on=fitted, fitted_certainty=certainty, **said
    )

"""Parts in store: which could take the place of one that went, and what is to be checked first."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Field, QuerySet

from fleet.models import Change, Fleet, Installation, Spare
from fleet.templatetags.wording import day

# A wire in store may be this much longer or shorter and still be set by its turnbuckle (common
# practice, no source: some tens of millimetres of thread are left at a middle setting).
WITHIN_MM = 15
SAME = {
    "construction": "construction",
    "diameter_mm": "diameter",
    "lower_terminal": "lower terminal",
    "upper_terminal": "upper terminal",
    "pin_mm": "pin",
    "thread": "thread",
    "hand": "hand of the thread",
    "mast_end": "mast end fitting",
}
# What no part of a kind is without: where neither record has it, it is measured first.
NEEDED = {
    Installation.Kind.WIRE: (
        "construction", "diameter_mm", "lower_terminal", "upper_terminal", "pin_mm"
    ),
    Installation.Kind.TURNBUCKLE: ("diameter_mm", "pin_mm", "thread", "hand"),
    Installation.Kind.CHAINPLATE: ("diameter_mm", "pin_mm"),
}  # fmt: skip
CORRECTED = (
    "base", "kind", "construction", "alloy", "diameter_mm", "length_mm", "lower_terminal",
    "upper_terminal", "pin_mm", "thread", "hand", "mast_end", "place", "batch", "invoice",
    "stored_on",
)  # fmt: skip
OUT = ("taken_on", "taken_by", "taken_for", "withdrawn")
# A wire cut to length gets another end below, with its own thread.
CUT_OFF = ("lower_terminal", "thread", "hand")


@dataclass(frozen=True)
class Match:
    """One part in store beside one that went. ``unknown``: what neither record can compare."""

    spare: Spare
    unknown: tuple[str, ...]
    to_cut: bool = False

    @property
    def words(self) -> str:
        said = ["longer: to be cut and given a new terminal"] if self.to_cut else []
        if self.unknown:
            said.append(f"not on record, measure: {', '.join(self.unknown)}")
        return "; ".join(said).capitalize() + "." if said else "Alike in all that is on record."


def match(part: Installation, spare: Spare) -> Match | None:
    """Return how a part in store compares; None where the record says that it does not fit."""
    length = _length(part, spare)
    if spare.kind != part.kind or length == "too short":
        return None
    to_cut = length == "longer"
    unknown = []
    for name, words in SAME.items():
        if to_cut and name in CUT_OFF:
            continue
        own, other = getattr(part, name), getattr(spare, name)
        alike = _alike(name, own, other) if own and other else None
        if alike is False:
            return None
        if alike is None and (own or other or name in NEEDED[part.kind]):
            unknown.append(words)
    unknown += ["pin to pin"] if length == "unknown" else []
    return Match(spare, tuple(unknown), to_cut)


def _length(part: Installation, spare: Spare) -> str:
    if part.kind != Installation.Kind.WIRE:
        return ""
    if not (part.length_mm and spare.length_mm):
        return "unknown"
    if spare.length_mm < part.length_mm - WITHIN_MM:
        return "too short"
    return "longer" if spare.length_mm > part.length_mm + WITHIN_MM else ""


def _alike(name: str, own: str | float, other: str | float) -> bool | None:
    """Return whether both records say the same; None where only the parts themselves can tell."""
    if name == "thread":
        return _same_thread(own, other)
    if name == "mast_end":
        # Free words: other words are no proof of another fitting.
        return True if own.casefold().split() == other.casefold().split() else None
    return own == other


def _same_thread(own: str, other: str) -> bool | None:
    """``M16`` and ``m 16`` are the same; whether ``M16`` is ``M16x1.5`` must be measured."""
    short, long = sorted((_thread(own), _thread(other)), key=len)
    if short == long:
        return True
    return None if long.startswith(f"{short}x") else False


def _thread(words: str) -> str:
    return "".join(words.casefold().replace("×", "x").replace(",", ".").split())


def matches(part: Installation, fleet: Fleet) -> list[Match]:
    """Return what in store may take its place, own base first, the surest first."""
    rows = Spare.objects.of(fleet).in_store().filter(kind=part.kind).select_related("base")
    own = part.stay.boat.base_id
    return ordered((match(part, spare) for spare in rows), own)


def ordered(found: Iterable[Match | None], base: int) -> list[Match]:
    fits = [each for each in found if each]
    return sorted(
        fits,
        key=lambda each: (
            each.spare.base_id != base, each.to_cut, len(each.unknown), each.spare.pk
        ),
    )  # fmt: skip


@transaction.atomic
def take(spare: Spare, on: dt.date, by: str, what_for: str = "", fitted_as=None) -> None:
    """Take a part out of store: to be fitted, or for what is said."""
    row = Spare.objects.select_for_update().get(pk=spare.pk)
    if row.taken_on:
        raise ValidationError(f"Taken out of store on {day(row.taken_on)} by {row.taken_by}.")
    if not by.strip():
        raise ValidationError("Say who took it.")
    row.taken_on, row.taken_by, row.taken_for = on, by.strip(), what_for[:200]
    row.fitted_as = fitted_as
    row.save(update_fields=["taken_on", "taken_by", "taken_for", "fitted_as"])


@transaction.atomic
def put_back(spare: Spare, user=None) -> None:
    """Put a part back in store that was taken by mistake, unless it is fitted on a boat."""
    row = Spare.objects.select_for_update().select_related("base").get(pk=spare.pk)
    if row.fitted_as_id:
        raise ValidationError("It is on record as fitted on a boat: correct that part first.")
    if row.taken_on is None:
        raise ValidationError("It is in store already.")
    was = {name: getattr(row, name) for name in OUT}
    row.taken_on, row.taken_by, row.taken_for, row.withdrawn = None, "", "", False
    row.save(update_fields=OUT)
    out = "withdrawn" if was["withdrawn"] else "taken out"
    words = f"back in store; it was {out} {day(was['taken_on'])} by {was['taken_by']}"
    _noted(row, words, user, was, {name: getattr(row, name) for name in OUT})


@transaction.atomic
def withdraw(spare: Spare, on: dt.date, by: str, why: str, user=None) -> None:
    """Take a part off the list that is not there to be used: lost, unfit, counted twice."""
    if not why.strip():
        raise ValidationError("Say why it is withdrawn.")
    take(spare, on, by, why.strip())
    row = Spare.objects.select_related("base").get(pk=spare.pk)
    row.withdrawn = True
    row.save(update_fields=["withdrawn"])
    _noted(row, f"withdrawn: {row.taken_for}", user, {}, {name: getattr(row, name) for name in OUT})


@transaction.atomic
def correct(spare: Spare, given: Mapping[str, Any], user=None) -> Spare:
    """Put right what is on record of a part in store; who changed what is kept.

    Raises ValidationError where it is out of store, or nothing is different.
    """
    row = Spare.objects.select_for_update(of=("self",)).select_related("base").get(pk=spare.pk)
    if row.taken_on:
        raise ValidationError("It is out of store: its record stays as it was when it was taken.")
    was = {name: getattr(row, name) for name in CORRECTED}
    found = {name: given[name] for name in CORRECTED if given[name] != was[name]}
    if not found:
        raise ValidationError("Nothing is different from what is on record. Change it first.")
    for name, value in found.items():
        setattr(row, name, value)
    row.full_clean()
    row.save(update_fields=list(found))
    _noted(row, "; ".join(_in_words(found, was)), user, was, found)
    return row


def give_back(new: Installation, user=None) -> None:
    """Put back in store what was taken for a part that goes off the record again."""
    for row in Spare.objects.filter(fitted_as=new):
        row.fitted_as = None
        row.save(update_fields=["fitted_as"])
        put_back(row, user)


def changes(spare: Spare) -> QuerySet[Change]:
    """Return who corrected, withdrew or put back this part, the latest first."""
    rows = Change.objects.filter(fleet=spare.base.fleet_id, boat=None, after__spare=spare.pk)
    return rows.select_related("by")


def _noted(row: Spare, words: str, user, was: Mapping, now: Mapping) -> None:
    Change.objects.create(
        fleet_id=row.base.fleet_id,
        what=f"In store at {row.base}, {row}: {words}"[:300],
        by=user,
        before=_plain(was),
        after=_plain(now) | {"spare": row.pk},
    )


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: getattr(value, "pk", value) for name, value in values.items()}


def _in_words(found: Mapping[str, Any], was: Mapping[str, Any]) -> Iterator[str]:
    for name, value in found.items():
        field = Spare._meta.get_field(name)
        label = field.verbose_name.removesuffix(", mm")
        yield f"{label} {_shown(field, was[name])}, now {_shown(field, value)}"


def _shown(field: Field, value: Any) -> str:
    if value in (None, ""):
        return "blank"
    if isinstance(value, dt.date):
        return day(value)
    if isinstance(value, float):
        return f"{value:g}"
    return str(dict(field.choices or ()).get(value, value))

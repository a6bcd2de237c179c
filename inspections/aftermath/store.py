"""Parts in store: which could take the place of one that went, and what is to be checked first."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Fleet, Installation, Spare
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
def put_back(spare: Spare) -> None:
    """Put a part back in store that was taken by mistake, unless it is fitted on a boat."""
    row = Spare.objects.select_for_update().get(pk=spare.pk)
    if row.fitted_as_id:
        raise ValidationError("It is on record as fitted on a boat: correct that part first.")
    row.taken_on, row.taken_by, row.taken_for = None, "", ""
    row.save(update_fields=["taken_on", "taken_by", "taken_for"])

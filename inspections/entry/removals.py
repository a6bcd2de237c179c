"""Parts that came off: a removal entered wrongly corrected, or taken back. Never silently."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from django import forms
from django.db import transaction
from django.db.models import Max

from fleet.models import Boat, Change, Installation
from fleet.spreadsheets.part_places import Span
from fleet.spreadsheets.part_sheet import ENDED_AT_A_SPOT, NEEDS_A_SPOT
from fleet.templatetags.wording import day
from fleet.undoing import digests

from ..aftermath.store import give_back
from ..dock.forms import DayInput
from ..judgement.history import name_of
from ..models import Finding, Inspection
from ..recording import judge

FIELDS = ("removed_on", "removal_reason", "removal_spot")
COLUMNS = ("Came off", "Why", "Where", "Was this no removal?")
REPLACEMENT = ("kind", "construction", "alloy", "diameter_mm", "length_mm", "lower_terminal",
               "upper_terminal", "pin_mm", "thread", "hand", "mast_end", "adjuster",
               "fitted_on", "fitted_certainty", "invoice", "batch", "fitter")  # fmt: skip
# Why a condemned part may have come off; any other reason contradicts the inspection.
OF_CONDEMNED = ("condemned", "failed_in_service")


class RemovalRow(forms.Form):
    """One part that came off. ``seen`` tells whether somebody else changed it meanwhile."""

    removed_on = forms.DateField(label="Came off", widget=DayInput())
    removal_reason = forms.ChoiceField(label="Why", choices=Installation.Removal.choices)
    removal_spot = forms.ChoiceField(label="Where", required=False)
    stands = forms.BooleanField(label="It still stands", required=False)
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(
        self, part: Installation, after: Installation | None, digest: str, data: Any = None
    ) -> None:
        prefix = f"gone{part.pk}"
        data = data if data is not None and f"{prefix}-seen" in data else None
        shown = {name: getattr(part, name) for name in FIELDS} | {"seen": digest}
        super().__init__(data, prefix=prefix, initial=shown)
        self.part, self.after, self.digest = part, after, digest
        self.name, self.was = name_of(part), shown
        wire = part.kind == Installation.Kind.WIRE
        # What is on record stays a choice: else saving another line would change it unasked.
        spots = [
            choice
            for choice in Installation.Spot.choices
            if (choice[0] == "whole") != wire or choice[0] == part.removal_spot
        ]
        self.fields["removal_spot"].choices = [("", "not said"), *spots]
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{field.label}, {self.name}, {part.description}"

    @property
    def cells(self) -> list[forms.BoundField]:
        return [self[name] for name in FIELDS]

    @property
    def stands_words(self) -> str:
        """Return what ticking the box does, all of it."""
        if self.after is None:
            return "It still stands"
        return f"It still stands; {replacement_words(self.after)} goes off the record"

    def changes(self) -> dict[str, tuple[Any, Any]]:
        """Return field -> (before, after) for what is corrected of the removal."""
        given = self.cleaned_data
        return {
            name: (self.was[name], given[name])
            for name in FIELDS if given[name] != self.was[name]
        }  # fmt: skip

    @property
    def touched(self) -> bool:
        return self.is_bound and bool(self.cleaned_data.get("stands") or self.changes())


def replacement_words(part: Installation) -> str:
    fitted = f" fitted {day(part.fitted_on)}" if part.fitted_on else " in its place"
    return f"the {part.get_kind_display()}{fitted}"


def rows(boat: Boat, data: Any = None) -> list[RemovalRow]:
    """Return a row for each part that came off, the latest first."""
    parts = Installation.objects.filter(stay__boat=boat).select_related("stay__boat")
    after = following(parts)
    gone = [part for part in parts if part.removed_on]
    gone.sort(key=lambda part: (part.removed_on, part.pk), reverse=True)
    now = digests(Installation, [part.pk for part in gone])
    return [RemovalRow(part, after.get(part.pk), now[str(part.pk)], data) for part in gone]


def following(parts: Iterable[Installation]) -> dict[int, Installation]:
    """Return the part that was put up next in the same place, by the one before it."""
    places: dict[tuple[int, str], list[Installation]] = {}
    for part in parts:
        places.setdefault((part.stay_id, part.kind), []).append(part)
    order = {part.pk: Span(part.fitted_on, part.fitted_certainty, part.removed_on).order
             for place in places.values() for part in place}  # fmt: skip
    chains = (sorted(place, key=lambda part: order[part.pk]) for place in places.values())
    return {before.pk: part for chain in chains for before, part in pairwise(chain)}


def corrected(table: Iterable[RemovalRow]) -> dict[int, dt.date | None]:
    """Return the day each part came off as the table says it, None where it still stands."""
    said = {row.part.pk: row.cleaned_data for row in table if row.is_bound and row.is_valid()}
    return {pk: None if given["stands"] else given["removed_on"] for pk, given in said.items()}


def check(boat: Boat, table: Sequence[RemovalRow], fitted: Mapping[int, tuple]) -> bool:
    """Put every fault on its row, in words; return whether there is none.

    ``fitted`` holds date and certainty of standing parts that are corrected in the same table.
    """
    found = _last_findings(boat)
    last_look = Inspection.objects.filter(boat=boat).order_by("-on").first()
    for row in table:
        if row.is_valid() and row.touched:
            if row.cleaned_data["stands"]:
                faults = _faults_of_standing(row, last_look, found, fitted)
            else:
                faults = _faults_of_removal(row, boat, found.get(row.part.pk), fitted)
            for fault in [*_changed_meanwhile(row), *faults]:
                row.add_error(None, fault)
    return not any(row.errors for row in table)


def _last_findings(boat: Boat) -> dict[int, dt.date]:
    rows = Finding.objects.filter(inspection__boat=boat, installation__isnull=False).order_by()
    seen = rows.exclude(sign="not_seen").values_list("installation")
    return dict(seen.annotate(last=Max("inspection__on")))


def _changed_meanwhile(row: RemovalRow) -> Iterator[str]:
    if row.cleaned_data["seen"] != row.digest:
        now = f"{day(row.part.removed_on)}, {row.part.get_removal_reason_display()}"
        yield (
            f"Somebody else changed this part since you opened the page; it now came off: {now}. "
            "Look through the line and save again."
        )
        row.data = row.data.copy()
        row.data[row.add_prefix("seen")] = row.digest


def _faults_of_standing(
    row: RemovalRow, look: Inspection | None, found: Mapping[int, dt.date], fitted: Mapping
) -> Iterator[str]:
    """Yield what rests on the removal: then it cannot be taken back."""
    off, after = row.part.removed_on, row.after
    if row.changes():
        yield "Either correct its removal or say that it still stands, not both."
    if after and after.removed_on:
        yield f"The part after it came off too, on {day(after.removed_on)}: take that back first."
    elif after and after.pk in fitted:
        yield "The part after it is corrected in the same table. Do one of the two."
    if after and after.pk in found:
        yield (
            f"Something was found on the part after it on {day(found[after.pk])}, and that would "
            "be lost. Correct the date or the reason instead."
        )
    elif look and look.on > off:
        yield (
            f"The boat was inspected since, on {day(look.on)}, and nobody looked at this part "
            "then. Correct the date or the reason instead."
        )


def _faults_of_removal(
    row: RemovalRow, boat: Boat, found: dt.date | None, fitted: Mapping[int, tuple]
) -> Iterator[str]:
    part, given = row.part, row.cleaned_data
    off, reason, spot = (given[name] for name in FIELDS)
    if off > boat.fleet.today():
        yield f"{day(off)} is still to come."
    if part.fitted_on and off < part.fitted_on:
        yield f"This part was itself fitted on {day(part.fitted_on)}."
    if found and off < found:
        yield f"Something was found on this very part later, on {day(found)}."
    if row.after:
        when = fitted.get(row.after.pk, (row.after.fitted_on, row.after.fitted_certainty))
        if when[0] and not Span(*when, None).may_follow(off):
            yield f"The part after it went up earlier, on {day(when[0])}. Correct that date too."
    if {"removal_reason", "removal_spot"} & set(row.changes()):
        yield from _faults_of_reason(part, reason, spot)


def _faults_of_reason(part: Installation, reason: str, spot: str) -> Iterator[str]:
    if part.condemned_on and reason not in OF_CONDEMNED:
        yield (
            f"It was condemned at the inspection of {day(part.condemned_on)}: it came off for "
            "that, or failed in service before."
        )
    if spot and reason not in ENDED_AT_A_SPOT:
        yield "Only a part that was condemned, looked poor or failed has a place."
    wire = part.kind == Installation.Kind.WIRE
    if wire and reason in NEEDS_A_SPOT and not spot and not part.condemned_on:
        yield "Say where the wire was condemned or failed: lower end, wire or upper end."


@transaction.atomic
def save(boat: Boat, table: Iterable[RemovalRow], by) -> int:
    """Write what was corrected or taken back, with who did so; return how many parts."""
    touched = [row for row in table if row.touched]
    for row in touched:
        if row.cleaned_data["stands"]:
            _stand_again(boat, row, by)
        else:
            _correct(boat, row, by)
    if touched:
        judge([boat.pk])
    return len(touched)


def _correct(boat: Boat, row: RemovalRow, by) -> None:
    found, part = row.changes(), row.part
    for name, (_, value) in found.items():
        setattr(part, name, value)
    part.full_clean(exclude=["stay"])
    part.save(update_fields=list(found))
    _note(boat, f"{row.name}, came off: {'; '.join(_in_words(found))}", by,
          {name: pair[0] for name, pair in found.items()},
          {name: pair[1] for name, pair in found.items()})  # fmt: skip


def _stand_again(boat: Boat, row: RemovalRow, by) -> None:
    part, after = row.part, row.after
    before = {name: row.was[name] for name in FIELDS}
    why = Installation.Removal(part.removal_reason).label
    words = f"{row.name}: stands again; it was on record as off on {day(part.removed_on)} ({why})"
    if after is not None:
        before["replacement"] = {name: getattr(after, name) for name in REPLACEMENT}
        words += f"; {replacement_words(after)} is off the record"
        give_back(after, by)
        after.delete()
    part.removed_on, part.removal_reason, part.removal_spot = None, "", ""
    part.full_clean(exclude=["stay"])
    part.save(update_fields=list(FIELDS))
    _note(boat, words, by, before, {name: getattr(part, name) for name in FIELDS})


def _note(boat: Boat, what: str, by, before: dict, after: dict) -> None:
    Change.objects.create(
        fleet=boat.fleet, boat=boat, what=what[:300], by=by, before=before, after=after
    )


def _in_words(found: dict[str, tuple[Any, Any]]) -> Iterator[str]:
    labels = {"removed_on": "day", "removal_reason": "reason", "removal_spot": "place"}
    for name, (before, after) in found.items():
        yield f"{labels[name]} {_shown(name, before)}, now {_shown(name, after)}"


def _shown(name: str, value: Any) -> str:
    if isinstance(value, dt.date):
        return day(value)
    return str(dict(Installation._meta.get_field(name).choices or ()).get(value, value)) or "blank"

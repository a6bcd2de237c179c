"""The standing parts of a boat as a table in which what is wrong can be corrected."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Min

from fleet.models import Boat, Change, Installation
from fleet.spreadsheets.part_places import Span
from fleet.templatetags.wording import day
from fleet.undoing import digests

from ..judgement.history import name_of
from ..models import Finding
from ..recording import judge
from .fields import CERTAINTIES, FittedField, SizeField, as_written, definite, say_not_known

OF_A_WIRE = ("construction", "diameter_mm", "length_mm", "lower_terminal", "upper_terminal")
# To order by, besides; a chainplate has none of it, and only a wire the last two.
FURTHER = ("thread", "hand", "mast_end", "adjuster")
FIELDS = (*OF_A_WIRE, "pin_mm", *FURTHER, "invoice", "batch", "fitter")
LONGEST_MM = 200_000
KINDS = list(Installation.Kind.values)
NOT_OF = {
    Installation.Kind.TURNBUCKLE: [n for n in OF_A_WIRE if n != "diameter_mm"] + [*FURTHER[2:]],
    Installation.Kind.CHAINPLATE: [*OF_A_WIRE, *FURTHER],
}


class PartRow(forms.ModelForm):
    """One part. ``seen`` tells whether somebody else changed it since the page was opened."""

    diameter_mm = SizeField(label="Diameter, mm")
    length_mm = SizeField(label="Pin to pin, mm", most=LONGEST_MM)
    pin_mm = SizeField(label="Clevis pin, mm")
    fitted = FittedField(label="Fitted")
    certainty = forms.ChoiceField(
        label="How the date is known", choices=CERTAINTIES, required=False
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    class Meta:
        model = Installation
        fields = FIELDS

    def __init__(self, part: Installation, digest: str, data: Any = None) -> None:
        self.as_stored = {name: getattr(part, name) for name in FIELDS}
        self.was = (part.fitted_on, part.fitted_certainty)
        shown = {"fitted": as_written(part), "certainty": part.fitted_certainty, "seen": digest}
        prefix = f"part{part.pk}"
        # A part put up since the page was opened was not on it, so nothing is said of it.
        data = data if data is not None and f"{prefix}-seen" in data else None
        super().__init__(data, instance=part, prefix=prefix, initial=shown)
        self.part, self.digest, self.name = part, digest, name_of(part)
        for name in NOT_OF.get(part.kind, ()):
            del self.fields[name]
        say_not_known(self)
        for name, field in self.fields.items():
            label = field.label or name
            field.widget.attrs["aria-label"] = f"{label}, {self.name}"

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        self.when = self.was
        if {"fitted", "certainty"} <= set(given):
            try:
                self.when = definite(given["fitted"], self._certainty(given))
            except ValidationError as fault:
                self.add_error("certainty", fault)
        return given

    def _certainty(self, given: dict[str, Any]) -> str:
        """Let a new date bring its own certainty, where the old one was left standing."""
        fitted, said, was = given["fitted"], given["certainty"], self.was[1]
        moved = "fitted" in self.changed_data and "certainty" not in self.changed_data
        stale = fitted is None or was == "unknown" or (isinstance(fitted, int) and was == "day")
        return "" if moved and stale else said

    def _post_clean(self) -> None:
        """Check sizes and words here; the part as a whole is checked among the others."""

    def changes(self) -> dict[str, tuple[Any, Any]]:
        """Return field -> (before, after) for what differs from the record."""
        new = {name: self.cleaned_data[name] for name in FIELDS if name in self.fields}
        new["length_mm"] = round(new["length_mm"]) if new.get("length_mm") else None
        found = {
            name: (self.as_stored[name], value)
            for name, value in new.items()
            if name in self.fields and value != self.as_stored[name]
        }
        for name, before, after in zip(
            ("fitted_on", "fitted_certainty"), self.was, self.when, strict=True
        ):
            if before != after:
                found[name] = (before, after)
        return found

    @property
    def cells(self) -> list[forms.BoundField]:
        """Return the fields in the order of the table's columns."""
        return [self[name] for name in COLUMNS if name in self.fields]


COLUMNS = {
    "fitted": "Fitted", "certainty": "How the date is known", "invoice": "Invoice",
    "construction": "Construction", "diameter_mm": "Diameter, mm", "length_mm": "Pin to pin, mm",
    "lower_terminal": "Lower terminal", "upper_terminal": "Upper terminal",
    "pin_mm": "Clevis pin, mm", "thread": "Thread", "hand": "Hand", "mast_end": "Mast end fitting",
    "adjuster": "Adjuster setting", "batch": "Batch", "fitter": "Fitted by",
}  # fmt: skip


@dataclass(frozen=True)
class Group:
    """The standing parts of one kind. Only what has a fault, and the wires, stand open."""

    kind: str
    rows: list[PartRow]

    @property
    def title(self) -> str:
        count = len(self.rows)
        return f"{count} {self.kind}{'' if count == 1 else 's'}"

    @property
    def columns(self) -> list[str]:
        return [words for name, words in COLUMNS.items() if name in self.rows[0].fields]

    @property
    def is_open(self) -> bool:
        return self.kind == KINDS[0] or any(row.is_bound and row.errors for row in self.rows)


def grouped(table: Iterable[PartRow]) -> list[Group]:
    """Return the rows kind by kind, wires first."""
    groups: dict[str, list[PartRow]] = {}
    for row in table:
        groups.setdefault(row.part.kind, []).append(row)
    return [Group(kind, groups[kind]) for kind in KINDS if kind in groups]


def rows(boat: Boat, data: Any = None) -> list[PartRow]:
    """Return a row for each standing part, wires first, in order of the rig."""
    parts = list(
        Installation.objects.standing().filter(stay__boat=boat).select_related("stay__boat")
    )
    parts.sort(key=lambda part: (KINDS.index(part.kind), part.stay.mast, part.stay_id, part.pk))
    now = digests(Installation, [part.pk for part in parts])
    return [PartRow(part, now[str(part.pk)], data) for part in parts]


def refitted(table: Iterable[PartRow]) -> dict[int, tuple[dt.date | None, str]]:
    """Return date and certainty of the parts whose fitting is corrected, by their ids."""
    return {
        row.part.pk: row.when for row in table if row.is_bound and row.is_valid() and row.changes()
    }


def check(
    boat: Boat, table: Sequence[PartRow], off: Mapping[int, dt.date | None] | None = None
) -> bool:
    """Put every fault on its row, in words; return whether there is none.

    ``off`` holds the days of removal that are corrected in the same table, by part.
    """
    before = _latest_removals(boat, off or {})
    found = _first_findings(boat)
    for row in table:
        if row.is_valid() and row.changes():
            place = (row.part.stay_id, row.part.kind)
            for fault in _faults(row, boat, before.get(place), found.get(row.part.pk)):
                row.add_error(None, fault)
    return not any(row.errors for row in table)


def _latest_removals(boat: Boat, corrected: Mapping) -> dict[tuple[int, str], dt.date]:
    gone = Installation.objects.filter(stay__boat=boat, removed_on__isnull=False)
    latest: dict[tuple[int, str], dt.date] = {}
    for pk, stay, kind, off in gone.values_list("pk", "stay", "kind", "removed_on"):
        day_off = corrected.get(pk, off)
        if day_off:
            latest[stay, kind] = max(day_off, latest.get((stay, kind), day_off))
    return latest


def _first_findings(boat: Boat) -> dict[int, dt.date]:
    findings = Finding.objects.filter(inspection__boat=boat, installation__isnull=False).order_by()
    seen = findings.exclude(sign="not_seen").values_list("installation")
    return dict(seen.annotate(first=Min("inspection__on")))


def _faults(row: PartRow, boat: Boat, off: dt.date | None, found: dt.date | None) -> Iterator[str]:
    if row.cleaned_data["seen"] != row.digest:
        now = row.part.description + (f", fitted {day(row.was[0])}" if row.was[0] else "")
        yield (
            f"Somebody else changed this part since you opened the page; it is now: {now}. "
            "Look through the line and save again."
        )
        row.data = row.data.copy()
        row.data[row.add_prefix("seen")] = row.digest
    fitted, certainty = row.when
    if (fitted, certainty) == row.was or fitted is None:
        return
    slack = 2 if certainty == Installation.Certainty.ESTIMATED else 0
    if fitted > boat.fleet.today():
        yield f"{day(fitted)} is still to come. Give the day; a year alone stands for 1 July."
    if fitted.year < boat.build_year - slack:
        yield f"{boat} was built later, in {boat.build_year}."
    if off and not Span(fitted, certainty, None).may_follow(off):
        yield f"The part before it came off later, on {day(off)}."
    if found and found < fitted:
        yield f"Something was found on this very part earlier, on {day(found)}."


@transaction.atomic
def save(boat: Boat, table: Iterable[PartRow], by) -> int:
    """Write what was corrected, with who did so; judge the boat again; return how many parts."""
    changed = [(row.part, found) for row in table if row.is_bound and (found := row.changes())]
    for part, found in changed:
        for name, (_, value) in found.items():
            setattr(part, name, value)
        part.full_clean(exclude=["stay"])
        part.save(update_fields=list(found))
        Change.objects.create(
            fleet=boat.fleet,
            boat=boat,
            what=f"{name_of(part)}: {'; '.join(_in_words(found))}"[:300],
            by=by,
            before={name: before for name, (before, _) in found.items()},
            after={name: after for name, (_, after) in found.items()},
        )
    if changed:
        judge([boat.pk])
    return len(changed)


def _in_words(found: dict[str, tuple[Any, Any]]) -> Iterator[str]:
    for name, (before, after) in found.items():
        field = Installation._meta.get_field(name)
        label = field.verbose_name.removesuffix(" on").removesuffix(" mm")
        yield f"{label} {_shown(field, before)}, now {_shown(field, after)}"


def _shown(field, value: Any) -> str:
    if value in (None, ""):
        return "blank"
    if isinstance(value, dt.date):
        return day(value)
    if isinstance(value, float):
        return f"{value:g}"
    return str(dict(field.choices or ()).get(value, value))

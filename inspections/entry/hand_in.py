"""One line for each boat that comes back: miles, mast, and what its skipper says is damaged."""

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any

from django import forms
from django.db import transaction

from fleet.models import Boat, Change, SeasonUse

from ..models import HandIn

MOST_MILES = 100_000


class LineForm(forms.Form):
    """One boat's line. What was shown goes back with it, so that only what was changed is saved,
    even if somebody else saved another line, or another number, in the meantime."""

    miles = forms.IntegerField(
        label="Miles this season",
        required=False,
        min_value=0,
        max_value=MOST_MILES,
        show_hidden_initial=True,
        error_messages={
            "invalid": "Miles are a whole number of nautical miles, such as 1200.",
            "min_value": "Miles cannot be negative.",
            "max_value": "More than 100,000 miles in one season is not possible.",
        },
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 6}),
    )
    mast_down = forms.BooleanField(label="Mast down", required=False, show_hidden_initial=True)
    note = forms.CharField(
        label="Damage, or anything odd in the rig",
        required=False,
        max_length=300,
        error_messages={"max_length": "The note is too long: 300 characters at most."},
    )

    def __init__(self, boat: Boat, use: SeasonUse | None, data: Any = None) -> None:
        shown = {
            "miles": use.miles if use else None,
            "mast_down": use.mast_down if use else boat.mast_down_off_season,
        }
        super().__init__(data, prefix=f"boat{boat.pk}", initial=shown)
        self.boat = boat
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{field.label}, {boat}"


def lines(boats: Iterable[Boat], year: int, data: Any = None) -> list[LineForm]:
    """Return a line for each boat, with what is on record of this season."""
    boats = list(boats)
    uses = {use.boat_id: use for use in SeasonUse.objects.filter(boat__in=boats, year=year)}
    return [LineForm(boat, uses.get(boat.pk), data) for boat in boats]


@transaction.atomic
def save(changed: Iterable[LineForm], today: dt.date, by) -> list[Boat]:
    """Put the changed lines on record, all of them; return their boats."""
    # In one order, so that two people saving at once never wait for each other in a ring.
    in_order = sorted(changed, key=lambda line: line.boat.pk)
    return [line.boat for line in in_order if _save(line, today, by)]


def _save(line: LineForm, today: dt.date, by) -> bool:
    given, changed = line.cleaned_data, set(line.changed_data)
    boats = Boat.objects.select_for_update(of=("self",)).select_related("base__ground", "fleet")
    boat = boats.get(pk=line.boat.pk)
    use = {name: given[name] for name in ("miles", "mast_down") if name in changed}
    if use:
        _save_use(boat, today.year, use, by)
    note = given["note"].strip()
    # The same note on the same day is a form sent twice.
    if note and HandIn.objects.filter(boat=boat, on=today, note=note).exists():
        return bool(use)
    if note or "miles" in use:
        HandIn.objects.create(boat=boat, on=today, miles=use.get("miles"), note=note, by=by)
    return bool(use or note)


def _save_use(boat: Boat, year: int, use: dict[str, Any], by) -> None:
    usual = {
        "ground": boat.base.ground,
        "mast_down": boat.mast_down_off_season,
        "service": boat.service,
    }
    season, new = SeasonUse.objects.get_or_create(boat=boat, year=year, defaults=usual | use)
    before = {} if new else {name: getattr(season, name) for name in use}
    for name, value in use.items():
        setattr(season, name, value)
    season.save()
    words = ", ".join(_said(use))
    Change.objects.create(
        fleet=boat.fleet, boat=boat, what=f"Season {year}: {words}", by=by, before=before, after=use
    )


def _said(use: dict[str, Any]) -> Iterator[str]:
    if "miles" in use:
        yield "miles not known" if use["miles"] is None else f"{use['miles']} miles"
    if "mast_down" in use:
        yield "mast down" if use["mast_down"] else "mast stays up"

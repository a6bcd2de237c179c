"""A boat, added in one short form or corrected later."""

import datetime as dt
from typing import Any

from django import forms
from django.db import transaction

from fleet.models import Base, Boat, Change, Fleet
from fleet.sheets import folded

from ..dock.forms import DayInput

ALWAYS = (
    "name", "base", "design", "rig", "fractional", "spreader_pairs", "length_m", "build_year",
    "joined", "history_complete_since", "service", "mast_down_off_season", "owned_by", "paid_by",
    "owner_name", "owner_email",
)  # fmt: skip
LATER = ("planned_exit", "left")
YEARS = (1850, 2150)


class BoatForm(forms.ModelForm):
    """What a boat is. A new one has defaults for all that the fleet already tells."""

    class Meta:
        model = Boat
        fields = (*ALWAYS, *LATER)
        labels = {
            "fractional": "Fractional: forestay below the masthead",
            "spreader_pairs": "Pairs of spreaders on the main mast",
            "length_m": "Length of the hull, m",
            "build_year": "Year built",
            "joined": "In the fleet since",
            "history_complete_since": "Every part renewed or lost is on record since",
            "mast_down_off_season": "The mast usually comes down in the off season",
            "owned_by": "Owned by",
            "paid_by": "Rigging paid by",
            "owner_name": "Owner's name",
            "owner_email": "Owner's email, for reminders",
            "planned_exit": "Planned to leave",
            "left": "Left the fleet",
        }
        help_texts = {
            "design": "Boats of the same design are sisters: a rig is copied among them.",
            "history_complete_since": "Blank: since its first inspection here.",
            "left": "Its record is kept: what happened to its rig still teaches.",
        }
        widgets = {
            name: DayInput()
            for name in ("joined", "history_complete_since", "planned_exit", "left")
        }

    def __init__(self, fleet: Fleet, data: Any = None, instance: Boat | None = None) -> None:
        boat = instance or Boat(fleet=fleet, joined=fleet.today(), service=usual_service(fleet))
        super().__init__(data, instance=boat)
        self.fleet, self.today = fleet, fleet.today()
        self.fields["base"].queryset = Base.objects.of(fleet)
        self.fields["base"].empty_label = "choose"
        for name in ("owned_by", "paid_by"):
            self.fields[name].choices = [
                ("", "as the fleet"), *self.fields[name].choices[1:]
            ]  # fmt: skip
        if instance is None:
            for name in LATER:
                del self.fields[name]
            bases = list(Base.objects.of(fleet)[:2])
            self.initial["base"] = bases[0].pk if len(bases) == 1 else None
        self.before = {name: getattr(boat, boat._meta.get_field(name).attname)
                       for name in self.fields}  # fmt: skip

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        # Compared as the import compares, so that "tern" and "Tern" are one boat there and here.
        others = Boat.objects.of(self.fleet).exclude(pk=self.instance.pk).values_list("name")
        if folded(name) in {folded(other) for (other,) in others}:
            raise forms.ValidationError(
                f"There is a boat called {name} in this fleet already. Add a number or its "
                "registration to one of the two names."
            )
        return name

    def clean_build_year(self) -> int:
        year = self.cleaned_data["build_year"]
        if not YEARS[0] <= year <= self.today.year:
            raise forms.ValidationError(f"Write the year it was built, to {self.today.year}.")
        return year

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        joined, built = given.get("joined"), given.get("build_year")
        if joined and built and joined.year < built:
            self.add_error("joined", f"It was built later, in {built}.")
        for name in ("joined", "history_complete_since", "left"):
            self._not_to_come(name, given.get(name))
        for name in LATER:
            if joined and given.get(name) and given[name] < joined:
                self.add_error(name, "This is before it came into the fleet.")
        self._left_after_what_is_on_record(given.get("left"))
        return given

    def _not_to_come(self, name: str, day: dt.date | None) -> None:
        if day and day > self.today:
            self.add_error(name, "This day is still to come.")

    def _left_after_what_is_on_record(self, left: dt.date | None) -> None:
        last = self.instance.inspections.first() if self.instance.pk and left else None
        if last and last.on > left:
            self.add_error("left", f"It was inspected later, on {last.on}. Correct the day.")


def usual_service(fleet: Fleet) -> str:
    """Return what boats of such a fleet mostly do."""
    return Boat.Service.CLUB if fleet.kind == Fleet.Kind.CLUB else Boat.Service.CHARTER


@transaction.atomic
def save(form: BoatForm, by) -> Boat:
    """Write a boat, and what was changed of it by whom."""
    new = form.instance.pk is None
    boat = form.save()
    after = {name: getattr(boat, boat._meta.get_field(name).attname) for name in form.fields}
    changed = [name for name in after if new or after[name] != form.before[name]]
    if changed:
        labels = ", ".join(str(form.fields[name].label).lower() for name in changed)
        Change.objects.create(
            fleet=boat.fleet,
            boat=boat,
            what="Boat added" if new else f"Boat corrected: {labels}"[:300],
            by=by,
            before={} if new else {name: form.before[name] for name in changed},
            after={name: after[name] for name in changed},
        )
    return boat

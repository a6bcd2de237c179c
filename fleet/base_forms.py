"""Bases and the waters they lie on, added and corrected by hand."""

import calendar
from typing import Any

from django import forms
from django.db import models, transaction

from .models import Base, Change, CruisingGround, Fleet
from .sheets import folded

MONTHS = [(number, calendar.month_name[number]) for number in range(1, 13)]
HOURS = "Rigger hours are a whole number of hours, such as 300; leave it blank if not known."
CATEGORIES = "After ISO 9223, used to put waters in order. When in doubt between two, the higher."


def taken(rows: models.QuerySet, name: str, own: int | None) -> bool:
    """Return whether another row has the name, compared as the import compares."""
    others = rows.exclude(pk=own).values_list("name", flat=True)
    return folded(name) in {folded(other) for other in others}


def one_line(text: str) -> str:
    return " ".join(text.split())


class GroundForm(forms.ModelForm):
    """A cruising ground: its name and how hard its air is on metal."""

    class Meta:
        model = CruisingGround
        fields = ("name", "corrosivity", "en_factor")
        labels = {"en_factor": "Corrosion resistance factor, EN 1993-1-4 Annex A"}
        help_texts = {"corrosivity": CATEGORIES}

    def __init__(self, fleet: Fleet, data: Any = None, instance: Any = None) -> None:
        super().__init__(data, instance=instance or CruisingGround(fleet=fleet))
        self.fleet = fleet
        categories = CruisingGround.Corrosivity.choices
        self.fields["corrosivity"].choices = [("", "choose"), *categories]

    def clean_name(self) -> str:
        name = one_line(self.cleaned_data["name"])
        if taken(CruisingGround.objects.of(self.fleet), name, self.instance.pk):
            raise forms.ValidationError(f"There is a ground called {name} in this fleet already.")
        return name


class BaseForm(forms.ModelForm):
    """A base, on a ground of the fleet or on a new one that is added with it."""

    new_ground = forms.CharField(label="Or the name of a new ground", max_length=80, required=False)
    corrosivity = forms.ChoiceField(
        label="Corrosivity of the new ground",
        choices=[("", "choose"), *CruisingGround.Corrosivity.choices],
        required=False,
        help_text=CATEGORIES,
    )

    class Meta:
        model = Base
        fields = ("name", "ground", "off_season_start", "off_season_end", "rigger_hours")
        labels = {
            "ground": "Cruising ground",
            "off_season_start": "Off season begins in",
            "off_season_end": "Off season ends with",
            "rigger_hours": "Rigger hours in one off season",
        }
        help_texts = {"rigger_hours": "What can be done here in a winter; blank if not known."}
        error_messages = {"rigger_hours": dict.fromkeys(("invalid", "min_value"), HOURS)}

    field_order = ("name", "ground", "new_ground", "corrosivity")

    def __init__(self, fleet: Fleet, data: Any = None, instance: Any = None) -> None:
        super().__init__(data, instance=instance or Base(fleet=fleet))
        self.fleet = fleet
        grounds = CruisingGround.objects.of(fleet)
        self.fields["ground"].queryset = grounds
        self.fields["ground"].required = False
        self.fields["ground"].empty_label = "a new one, named below"
        for name in ("off_season_start", "off_season_end"):
            usual = calendar.month_name[getattr(fleet, name)]
            self.fields[name] = forms.TypedChoiceField(
                label=self.fields[name].label, coerce=int, empty_value=None, required=False,
                choices=[("", f"as the fleet: {usual}"), *MONTHS],
            )  # fmt: skip
        if not grounds.exists():
            del self.fields["ground"]
            self.fields["new_ground"].label = "Cruising ground"
            self.fields["corrosivity"].label = "Corrosivity of the ground"

    def clean_name(self) -> str:
        name = one_line(self.cleaned_data["name"])
        if taken(Base.objects.of(self.fleet), name, self.instance.pk):
            raise forms.ValidationError(f"There is a base called {name} in this fleet already.")
        return name

    def clean_new_ground(self) -> str:
        name = one_line(self.cleaned_data["new_ground"])
        if name and taken(CruisingGround.objects.of(self.fleet), name, None):
            raise forms.ValidationError(f"The fleet has a ground called {name}: choose it above.")
        return name

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        chosen, new = given.get("ground"), given.get("new_ground")
        if not chosen and not new and "new_ground" not in self.errors:
            self.add_error("new_ground", "A base lies on a cruising ground: choose or name one.")
        if chosen and new:
            self.add_error("new_ground", "A base lies on one ground: choose one or name a new one.")
        if new and not given.get("corrosivity"):
            self.add_error("corrosivity", "Say how corrosive the new ground is.")
        if bool(given.get("off_season_start")) != bool(given.get("off_season_end")):
            self.add_error("off_season_end", "Give both months of the off season, or neither.")
        return given


@transaction.atomic
def save_ground(form: GroundForm, by) -> CruisingGround:
    """Write a ground, and who added or changed what of it."""
    _note(form, "Ground", by)
    return form.save()


@transaction.atomic
def save_base(form: BaseForm, by) -> Base:
    """Write a base, its new ground before it, and who added or changed what of it."""
    given = form.cleaned_data
    if given["new_ground"]:
        ground = CruisingGround.objects.create(
            fleet=form.fleet, name=given["new_ground"], corrosivity=given["corrosivity"]
        )
        form.instance.ground = ground
        words = f"Ground {ground} added, {ground.get_corrosivity_display()}"
        Change.objects.create(fleet=form.fleet, what=words, by=by)
    _note(form, "Base", by)
    return form.save()


def _note(form: forms.ModelForm, kind: str, by) -> None:
    row, fields = form.instance, form._meta.fields
    stored = type(row).objects.filter(pk=row.pk).values(*fields).first() if row.pk else None
    after = {name: getattr(row, row._meta.get_field(name).attname) for name in fields}
    before = stored or {}
    changed = [name for name in fields if stored is None or after[name] != before[name]]
    if not changed:
        return
    labels = ", ".join(str(form[name].label if name in form.fields else name).lower()
                       for name in changed)  # fmt: skip
    what = f"{kind} {row} corrected: {labels}" if stored else f"{kind} {row} added"
    Change.objects.create(
        fleet=form.fleet,
        what=what[:300],
        by=by,
        before={name: before[name] for name in changed if name in before},
        after={name: after[name] for name in changed},
    )

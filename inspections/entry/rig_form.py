"""One description of a whole rig: "8 mm 1x19, 2016, invoice 123, fitter"."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from fleet import whole_rig
from fleet.models import Boat, Installation, Stay
from fleet.whole_rig import RigPlan

from .fields import CERTAINTIES, FittedField, SizeField, definite, say_not_known

# Stainless steels as in EN 10088 and AISI, rod as in UNS S20910; what is on the certificate counts.
ALLOYS = ("AISI 316 (1.4401)", "AISI 304 (1.4301)", "UNS S20910", "galvanised steel", "HMPE")
SAID = ("construction", "alloy", "diameter_mm", "lower_terminal", "upper_terminal", "pin_mm",
        "invoice", "batch", "fitter")  # fmt: skip


class RigForm(forms.ModelForm):
    """What all parts of a rig share, which kinds it is said of, and the sisters that get it too."""

    diameter_mm = SizeField(label="Diameter, mm")
    pin_mm = SizeField(label="Clevis pin, mm")
    fitted = FittedField(
        label="Fitted", help_text="The day, or the year alone: 2016. Blank if not known."
    )
    certainty = forms.ChoiceField(
        label="How the date is known", choices=CERTAINTIES, required=False
    )
    kinds = forms.MultipleChoiceField(
        label="What was fitted",
        choices=[(value, f"{label}s") for value, label in Installation.Kind.choices],
        initial=Installation.Kind.values,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one kind of part."},
    )
    foils = forms.MultipleChoiceField(
        label="Inside a furler foil",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    sisters = forms.ModelMultipleChoiceField(
        label="And the same for its sister boats",
        queryset=Boat.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = Installation
        fields = SAID
        labels = {
            "invoice": "Invoice or log reference",
            "fitter": "Fitted by",
        }
        help_texts = {"alloy": "As on the certificate or invoice; blank if not known."}
        widgets = {"alloy": forms.TextInput(attrs={"list": "alloys"})}

    alloys = ALLOYS
    field_order = (
        "diameter_mm",
        "construction",
        "alloy",
        "fitted",
        "certainty",
        "invoice",
        "fitter",
    )

    def __init__(self, boat: Boat, data: Any = None) -> None:
        self.boat, self.today = boat, boat.fleet.today()
        usual = whole_rig.usual(boat, self.today)
        usual["construction"] = Installation.Construction.ONE_BY_NINETEEN
        super().__init__(data, initial=usual)
        say_not_known(self)
        names = dict(Stay.Name.choices)
        self.fields["foils"].choices = [
            (name, f"the {names[name]}") for name in whole_rig.furlable(boat)
        ]
        near = whole_rig.sisters(boat, self.today)
        self.fields["sisters"].queryset = Boat.objects.filter(pk__in=[each.pk for each in near])

    def _post_clean(self) -> None:
        """Leave the whole part to the pattern: this form knows no stay."""

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if {"fitted", "certainty"} & set(self.errors):
            return given
        try:
            self.when = definite(given["fitted"], given["certainty"])
        except ValidationError as fault:
            self.add_error("certainty", fault)
            return given
        for fault in whole_rig.faults(self.boats(), *self.when, self.today):
            self.add_error("fitted", fault)
        if not self.errors:
            for fault in whole_rig.overlaps(self.plans()):
                self.add_error("fitted", fault)
        return given

    def boats(self) -> list[Boat]:
        return [self.boat, *self.cleaned_data.get("sisters", ())]

    def said(self) -> dict[str, Any]:
        fitted, certainty = self.when
        values = {name: self.cleaned_data[name] for name in SAID}
        foils = frozenset(self.cleaned_data["foils"])
        return {"fitted": fitted, "certainty": certainty, "foils": foils, **values}

    def plans(self) -> list[RigPlan]:
        return whole_rig.plans(self.boats(), self.said(), self.cleaned_data["kinds"])

    @property
    def words(self) -> str:
        """Return the description as people say it: ``8 mm 1x19, fitted 2016, invoice 123``."""
        given = self.cleaned_data
        size = f"{given['diameter_mm']:g} mm" if given["diameter_mm"] else ""
        wire = " ".join(filter(None, [size, given["construction"], given["alloy"]]))
        names = dict(Stay.Name.choices)
        foils = " and ".join(names[name] for name in given["foils"])
        said = [
            wire,
            f"{foils} inside a foil" if foils else "",
            f"fitted {given['fitted']}" if given["fitted"] else "date not known",
            f"invoice {given['invoice']}" if given["invoice"] else "",
            f"by {given['fitter']}" if given["fitter"] else "",
        ]
        return ", ".join(filter(None, said))

    def plain_fields(self) -> Iterable[forms.BoundField]:
        return [field for field in self if field.name not in ("kinds", "foils", "sisters")]

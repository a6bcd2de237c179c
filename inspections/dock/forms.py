"""Forms for what people put on record, apart from the inspection itself (see ``dock_form``)."""

from django import forms

from fleet.models import Installation
from fleet.models.parts import POSITIVE

from ..recording import SAME_AGAIN

OF_A_WIRE = ("construction", "diameter_mm", "length_mm", "lower_terminal", "upper_terminal",
             "mast_end", "adjuster")  # fmt: skip
NOT_OF = {
    Installation.Kind.TURNBUCKLE: OF_A_WIRE,
    Installation.Kind.CHAINPLATE: (*OF_A_WIRE, "thread", "hand"),
}


class DayInput(forms.DateInput):
    """The date field of the browser; it sends ISO dates whatever it shows."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class MakeGoodForm(forms.Form):
    """When it was made good, and by whom."""

    on = forms.DateField(label="Made good on", widget=DayInput())
    by = forms.CharField(label="By", max_length=120)


class RenewalForm(forms.ModelForm):
    """The new part: what differs from the one before it, and the proof of its age."""

    fitted_on = forms.DateField(label="Fitted on", widget=DayInput())
    fitter = forms.CharField(label="Fitted by", max_length=120)
    reason = forms.ChoiceField(
        label="Why the old one came off",
        choices=[
            choice
            for choice in Installation.Removal.choices
            if choice[0] not in (Installation.Removal.CONDEMNED, Installation.Removal.BOAT_LEFT)
        ],
    )

    class Meta:
        model = Installation
        fields = ["fitted_on", "fitter", "invoice", "batch", *SAME_AGAIN]
        labels = {
            "invoice": "Invoice or log reference",
            "diameter_mm": "Diameter, mm",
            "pin_mm": "Pin, mm",
            "length_mm": "Pin to pin, mm",
        }
        help_texts = {"invoice": "The proof of its age. A wire is rarely marked with its date."}

    def __init__(self, *args, condemned: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if condemned:
            del self.fields["reason"]
        for name in NOT_OF.get(self.instance.kind, ()):
            del self.fields[name]
        for name in {"diameter_mm", "pin_mm"} & self.fields.keys():
            self.fields[name].validators += POSITIVE  # Told at its field, which `recording` cannot.

    def _post_clean(self) -> None:
        """Leave the checks of the new part to ``recording``: this form's instance is the old."""

    def renewal(self) -> dict:
        """Return the arguments of ``recording.record_renewal``."""
        given = self.cleaned_data
        facts = {name: given[name] for name in ("fitted_on", "fitter", "invoice", "batch")}
        changes = {name: given[name] for name in SAME_AGAIN if name in given}
        return {**facts, "reason": given.get("reason", ""), "changes": changes}

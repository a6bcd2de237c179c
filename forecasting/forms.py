"""What is asked for in the address of a page of the forecast."""

from django import forms

from fleet.models import Base, Fleet

from .hours_list import HOURS, MOST_HOURS


class HoursForm(forms.Form):
    """How many hours there are for looking at boats, and at which base."""

    hours = forms.FloatField(
        min_value=0.1, max_value=MOST_HOURS, required=False, label="Hours there are"
    )
    base = forms.ModelChoiceField(
        Base.objects.none(), required=False, empty_label="all bases", label="Base"
    )

    def __init__(self, fleet: Fleet, asked: dict):
        super().__init__({"hours": f"{HOURS:g}"} | asked)
        self.fields["base"].queryset = Base.objects.of(fleet)

    @property
    def chosen(self) -> tuple[float, Base | None]:
        """Return hours and base; what cannot be understood falls back to what a page begins with.

        The form beside them says what was wrong.
        """
        good = self.cleaned_data if self.is_valid() else getattr(self, "cleaned_data", {})
        return good.get("hours") or HOURS, good.get("base")

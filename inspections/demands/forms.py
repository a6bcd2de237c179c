"""Forms for demands: entered in a minute, for one boat or many."""

from django import forms

from fleet.models import Base, Boat, Fleet

from ..dock.forms import DayInput
from ..models import Demand
from .keeping import FACTS, State

FIRST = ("asker", "asker_name", "clause", "wanted", "deadline", "base")


class DemandForm(forms.ModelForm):
    """Who asks what of which boats, by when, and what satisfies it."""

    asked_on = forms.DateField(label="Asked on", widget=DayInput())
    since = forms.DateField(
        label="Counts from",
        widget=DayInput(),
        required=False,
        help_text="What was done from this day on answers it. Blank: from the day it was asked.",
    )
    deadline = forms.DateField(label="Deadline", widget=DayInput())
    base = forms.ModelChoiceField(
        label="All boats of a base",
        queryset=Base.objects.none(),
        required=False,
        empty_label="no, those ticked below",
    )
    boats = forms.ModelMultipleChoiceField(
        label="Boats",
        queryset=Boat.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = Demand
        fields = FACTS
        widgets = {
            "clause": forms.Textarea({"rows": 3}),
            "letter": forms.Textarea({"rows": 6}),
            "notes": forms.Textarea({"rows": 3}),
        }
        labels = {
            "asker": "Who asks",
            "asker_name": "Their name",
            "clause": "What they ask, in their words",
            "wanted": "What satisfies it",
            "part_kind": "Which parts",
            "stay_name": "Of which stay",
            "older_than_years": "Only parts older than, years",
            "letter": "Letter that goes with the answer",
        }

    def __init__(self, fleet: Fleet, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        today = fleet.today()
        self.fields["base"].queryset = fleet.bases.all()
        standing = Boat.objects.of(fleet).standing(today)
        if self.instance.pk:
            standing = standing | self.instance.boats.all()
            self.initial["boats"] = list(self.instance.boats.values_list("pk", flat=True))
        self.fields["boats"].queryset = standing.distinct()
        self.fleet = fleet

    def clean(self) -> dict:
        given = super().clean()
        boats = list(given.get("boats") or ())
        if base := given.get("base"):
            own = Boat.objects.of(self.fleet).standing(self.fleet.today()).filter(base=base)
            boats = list({boat.pk: boat for boat in [*boats, *own]}.values())
        if not boats and "boats" not in self.errors:
            self.add_error("boats", "Tick at least one boat, or choose a base that has some.")
        given["boats"] = boats
        return given

    def _post_clean(self) -> None:
        """Leave the checks of the row to ``keeping``, which keeps what it was before."""

    @property
    def first_of_all(self) -> list:
        """The fields a demand needs; the boats follow them on the page."""
        return [self[name] for name in FIRST]

    @property
    def more(self) -> list:
        return [self[name] for name in FACTS if name not in FIRST]

    def facts(self) -> dict:
        return {name: self.cleaned_data[name] for name in FACTS}


class SentForm(forms.Form):
    """The answer went out: when, who sent it, how."""

    on = forms.DateField(label="Sent on", widget=DayInput())
    by = forms.CharField(label="Sent by", max_length=120)
    how = forms.CharField(
        label="How, and what was with it", max_length=200, required=False,
        help_text="For example: by mail, reply pack and two invoices.",
    )  # fmt: skip


class ClosedForm(forms.Form):
    """Who asked is content, or asks no longer."""

    state = forms.ChoiceField(
        label="They say",
        choices=[(State.ACCEPTED, "accepted"), (State.WITHDRAWN, "no longer asked")],
    )
    on = forms.DateField(label="On", widget=DayInput())
    by = forms.CharField(label="Who of theirs", max_length=120)

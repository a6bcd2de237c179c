"""Forms for the reports of others and what they recommend."""

from django import forms
from django.db.models import Q

from fleet.models import Installation

from ..dock.forms import DayInput
from ..followups import Competence, Recommendation, Report
from ..judgement.history import name_of
from ..models import Inspection
from .advice import Closing, State
from .forms import PartChoice, parts_up


class ReportForm(forms.Form):
    """The file, and who wrote it when."""

    file = forms.FileField(
        label="The report, as PDF",
        widget=forms.ClearableFileInput({"accept": "application/pdf,.pdf"}),
        help_text="Up to 20 MB. Only members of this fleet can read it.",
    )
    on = forms.DateField(label="Date of the report", widget=DayInput())
    author = forms.CharField(label="Written by", max_length=120)
    competence = forms.ChoiceField(label="Competence", choices=Competence.choices)


class RecommendationForm(forms.ModelForm):
    """One recommendation: what, where, by when, and who answers for it."""

    by_when = forms.DateField(label="By when", widget=DayInput())

    class Meta:
        model = Recommendation
        fields = ("text", "installation", "by_when", "answers")
        labels = {"text": "What is recommended"}
        field_classes = {"installation": PartChoice}

    def __init__(self, report: Report, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["installation"].queryset = parts_up(report.boat)
        self.fields["installation"].empty_label = "the boat as a whole"
        self.fields["installation"].label = "Part"

    def facts(self) -> dict:
        return {name: self.cleaned_data[name] for name in self.Meta.fields}

    def _post_clean(self) -> None:
        """Leave the checks to ``advice.recommend``: the row is not made here."""


class LookChoice(forms.ModelChoiceField):
    def label_from_instance(self, look: Inspection) -> str:
        return f"{look.on:%d %b %Y}, {look.get_level_display()}, {look.person}"


class FittedChoice(forms.ModelChoiceField):
    def label_from_instance(self, part) -> str:
        return f"{name_of(part)}, fitted {part.fitted_on:%d %b %Y}"


class CloseForm(forms.Form):
    """Done, with its evidence, or declined, with the reason."""

    state = forms.ChoiceField(
        label="It is", choices=[c for c in State.choices if c[0] != State.OPEN]
    )
    inspection = LookChoice(
        label="Evidence: an inspection since", queryset=Inspection.objects.none(), required=False,
        empty_label="none",
    )  # fmt: skip
    renewal = FittedChoice(
        label="Evidence: a part fitted since", queryset=Installation.objects.none(), required=False,
        empty_label="none",
    )  # fmt: skip
    how = forms.CharField(
        label="Note of the work, or why it is declined", max_length=300, required=False
    )
    on = forms.DateField(label="Date", widget=DayInput())
    by = forms.CharField(label="Closed by", max_length=120)

    def __init__(self, row: Recommendation, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        report = row.report
        looks = Inspection.objects.filter(boat=report.boat, on__gte=report.on)
        self.fields["inspection"].queryset = looks
        since = Q(fitted_on__gte=report.on, fitted_certainty="day")
        self.fields["renewal"].queryset = parts_up(report.boat).filter(since)

    def closing(self) -> Closing:
        return Closing(**self.cleaned_data)

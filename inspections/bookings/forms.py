"""Forms for bookings: a file, or one by hand."""

from django import forms

from fleet.models import Boat, Fleet

from ..dock.forms import DayInput


class BookingFileForm(forms.Form):
    """A sheet with boat, from, to; or a calendar file."""

    file = forms.FileField(
        label="Sheet (XLSX, CSV) or calendar file (.ics)",
        widget=forms.ClearableFileInput({"accept": ".xlsx,.csv,.ics,text/calendar"}),
        help_text="A sheet has the columns boat, from, to, and a reference if you like.",
    )
    boat = forms.ModelChoiceField(
        label="A calendar file is of",
        queryset=Boat.objects.none(),
        required=False,
        empty_label="the boat each event names",
    )
    whole = forms.BooleanField(
        label="It names all that is to come of its boats: take off what it lacks", required=False
    )

    def __init__(self, fleet: Fleet, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["boat"].queryset = Boat.objects.of(fleet).standing(fleet.today())


class BookingForm(forms.Form):
    """One booking by hand."""

    boat = forms.ModelChoiceField(label="Boat", queryset=Boat.objects.none(), empty_label="choose")
    first = forms.DateField(label="From", widget=DayInput())
    last = forms.DateField(label="To", widget=DayInput())
    reference = forms.CharField(
        label="Reference", max_length=80, required=False,
        help_text="A number; guests need not be named.",
    )  # fmt: skip

    def __init__(self, fleet: Fleet, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["boat"].queryset = Boat.objects.of(fleet).standing(fleet.today())

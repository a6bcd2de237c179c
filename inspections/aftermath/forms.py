"""Forms for what happened and what was done about it; each small enough for a phone."""

import datetime as dt

from django import forms
from django.db.models import QuerySet

from fleet.models import Boat, Fleet, Installation, Spare

from ..dock.forms import DayInput, RenewalForm
from ..entry.fields import say_not_known
from ..followups import Competence, Rejudgement
from ..judgement.history import name_of
from ..judgement.proof import says_something
from ..models import Inspection
from ..recording import SAME_AGAIN, Look
from . import store
from .happenings import EVENTS, Event
from .second_look import Second
from .stepping import CHECKS

SPOTS = [choice for choice in Installation.Spot.choices if choice[0] != "whole"]
CUT = ("length_mm", "lower_terminal", "thread", "hand")
# How far a turnbuckle stands open is said of a part that is up.
OF_A_SPARE = tuple(name for name in SAME_AGAIN if name != "adjuster")


class PartChoice(forms.ModelChoiceField):
    """One part of a boat, by the words of its place."""

    def label_from_instance(self, part: Installation) -> str:
        return f"{name_of(part)} ({part.description})"


def parts_up(boat: Boat) -> QuerySet[Installation]:
    rows = Installation.objects.standing().filter(stay__boat=boat).select_related("stay")
    return rows.order_by("stay__mast", "stay", "kind", "pk")


class EventForm(forms.Form):
    """Boat, what, when, a line: entered in a minute."""

    boat = forms.ModelChoiceField(label="Boat", queryset=Boat.objects.none(), empty_label="choose")
    sign = forms.ChoiceField(label="What happened", choices=[("", "choose"), *EVENTS])
    on = forms.DateField(label="When", widget=DayInput())
    line = forms.CharField(label="In a line", max_length=300)
    person = forms.CharField(label="Told by", max_length=120)

    def __init__(self, fleet: Fleet, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["boat"].queryset = Boat.objects.of(fleet).standing(fleet.today())

    def event(self) -> Event:
        given = self.cleaned_data
        return Event(given["sign"], given["on"], given["line"].strip(), given["person"].strip())


class FailureForm(forms.Form):
    """Which part let go, where, when, and what happened."""

    part = PartChoice(
        label="Part that let go", queryset=Installation.objects.none(), empty_label="choose"
    )
    spot = forms.ChoiceField(
        label="Where it broke",
        choices=[("", "not known, or no wire"), *SPOTS],
        required=False,
        help_text="Of a wire: its lower end, the wire itself, or its upper end.",
    )
    on = forms.DateField(label="When", widget=DayInput())
    what = forms.CharField(label="What happened, in a line", max_length=300)
    person = forms.CharField(label="Told by", max_length=120)

    def __init__(self, boat: Boat, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["part"].queryset = parts_up(boat)

    def clean(self) -> dict:
        given = super().clean()
        part, spot = given.get("part"), given.get("spot")
        if part and part.kind == Installation.Kind.WIRE and not spot:
            self.add_error("spot", "Say where the wire broke: lower end, wire or upper end.")
        if part and part.kind != Installation.Kind.WIRE:
            given["spot"] = Installation.Spot.WHOLE
        return given


class SecondLookForm(forms.Form):
    """A rigger or surveyor, not the first judge, says what they saw and what it means."""

    on = forms.DateField(label="Date", widget=DayInput())
    person = forms.CharField(label="Who looked again", max_length=120)
    competence = forms.ChoiceField(label="Competence", choices=Competence.choices)
    level = forms.ChoiceField(label="How far", choices=Inspection.Level.choices)
    method = forms.ChoiceField(label="Method", choices=Inspection.Method.choices)
    saw = forms.CharField(
        label="What was seen, where and how",
        max_length=600,
        widget=forms.Textarea({"rows": 3}),
        help_text="It stands beside the first judgement, and both stay on record.",
    )
    value = forms.ChoiceField(label="Judgement", choices=Rejudgement.Value.choices)
    again_by = forms.DateField(
        label="Look again by", widget=DayInput(), required=False, help_text="For watch only."
    )
    signed = forms.BooleanField(
        label="I looked at this part myself and answer for this judgement",
        error_messages={"required": "Sign it: whoever judges again answers for it."},
    )

    def look(self) -> Look:
        given = self.cleaned_data
        names = ("on", "level", "person", "competence", "method")
        return Look(**{name: given[name] for name in names}, note=given["saw"])

    def second(self) -> Second:
        given = self.cleaned_data
        return Second(given["value"], given["saw"], given["again_by"])


class MoveForm(forms.Form):
    """A move to the yard, recorded when it was made. It releases nothing."""

    on = forms.DateField(label="Date", widget=DayInput())
    origin = forms.CharField(label="From", max_length=120)
    destination = forms.CharField(label="To which yard", max_length=120)
    skipper = forms.CharField(label="Skipper", max_length=120)
    weather = forms.CharField(label="Weather, forecast and as it was", max_length=300)
    agreed = forms.BooleanField(
        label="Under engine, no sail set, no guests on board",
        error_messages={"required": "Any other voyage of a held boat is not allowed."},
    )

    def facts(self) -> dict:
        names = ("on", "origin", "destination", "skipper", "weather")
        return {name: self.cleaned_data[name] for name in names}


class SteppingForm(forms.Form):
    """What is signed for when the mast is up again."""

    on = forms.DateField(label="Stepped on", widget=DayInput())
    checks = forms.MultipleChoiceField(
        label="Checked, each by hand",
        choices=CHECKS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    tune = forms.CharField(
        label="Tune",
        max_length=300,
        required=False,
        help_text="Tension gauge readings or turns, for whoever re-tensions it.",
    )
    person = forms.CharField(label="First signature", max_length=120)


class SignForm(forms.Form):
    """A name and a day."""

    on = forms.DateField(label="Date", widget=DayInput())
    person = forms.CharField(label="Name", max_length=120)


class SpareForm(forms.ModelForm):
    """A part in store, described as a fitted one is; what is not known stays blank."""

    stored_on = forms.DateField(label="In store since", widget=DayInput())

    class Meta:
        model = Spare
        fields = ("base", "kind", *OF_A_SPARE, "place", "batch", "invoice", "stored_on")
        labels = {"invoice": "Invoice or log reference"}
        help_texts = {"thread": "As written on it or on its invoice: M16, 5/8 UNF."}

    def __init__(self, fleet: Fleet, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fleet = fleet
        self.fields["base"].queryset = fleet.bases.all()
        say_not_known(self)

    def clean_stored_on(self) -> dt.date:
        on = self.cleaned_data["stored_on"]
        if on > self.fleet.today():
            raise forms.ValidationError("This day is still to come.")
        return on


class TakeForm(forms.Form):
    """A part taken out of store for something else than a recorded renewal."""

    by = forms.CharField(label="Taken by", max_length=120)
    what_for = forms.CharField(label="What for", max_length=200)


class WithdrawForm(forms.Form):
    """A part that is on the list of the store and not there to be used."""

    why = forms.CharField(
        label="Why it is withdrawn", max_length=200, help_text="Lost, unfit, counted twice."
    )


class SpareChoice(forms.ModelChoiceField):
    """A part in store that may fit, with its base and what is to be checked."""

    def label_from_instance(self, spare: Spare) -> str:
        return f"{spare.description}, {spare.base}: {self.words[spare.pk]}"


class FittingForm(RenewalForm):
    """The renewal, with what it takes from store; for a condemned part with its proof."""

    spare = SpareChoice(
        label="Taken from store", queryset=Spare.objects.none(), required=False,
        empty_label="no, a new part",
        help_text="What is on record of it goes before what stands above; of one that is cut to "
        "length, all but length and lower terminal.",
    )  # fmt: skip

    def __init__(self, *args, condemned: bool, **kwargs) -> None:
        super().__init__(*args, condemned=condemned, **kwargs)
        part: Installation = self.instance
        self.matches = store.matches(part, part.stay.boat.fleet)
        field = self.fields["spare"]
        field.words = {match.spare.pk: match.words for match in self.matches}
        field.queryset = Spare.objects.filter(pk__in=field.words).select_related("base")
        if not self.matches:
            del self.fields["spare"]
        if condemned:
            self.fields["invoice"].required = True
            self.fields["invoice"].help_text = (
                "The proof that it was renewed: without it the boat stays held. Where there is no "
                "invoice, the page of the log."
            )

    def clean_invoice(self) -> str:
        """A dash is no proof; asked for where a part is renewed that holds its boat."""
        invoice = self.cleaned_data["invoice"]
        if self.fields["invoice"].required and not says_something(invoice):
            raise forms.ValidationError("Give the number of the invoice, or the page of the log.")
        return invoice

    def clean_fitter(self) -> str:
        if not says_something(self.cleaned_data["fitter"]):
            raise forms.ValidationError("Say who fitted it.")
        return self.cleaned_data["fitter"]

    def renewal(self) -> dict:
        facts, spare = super().renewal(), self.cleaned_data.get("spare")
        if spare:
            [cut] = [match.to_cut for match in self.matches if match.spare == spare]
            # A wire cut to length has the length and the lower terminal said above.
            own = [name for name in OF_A_SPARE if not (cut and name in CUT)]
            facts["changes"] |= {n: getattr(spare, n) for n in own if getattr(spare, n)}
            facts["batch"] = facts["batch"] or spare.batch
        return facts

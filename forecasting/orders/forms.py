"""Forms of a work order: given out, a line ticked, an order placed with a supplier."""

from django import forms

from fleet.models import Fleet
from inspections.aftermath.forms import FittingForm
from inspections.dock.forms import DayInput
from inspections.judgement.proof import says_something

from .. import yard_told
from ..models import SupplierOrder, WorkOrder, WorkOrderLine
from ..yard_board import visit_days
from .ticking import REMOVAL

RELEASED = "Who looked over the finished work and answers for it; not the fitter where you can."


class GiveForm(forms.ModelForm):
    """To whom the order is given, by which date it is to be done, which week is planned."""

    class Meta:
        model = WorkOrder
        fields = ["given_to", "due_by", "week"]
        widgets = {"due_by": DayInput(), "week": DayInput()}
        labels = {"given_to": "Yard or contractor", "due_by": "To be done by",
                  "week": "Week in the yard, from"}  # fmt: skip
        help_texts = {"week": "If it is planned: any day of that week."}

    def __init__(self, *args, fleet: Fleet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fleet = fleet
        self._begin_with_the_board()
        self.fields["given_to"].required = self.fields["due_by"].required = True

    def _begin_with_the_board(self) -> None:
        """Begin with the boat's next days on the board of the weeks, where nothing is said yet."""
        if self.instance.week or self.instance.due_by or self.instance.given_to:
            return
        for visit in yard_told.of_boat(self.instance.boat)[:1]:
            first, last = visit_days(visit)
            self.initial |= {"week": first, "due_by": last}

    def clean_due_by(self):  # noqa: ANN201 a date, as the field gives it
        due = self.cleaned_data["due_by"]
        if due < self.fleet.today():
            raise forms.ValidationError("This day is past: give one that is still to come.")
        return due

    def plan(self) -> dict:
        """Return the fields of the order to be set, of a valid form."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


def released() -> forms.CharField:
    return forms.CharField(label="Released by", max_length=120, help_text=RELEASED)


class SaysWho(forms.Form):
    """A dash is no name."""

    def clean_released_by(self) -> str:
        return self._name("released_by", "Say who released it.")

    def _name(self, field: str, fault: str) -> str:
        if not says_something(self.cleaned_data[field]):
            raise forms.ValidationError(fault)
        return self.cleaned_data[field]


class LineForm(SaysWho, FittingForm):
    """The renewal as the record asks for it, and who released it."""

    released_by = released()

    def __init__(self, *args, line: WorkOrderLine, **kwargs) -> None:
        part = line.installation
        gone = part.condemned_on is not None or part.removed_on is not None
        initial = {"fitted_on": line.order.fleet.today(), "fitter": line.order.given_to,
                   "invoice": "", "batch": "", "reason": REMOVAL.get(line.code, "")}  # fmt: skip
        super().__init__(*args, instance=part, condemned=gone, initial=initial, **kwargs)
        self.order_fields(["fitted_on", "fitter", "released_by", "reason", "invoice", "batch"])


class LinkForm(SaysWho):
    """A renewal that is on record already: who released it."""

    released_by = released()


class SetUpForm(SaysWho):
    """The mast down and up: when, by whom, released by whom."""

    done_on = forms.DateField(label="Done on", widget=DayInput())
    who = forms.CharField(label="Done by", max_length=120)
    released_by = released()

    def clean_who(self) -> str:
        return self._name("who", "Say who did it.")


class SupplyForm(forms.ModelForm):
    """The number under which something was ordered for the work."""

    class Meta:
        model = SupplierOrder
        fields = ["supplier", "number", "on"]
        widgets = {"on": DayInput()}

    def __init__(self, *args, fleet: Fleet, **kwargs) -> None:
        super().__init__(*args, initial={"on": fleet.today()}, **kwargs)
        self.fleet = fleet

    def clean_on(self):  # noqa: ANN201 a date, as the field gives it
        if self.cleaned_data["on"] > self.fleet.today():
            raise forms.ValidationError("A day to come cannot be on record yet.")
        return self.cleaned_data["on"]

"""Boats that others pay for: what the coming year asks of each, and whether they agreed."""

from dataclasses import dataclass

from django import forms
from django.db.models import QuerySet

from fleet.models import Boat, Fleet
from fleet.models.fleets import Party
from inspections.dock.forms import DayInput

from ..models import BudgetFigure, PayConsent
from .money_field import MoneyField


@dataclass(frozen=True)
class Asked:
    """A boat, who pays, the year's mean and P90 in minor units, and what was asked and answered."""

    boat: Boat
    payer: str
    figure: BudgetFigure
    consent: PayConsent | None

    @property
    def state(self) -> str:
        if self.consent is None:
            return "not asked"
        if not self.consent.answer:
            return "asked"
        return self.consent.get_answer_display()


def of_others(fleet: Fleet) -> QuerySet[Boat]:
    """Return the boats for whose rigging another party than the fleet's own pays."""
    return fleet.boats.exclude(paid_by__in=("", fleet.rigging_paid_by)).select_related("base")


def first_year(fleet: Fleet) -> int | None:
    return BudgetFigure.objects.of(fleet).order_by("year").values_list("year", flat=True).first()


def asked(fleet: Fleet) -> list[Asked]:
    """Return a row a boat others pay for, in the budget's first year, by payer and name."""
    year = first_year(fleet)
    boats = {boat.pk: boat for boat in of_others(fleet)}
    consents = {row.boat_id: row for row in PayConsent.objects.of(fleet).filter(year=year)}
    figures = BudgetFigure.objects.of(fleet).filter(boat__in=boats, year=year)
    rows = [
        Asked(boats[figure.boat_id], Party(boats[figure.boat_id].paid_by).label, figure,
              consents.get(figure.boat_id))
        for figure in figures
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (row.payer, row.boat.name))


class ConsentForm(forms.ModelForm):
    """What was asked of whom, and the answer: by whom and when, once there is one."""

    class Meta:
        model = PayConsent
        fields = ["asked_of", "asked_on", "answer", "answered_on", "answered_by", "note"]
        widgets = {"asked_on": DayInput(), "answered_on": DayInput()}
        labels = {"answered_on": "Answered on", "answered_by": "Answered by", "answer": "Consent"}

    def __init__(self, *args, fleet: Fleet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"] = MoneyField(
            fleet=fleet, label="Amount asked for", initial=self.instance.amount_minor
        )
        self.order_fields(["amount", *self.Meta.fields])

    def clean(self) -> dict:
        found = super().clean()
        if found.get("answer"):
            for name in ("answered_on", "answered_by"):
                if not found.get(name):
                    self.add_error(name, "An answer says who gave it and when.")
        return found

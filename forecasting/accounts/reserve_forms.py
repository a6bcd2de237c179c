"""Who owns, who pays and what a contract obliges to; then how the reserve is kept."""

from decimal import Decimal

from django import forms

from fleet.models import Fleet
from fleet.models.fleets import Party

from ..models import ReservePlan, ReturnTerms
from .money_field import MoneyField


class ReturnForm(forms.ModelForm):
    """The three questions before a reserve; a contract is named where one obliges."""

    class Meta:
        model = ReturnTerms
        fields = ["owned_by", "paid_by", "obliged", "contract"]
        labels = {
            "owned_by": "Who owns the boats, or most of them?",
            "paid_by": "Who pays for their rigging?",
            "obliged": "Does a lease or management contract oblige you to give a boat back "
            "with her rig in a stated condition?",
            "contract": "Which contract, and what it asks for",
        }
        help_texts = {"contract": "Only where one obliges: its date, the boats, the condition."}

    def clean(self) -> dict:
        found = super().clean()
        if found.get("obliged") == ReturnTerms.Obliged.YES and not found.get("contract"):
            self.add_error("contract", "Name the contract and what condition it asks for.")
        return found


class ReserveForm(forms.Form):
    """What is in the reserve, what it earns, whose it is, and how often it may run dry."""

    payer = forms.ChoiceField(
        label="Whose money it is",
        choices=Party.choices,
        help_text="The schedule counts the boats this party pays for.",
    )
    interest = forms.DecimalField(
        label="Interest a year, %", min_value=0, max_value=50, decimal_places=2, initial=0
    )
    chance = forms.DecimalField(
        label="May run dry at a year end, chance in % of all the budget's years",
        min_value=0,
        max_value=50,
        decimal_places=1,
        initial=10,
    )

    def __init__(self, *args, fleet: Fleet, plan: ReservePlan, **kwargs) -> None:
        initial = {
            "payer": plan.payer,
            "interest": (plan.interest * 100).normalize() if plan.interest else 0,
            "chance": f"{plan.chance * 100:g}",
            "opening": plan.opening_minor,
            "contribution": plan.contribution_minor,
        }
        super().__init__(*args, initial=initial, **kwargs)
        self.fields["opening"] = MoneyField(fleet=fleet, label="In the reserve today", least=None)
        self.fields["contribution"] = MoneyField(
            fleet=fleet,
            label="Put in each year",
            required=False,
            help_text="Leave blank for the level contribution that keeps to the chance above.",
        )
        self.order_fields(["payer", "opening", "interest", "chance", "contribution"])

    def values(self) -> dict:
        """Return the fields of a ReservePlan; of a valid form."""
        found = self.cleaned_data
        return {
            "payer": found["payer"],
            "opening_minor": found["opening"],
            "interest": found["interest"] / Decimal(100),
            "chance": float(found["chance"]) / 100,
            "contribution_minor": found["contribution"],
        }

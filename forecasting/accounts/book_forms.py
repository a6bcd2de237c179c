"""Forms of the books: how rigging is accounted for, an invoice, what was got for an old part."""

from decimal import Decimal

from django import forms

from fleet.models import Boat, Fleet
from inspections.dock.forms import DayInput

from ..models import AccountsPolicy, Invoice, WorkOrder
from .money_field import MoneyField

PERCENT = {"min_value": 0, "max_value": 100, "decimal_places": 2}
LIVES = ("life_wire", "life_turnbuckle", "life_chainplate")
CODES = (
    "account_cost", "account_accumulated", "account_charge", "account_repairs", "account_disposal",
)  # fmt: skip
HUNDRED = Decimal(100)


class AccountsForm(forms.ModelForm):
    """Threshold, tax, lives and account codes; tax in percent."""

    tax_rate = forms.DecimalField(label="Tax on purchases, %", **PERCENT)
    tax_recovered = forms.DecimalField(
        label="Share of it you recover, %",
        help_text="What you recover is no cost. The rest raises every price of the forecast.",
        **PERCENT,
    )

    class Meta:
        model = AccountsPolicy
        fields = [*LIVES, *CODES]
        help_texts = {
            "life_wire": "Before any review. The forecast proposes what is left at each year end.",
            "account_cost": "Account codes are printed in the register's files.",
        }

    def __init__(self, *args, fleet: Fleet, policy: AccountsPolicy, **kwargs) -> None:
        initial = {name: getattr(policy, name) for name in (*LIVES, *CODES)} | {
            "tax_rate": f"{float(policy.tax_rate * HUNDRED):g}",
            "tax_recovered": f"{float(policy.tax_recovered * HUNDRED):g}",
            "capital_from": policy.capital_from_minor,
        }
        super().__init__(*args, initial=initial, **kwargs)
        self.fields["capital_from"] = MoneyField(
            fleet=fleet,
            label="Capitalise a part from",
            help_text="Of all its invoices together. Below it the part is expensed, in the books "
            "and in the forecast alike.",
        )
        self.order_fields(["capital_from", "tax_rate", "tax_recovered", *LIVES, *CODES])

    def decided(self) -> AccountsPolicy:
        """Return the policy decided, not yet saved; of a valid form."""
        policy, found = self.save(commit=False), self.cleaned_data
        policy.capital_from_minor = found["capital_from"]
        policy.tax_rate = found["tax_rate"] / HUNDRED
        policy.tax_recovered = found["tax_recovered"] / HUNDRED
        return policy


class OrderChoice(forms.ModelChoiceField):
    """A work order an invoice can name: any that is neither closed nor withdrawn."""

    def __init__(self, fleet: Fleet, **kwargs) -> None:
        orders = WorkOrder.objects.of(fleet).open().select_related("boat")
        usual = {"required": False, "empty_label": "none", "label": "Work order",
                 "help_text": "Its cost goes to the parts that order renews, once the work is "
                 "done."}  # fmt: skip
        super().__init__(orders, **(usual | kwargs))

    def label_from_instance(self, order: WorkOrder) -> str:
        return f"{order}, {order.boat}, {order.get_state_display()}"


class InvoiceForm(forms.ModelForm):
    """One invoice, in whole units of the currency with their decimals."""

    class Meta:
        model = Invoice
        fields = ["work_order", "boat", "number", "supplier", "order", "on", "note"]
        labels = {"order": "The supplier's order number"}
        widgets = {"on": DayInput()}

    def __init__(self, *args, fleet: Fleet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fleet = fleet
        self.fields["boat"].queryset = Boat.objects.of(fleet)
        self.fields["work_order"] = OrderChoice(fleet)
        self.fields["net"] = MoneyField(fleet=fleet, label="Total without tax")
        self.fields["tax"] = MoneyField(fleet=fleet, label="Tax on it", initial=0)
        self.fields["recovered"] = MoneyField(
            fleet=fleet, label="Tax you recover", initial=0, help_text="Left out of the cost."
        )
        self.order_fields(
            [
                "work_order",
                "boat",
                "number",
                "supplier",
                "order",
                "on",
                "net",
                "tax",
                "recovered",
                "note",
            ]
        )

    def clean_on(self):  # noqa: ANN201 a date, as the field gives it
        on = self.cleaned_data["on"]
        if on > self.fleet.today():
            raise forms.ValidationError("An invoice of a day to come cannot be on record yet.")
        return on

    def clean(self) -> dict:
        found = super().clean()
        tax, recovered = found.get("tax"), found.get("recovered")
        if tax is not None and recovered is not None and recovered > tax:
            self.add_error("recovered", "Not more than the tax on the invoice.")
        order, boat = found.get("work_order"), found.get("boat")
        if order and boat and order.boat_id != boat.pk:
            self.add_error("boat", f"Order {order} is of {order.boat}: choose that boat.")
        keys = ("boat", "supplier", "number")
        if all(key in found for key in keys) and (
            Invoice.objects.standing().filter(**{key: found[key] for key in keys}).exists()
        ):
            self.add_error(
                "number", "This boat has an invoice of that supplier and number already."
            )
        return found

    def entered(self) -> Invoice:
        """Return the invoice, not yet saved; of a valid form."""
        invoice, found = self.save(commit=False), self.cleaned_data
        invoice.net_minor, invoice.tax_minor = found["net"], found["tax"]
        invoice.recovered_minor = found["recovered"]
        return invoice


class ProceedsForm(forms.Form):
    """What a part that came off was sold for."""

    def __init__(self, *args, fleet: Fleet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["minor"] = MoneyField(fleet=fleet, label="Got for the old part")

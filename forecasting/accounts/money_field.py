"""An amount as people type it, kept as integer minor units."""

from decimal import Decimal

from django import forms

from fleet.models import Fleet
from fleet.templatetags.wording import WHOLE_UNITS

MOST = Decimal(10) ** 12


class MoneyField(forms.DecimalField):
    """An amount in whole units of the fleet's currency with its decimals; cleans to minor units.

    A currency without minor units has no decimals.
    """

    def __init__(self, *, fleet: Fleet, least: int | None = 0, **kwargs) -> None:
        self.places = 0 if fleet.currency in WHOLE_UNITS else 2
        kwargs.setdefault("label", "")
        kwargs["label"] = f"{kwargs['label']}, {fleet.currency}"
        super().__init__(decimal_places=self.places, min_value=least, max_value=MOST, **kwargs)

    def clean(self, value) -> int | None:
        amount = super().clean(value)
        return None if amount is None else int(amount.scaleb(self.places))

    def prepare_value(self, value: int | str | None) -> Decimal | str | None:
        """Show minor units as an amount; what somebody typed stays as typed."""
        if isinstance(value, int) and not isinstance(value, bool):
            return Decimal(value).scaleb(-self.places)
        return value

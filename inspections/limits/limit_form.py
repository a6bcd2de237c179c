"""The form by which a manager changes what one sign means."""

import datetime as dt

from django import forms
from django.core.exceptions import ValidationError

from fleet.models import Fleet

from ..criteria import Measure, Sign
from ..criteria.changes import Difference, allowed_outcomes, may_change, of_sign
from ..criteria.words import REFERENCES
from ..dock.forms import DayInput
from ..dock.spot_forms import DecimalAsTyped
from ..models import VerdictValue
from . import versions

COUNTED = ("wires", "spots", "pieces")
MOST = 10_000
LONGEST_DAYS = 1_830
# To show what a share of a diameter comes to: 8 mm 1x19 with its usual pin and screw.
EXAMPLE_MM = {"wire": 1.6, "pin": 16.0, "thread": 16.0}


class LimitForm(forms.Form):
    """Limit, days and verdict of one sign, as far as the sign has them; from when, and why.

    Starts from the newest criteria of the fleet. ``change`` after ``is_valid``: what differs.
    """

    since = forms.DateField(label="In force from", widget=DayInput())
    reason = forms.CharField(
        label="Why",
        max_length=160,
        help_text="Shown with every verdict it leads to, e.g. agreed with our rigger.",
        error_messages={"required": "Say why: whoever reads the verdict will ask."},
    )
    understood = forms.BooleanField(
        label="I have read what this loosens, and answer for it", required=False
    )

    def __init__(self, fleet: Fleet, code: str, data=None) -> None:
        self.fleet, self.base = fleet, versions.newest(fleet)
        self.sign = self.base.sign(code)
        super().__init__(data, initial={"since": versions.earliest(fleet)})
        self.fields = {**_own_fields(self.sign), **self.fields}
        self.change: dict = {}
        self.differences: list[Difference] = []

    def clean_limit(self) -> float | None:
        limit, was = self.cleaned_data["limit"], self.sign.measure.limit
        if limit is None and was is not None:
            raise ValidationError("A limit once set is not taken away: give the number.")
        if limit is not None and not 0 < limit <= MOST:
            raise ValidationError(f"The limit must be above 0 and at most {MOST:,}.")
        if limit is not None and self.sign.measure.unit in COUNTED and limit % 1:
            raise ValidationError(f"Whole {self.sign.measure.unit} only: they are counted.")
        return limit

    def clean_since(self) -> dt.date:
        versions.check_since(self.fleet, self.cleaned_data["since"])
        return self.cleaned_data["since"]

    def clean(self) -> dict:
        given = super().clean()
        asked = {"limit": self._limit_now(), "again_days": self.sign.again_days}
        asked["outcome"] = self.sign.outcome
        self.change = {
            name: given[name]
            for name, was in asked.items()
            if given.get(name) not in (None, "") and given[name] != was
        }
        if not any(name in self.errors for name in asked):
            self._check_change(given)
        return given

    def _limit_now(self) -> float | None:
        return self.sign.measure.limit if self.sign.measure else None

    def _check_change(self, given: dict) -> None:
        if "again_days" in given and given["again_days"] is None and self.sign.again_days:
            self.add_error("again_days", "Say after how many days to look again.")
            return
        if not self.change:
            self.add_error(None, "Nothing is different from the rule as it is. Change it first.")
            return
        try:
            after = self.base.changed(self.sign.code, **self.change)[self.sign.code]
        except ValueError as fault:
            days = self.change.get("outcome") in ("watch", "refer") and "again_days" in self.fields
            words = "This verdict asks for another look: say after how many days."
            self.add_error("again_days" if days else None, words if days else str(fault))
            return
        self.differences = list(of_sign(self.sign, after))

    @property
    def looser(self) -> list[Difference]:
        return [each for each in self.differences if each.looser]

    def may_be_written(self) -> bool:
        """Whether it is valid, and where it loosens anything somebody said they have read that."""
        if not self.is_valid():
            return False
        if self.looser and not self.cleaned_data["understood"]:
            self.add_error("understood", "This is looser than before: read what it says, tick it.")
            return False
        return True


def _own_fields(sign: Sign) -> dict[str, forms.Field]:
    """Return a field for each thing of this sign that a fleet sets."""
    fields: dict[str, forms.Field] = {}
    if not may_change(sign):
        return fields
    if sign.rule == "measured":
        fields["limit"] = _limit_field(sign.measure)
    outcomes = allowed_outcomes(sign)
    if len(outcomes) > 1:
        words = [(value, VerdictValue(value).label) for value in outcomes]
        fields["outcome"] = forms.ChoiceField(label="It means", choices=words, initial=sign.outcome)
    if sign.again_days is not None or {"watch", "refer"} & set(outcomes):
        fields["again_days"] = forms.IntegerField(
            label="Look again after, days", min_value=1, max_value=LONGEST_DAYS, required=False,
            initial=sign.again_days,
            help_text="For watch; and for a rigger to look, where that is the worst it means.",
        )  # fmt: skip
    return fields


def _limit_field(measure: Measure) -> DecimalAsTyped:
    unit = f"times the diameter {REFERENCES[measure.of]}" if measure.of else measure.unit
    field = DecimalAsTyped(label=f"Limit for {measure.label}, {unit}")
    field.initial = None if measure.limit is None else f"{measure.limit:g}"
    if measure.of and measure.limit is not None:
        size = EXAMPLE_MM[measure.of]
        part = f"{measure.limit:g} times {size:g} mm is {measure.limit * size:.3g} mm"
        field.help_text = f"As it is, {part}."
    return field

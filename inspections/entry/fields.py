"""Fields of what is entered by hand: the day a part was fitted, as people know it, and sizes."""

import datetime as dt

from django import forms
from django.core.exceptions import ValidationError

from fleet.models import Installation
from fleet.sheets.dates import DayOrYear
from fleet.sheets.faults import Reading, Unreadable

Certainty = Installation.Certainty
CERTAINTIES = [("", "as the date says"), *Certainty.choices]


class FittedField(forms.Field):
    """A day or a year alone: a date, an int, or None. Shown as it was understood."""

    def __init__(self, **kwargs) -> None:
        super().__init__(required=False, **kwargs)

    def to_python(self, value: object) -> dt.date | int | None:
        text = str(value).strip() if value is not None else ""
        if not text:
            return None
        try:
            # What is to come is refused later, where the fleet's own day is known.
            return DayOrYear(future=True).read(text, Reading(today=dt.date.max))
        except Unreadable as fault:
            raise ValidationError(f"{fault.wrong} {fault.right}") from fault


class SizeField(forms.FloatField):
    """Millimetres, or nothing where the size is not known."""

    def __init__(self, *, label: str, most: float = 200) -> None:
        wrong = f"Write millimetres between 0.1 and {most:,g}; leave it blank if not known."
        super().__init__(
            label=label,
            required=False,
            min_value=0.1,
            max_value=most,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "size": 6}),
            error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), wrong),
        )

    def prepare_value(self, value: object) -> object:
        return f"{value:g}" if isinstance(value, float) else value


def say_not_known(form: forms.ModelForm) -> None:
    """Call the blank choice of construction, terminals and hand what it means."""
    for name in ("construction", "lower_terminal", "upper_terminal", "hand"):
        if name in form.fields:
            form.fields[name].choices = [("", "not known"), *form.fields[name].choices[1:]]


def definite(fitted: dt.date | int | None, certainty: str) -> tuple[dt.date | None, str]:
    """Return date and certainty: a year alone is 1 July, known to the year.

    Raises ValidationError, in words, where the two contradict each other.
    """
    if fitted is None:
        if certainty not in ("", Certainty.UNKNOWN):
            raise ValidationError("There is no date this certainty could be said of.")
        return None, Certainty.UNKNOWN
    if isinstance(fitted, int):
        if certainty == Certainty.DAY:
            raise ValidationError(
                "A year alone is not a day: write the day, or “known to the year”."
            )
        return dt.date(fitted, 7, 1), certainty or Certainty.YEAR
    return fitted, certainty or Certainty.DAY


def as_written(part: Installation) -> str:
    """Return the date as it would be typed: a year alone where only the year is known."""
    if part.fitted_on is None:
        return ""
    middle = (part.fitted_on.month, part.fitted_on.day) == (7, 1)
    if part.fitted_certainty == Certainty.YEAR and middle:
        return str(part.fitted_on.year)
    return part.fitted_on.isoformat()

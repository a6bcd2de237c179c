"""What is due, month by month, with what bookings leave free: the rows of the calendar page."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from django import forms

from fleet.models import Base, Fleet

from ..bookings import free_days, keeping
from ..due import Due
from ..models import Reminder

LATE = "late"
AHEAD = 12  # Months with a name of their own; what comes after is put together.
LATER = "later"


@dataclass(frozen=True)
class Row:
    """One thing due, and what the boat's bookings mean for it."""

    due: Due
    advice: free_days.Advice | None = None

    @property
    def what(self) -> str:
        return Reminder.Kind(self.due.kind).label

    @property
    def held(self) -> bool:
        return self.due.kind == Reminder.Kind.HELD


@dataclass
class Month:
    """A month, all that is late, or all that comes after a year. ``key`` is its name in links."""

    key: str
    title: str
    rows: list[Row] = field(default_factory=list)


class CalendarForm(forms.Form):
    """What of the calendar is shown."""

    base = forms.ModelChoiceField(
        label="Base", queryset=Base.objects.none(), required=False, empty_label="all bases"
    )
    kind = forms.ChoiceField(
        label="What", choices=[("", "everything"), *Reminder.Kind.choices], required=False
    )
    boat = forms.CharField(label="Boat has", max_length=80, required=False)

    def __init__(self, fleet: Fleet, *args, **kwargs) -> None:
        super().__init__(*args, auto_id="id_calendar_%s", **kwargs)
        self.fields["base"].queryset = fleet.bases.all()

    def narrowed(self, dues: Iterable[Due]) -> list[Due]:
        """Return those asked for; a question that makes no sense narrows nothing."""
        given = self.cleaned_data if self.is_valid() else {}
        base, kind, name = given.get("base"), given.get("kind"), given.get("boat", "").casefold()
        return [
            each
            for each in dues
            if (not base or each.boat.base_id == base.pk)
            and (not kind or each.kind == kind)
            and name in each.boat.name.casefold()
        ]


def key_of(on: dt.date, today: dt.date) -> str:
    """Return in which part of the calendar a day stands."""
    if on < today:
        return LATE
    months = (on.year - today.year) * 12 + on.month - today.month
    return LATER if months > AHEAD else f"{on:%Y-%m}"


def title_of(key: str, form: str = "%B %Y") -> str:
    if key in (LATE, LATER):
        return {LATE: "Late", LATER: "After a year"}[key]
    return dt.date.fromisoformat(f"{key}-01").strftime(form)


def counts(dues: Iterable[Due], today: dt.date) -> list[tuple[str, str, int]]:
    """Return key, short title and number of each part that has something, in order of days."""
    keys = [key_of(each.on, today) for each in dues]
    return [(key, title_of(key, "%b %Y"), len(list(own))) for key, own in groupby(keys)]


def advice_of(each: Due, today: dt.date, away: Sequence[free_days.Span]) -> free_days.Advice | None:
    """Return what a boat's bookings mean for one thing due on it."""
    if each.kind == Reminder.Kind.HELD:
        return free_days.grounded(today, away)
    return free_days.advice(each.on, today, away)


def with_advice(fleet: Fleet, dues: Sequence[Due], today: dt.date) -> list[Row]:
    """Return the rows with what bookings mean for them; nothing moves a due date."""
    away = keeping.away(fleet, today)
    return [Row(each, advice_of(each, today, away.get(each.boat.pk, ()))) for each in dues]


def months(rows: Iterable[Row], today: dt.date) -> list[Month]:
    """Return the rows by month, as they come."""
    parts = groupby(rows, key=lambda row: key_of(row.due.on, today))
    return [Month(key, title_of(key), list(own)) for key, own in parts]

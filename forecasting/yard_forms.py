"""What a manager says of the yard: what each base has a week, days that are taken, lead times."""

from typing import Any

from django import forms
from django.db import transaction

from fleet.models import Base, Boat, Fleet, Installation
from fleet.templatetags.wording import day
from inspections.dock.forms import DayInput

from .models import LeadTime, YardBaseWeeks, YardBlock, YardPlan
from .season_forms import SEPARATORS, as_text, number_of
from .yard_calendar import KINDS

LABELS = {
    "hours": "riggers' hours a week",
    "masts": "masts taken down and put up, begun in a week",
    "berths": "boats that can stand with the mast down at one time",
}
UNTIL = "the last day on which boats are worked on"
LONGEST = 366  # days


class WeekNumbers(forms.CharField):
    """Numbers of 0 or more, one a week the base is open; a single one holds for all."""

    def __init__(self, weeks: int, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=600, **kwargs)
        self.weeks = weeks

    def clean(self, value: str) -> list[float]:
        words = [word for word in SEPARATORS.split(super().clean(value).strip()) if word]
        numbers = [number_of(word) for word in words]
        if len(numbers) == 1:
            return numbers * self.weeks
        if numbers and len(numbers) != self.weeks:
            raise forms.ValidationError(
                f"{len(numbers)} numbers: give one for every week, or {self.weeks}, one for each "
                "week the base is open."
            )
        return numbers


class YardLimitsForm(forms.Form):
    """What there is at each base; fields `hours_7` and so on belong to base 7.

    rows: YardBaseWeeks of the plan, saved or, before it is first worked out, not.
    """

    hours_a_boat = forms.FloatField(
        label="Riggers' hours one boat takes in a week at most", min_value=1, max_value=500,
        help_text="A visit is as many weeks as its hours need. 40: common practice, no source.",
    )  # fmt: skip

    def __init__(self, *args: Any, plan: YardPlan, rows: list[YardBaseWeeks], **kw: Any) -> None:
        self.plan, self.rows = plan, rows
        said: dict[str, Any] = {"hours_a_boat": plan.hours_a_boat}
        for row in rows:
            said |= {f"{kind}_{row.base_id}": _as_text(_open(row, kind)) for kind in KINDS}
            said[f"until_{row.base_id}"] = row.until
        super().__init__(*args, initial=said, **kw)
        for row in rows:
            self._add_base(row)

    def _add_base(self, row: YardBaseWeeks) -> None:
        weeks, name = row.closes - row.opens, row.base.name
        for kind, words in LABELS.items():
            self.fields[f"{kind}_{row.base_id}"] = WeekNumbers(weeks, label=f"{name}: {words}")
        self.fields[f"until_{row.base_id}"] = forms.DateField(
            label=f"{name}: {UNTIL}", required=False, widget=DayInput(),
            help_text="Blank: as long as the off season lasts, eight weeks at least.",
        )  # fmt: skip

    def groups(self) -> list[dict]:
        """Return the fields base by base, with the days it is open."""
        return [
            {
                "base": row.base, "weeks": row.closes - row.opens,
                "first": self.plan.monday(row.opens), "last": self.plan.monday(row.closes - 1),
                "fields": [
                    (words, self[f"{kind}_{row.base_id}"])
                    for kind, words in (*LABELS.items(), ("until", UNTIL))
                ],
            }
            for row in self.rows
        ]  # fmt: skip

    def clean(self) -> dict:
        given = super().clean()
        for row in self.rows:
            until, first = given.get(f"until_{row.base_id}"), self.plan.monday(row.opens)
            if until and not 0 <= (until - first).days <= LONGEST:
                self.add_error(
                    f"until_{row.base_id}", f"Choose a day in the year from {day(first)} on."
                )
        return given

    def save(self) -> None:
        """Write what each base has, of a valid form; a plan without weeks gets its axis."""
        given = self.cleaned_data
        self.plan.hours_a_boat = given["hours_a_boat"]
        with transaction.atomic():
            self.plan.save()
            for row in self.rows:
                told = {kind: given[f"{kind}_{row.base_id}"] for kind in KINDS}
                row.until = given[f"until_{row.base_id}"]
                row.by_hand = row.by_hand or any(told[kind] != _open(row, kind) for kind in KINDS)
                for kind in KINDS:
                    setattr(row, kind, _on_axis(told[kind], row, self.plan.weeks))
                row.save()


def _open(row: YardBaseWeeks, kind: str) -> list[float]:
    """Return the numbers of the weeks the base is open."""
    return getattr(row, kind)[row.opens : row.closes]


def _as_text(numbers: list[float]) -> str:
    return as_text(numbers) if numbers else ""


def _on_axis(numbers: list[float], row: YardBaseWeeks, weeks: int) -> list[float]:
    if not numbers:
        return []
    after = weeks - row.closes
    return [numbers[0]] * row.opens + numbers + [numbers[-1]] * after


class YardBlockForm(forms.ModelForm):
    """Days that are taken, entered by hand."""

    class Meta:
        model = YardBlock
        fields = ("what", "base", "boat", "first", "last", "hours", "berths", "note")
        widgets = {"first": DayInput(), "last": DayInput()}
        labels = {"hours": "Riggers' hours it takes a week", "berths": "Berths it takes"}
        help_texts = {
            "base": "",
            "boat": "While others work on a boat, riggers do not.",
            "note": "For example: keel repair by the yard.",
        }

    def __init__(self, fleet: Fleet, data: Any = None) -> None:
        super().__init__(data, instance=YardBlock(fleet=fleet))
        self.fields["base"].queryset = Base.objects.of(fleet)
        self.fields["base"].empty_label = "every base"
        self.fields["boat"].queryset = Boat.objects.of(fleet).standing(fleet.today())
        self.fields["boat"].empty_label = "no boat of its own"

    def clean(self) -> dict:
        given = super().clean()
        first, last, boat, base = (given.get(key) for key in ("first", "last", "boat", "base"))
        if first and last and last < first:
            self.add_error("last", f"It ends before it begins, {day(first)}.")
        elif first and last and (last - first).days > LONGEST:
            self.add_error("last", "It is longer than a year: check the year.")
        if boat and base and boat.base_id != base.pk:
            self.add_error("boat", f"{boat.name} is kept at {boat.base}, not at {base}.")
        if boat and given.get("what") == YardBlock.What.SHUT:
            self.add_error("what", "A yard is not shut for one boat: choose what is done on it.")
        if boat and not base:
            given["base"] = boat.base
        return given


class YardBlockFileForm(forms.Form):
    """A sheet, or a calendar file, whose rows or events are days that are taken."""

    file = forms.FileField(
        label="Sheet (XLSX, CSV) or calendar file (.ics)",
        widget=forms.ClearableFileInput({"accept": ".xlsx,.csv,.ics,text/calendar"}),
        help_text="A sheet has the columns from and to; and, if you like, what, base, boat, hours, "
        "berths, note. An event that names a boat is work on that boat, any other is the base's.",
    )
    base = forms.ModelChoiceField(
        Base.objects.none(), label="What names no base or boat is of", required=False,
        empty_label="every base",
    )  # fmt: skip
    what = forms.ChoiceField(
        label="On those days, where it is not said", choices=YardBlock.What.choices
    )

    def __init__(self, fleet: Fleet, *args: Any) -> None:
        super().__init__(*args)
        self.fields["base"].queryset = Base.objects.of(fleet)


class LeadTimeForm(forms.ModelForm):
    """Weeks from order to hand for a kind of part."""

    class Meta:
        model = LeadTime
        fields = (
            "weeks", "kind", "construction", "diameter_from", "diameter_to", "supplier", "order_by"
        )  # fmt: skip
        labels = {
            "weeks": "Weeks from order to hand", "kind": "Kind of part",
            "diameter_from": "Diameter from, mm", "diameter_to": "Diameter to, mm",
            "order_by": "How or when to order",
        }  # fmt: skip
        help_texts = {
            "kind": "Of several that fit a part, the one that says most of it counts.",
            "diameter_from": "Of a wire its own, of the others their pin's. Blank: any.",
            "order_by": "For example: by Thursday noon; from 500 m on.",
        }

    def __init__(self, fleet: Fleet, data: Any = None) -> None:
        super().__init__(data, instance=LeadTime(fleet=fleet))
        self.fields["kind"].choices = [("", "any"), *Installation.Kind.choices]
        self.fields["construction"].choices = [("", "any"), *Installation.Construction.choices]

    def clean(self) -> dict:
        given = super().clean()
        low, high = given.get("diameter_from"), given.get("diameter_to")
        if low is not None and high is not None and high < low:
            self.add_error("diameter_to", f"It is less than {low:g}, where the sizes begin.")
        if given.get("construction") and given.get("kind") not in ("", "wire"):
            self.add_error("construction", "Only a wire has one: leave it at any.")
        if (given.get("weeks") or 0) > LONGEST / 7:
            self.add_error("weeks", "It is longer than a year: give weeks, not days.")
        return given

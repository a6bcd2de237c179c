"""Forms of reminders: a person's hours and language, the fleet's rules, its words, set aside."""

import datetime as dt
from zoneinfo import available_timezones

from django import forms

from ..models import Addressee, Reminder, ReminderRules
from ..models.listening import Language
from . import placeholders, set_aside

HOURS = [("", "none"), *((hour, f"{hour:02}:00") for hour in range(24))]


class PersonForm(forms.ModelForm):
    """When and in which language one address is written to."""

    quiet_from = forms.TypedChoiceField(
        choices=HOURS, coerce=int, empty_value=None, required=False, label="Quiet from"
    )
    quiet_until = forms.TypedChoiceField(
        choices=HOURS, coerce=int, empty_value=None, required=False, label="Quiet until"
    )

    class Meta:
        model = Addressee
        fields = ["language", "time_zone", "quiet_from", "quiet_until"]
        labels = {"language": "Language of the fixed words", "time_zone": "Time zone"}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        zones = [(name, name) for name in sorted(available_timezones()) if "/" in name]
        usual = f"the fleet's, {self.instance.fleet.time_zone}"
        self.fields["time_zone"].widget = forms.Select(choices=[("", usual), *zones])
        self.fields["time_zone"].help_text = ""

    def clean(self) -> dict:
        values = super().clean()
        ends = (values.get("quiet_from"), values.get("quiet_until"))
        if (ends[0] is None) != (ends[1] is None):
            raise forms.ValidationError("Quiet hours need both ends, or none.")
        if ends[0] is not None and ends[0] == ends[1]:
            raise forms.ValidationError(
                "From and until the same hour is the whole day, and nothing could ever be sent."
            )
        return values


class RemindingRulesForm(forms.ModelForm):
    """When the manager is told, and how long a message is tried."""

    class Meta:
        model = ReminderRules
        fields = ["manager_after_days", "manager_of_holds", "tried_for_hours"]
        labels = {
            "manager_after_days": "The manager hears when it is late by, days",
            "manager_of_holds": "The manager hears of a held boat at once",
            "tried_for_hours": "A message that fails is tried for, hours",
        }


class WordsForm(forms.Form):
    """The fleet's own subject, opening and closing, in one language."""

    language = forms.ChoiceField(choices=Language.choices, widget=forms.HiddenInput)
    subject = forms.CharField(required=False, label="Subject")
    opening = forms.CharField(
        required=False, label="Opening", widget=forms.Textarea(attrs={"rows": 4})
    )
    closing = forms.CharField(
        required=False, label="Closing", widget=forms.Textarea(attrs={"rows": 4})
    )

    def clean(self) -> dict:
        values = super().clean()
        for piece in ("subject", "opening", "closing"):
            for fault in placeholders.faults(values.get(piece, ""), piece):
                self.add_error(piece, str(fault))
        return values


class SetAsideForm(forms.Form):
    """Not now, or done elsewhere: why, until when, with what proof."""

    how = forms.ChoiceField(
        label="What is it?",
        choices=[
            ("", "choose"),
            ("snooze", "Not now: remind us later"),
            ("elsewhere", "It was done elsewhere"),
        ],
    )
    until = forms.DateField(
        required=False, label="Remind us again on", widget=forms.DateInput(attrs={"type": "date"})
    )
    done_on = forms.DateField(
        required=False, label="Done on", widget=forms.DateInput(attrs={"type": "date"})
    )
    reason = forms.CharField(
        label="Why, or who did what",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="For what was done elsewhere: who, with what competence, on which paper.",
    )
    evidence = forms.FileField(
        required=False,
        label="Paper or photo",
        help_text="A PDF of 20 MB, or a photo of 15 MB, at most.",
    )

    def __init__(self, *args, kind: str, today: dt.date, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.kind, self.today = kind, today
        self.fields["until"].help_text = f"At most {set_aside.LONGEST.days} days from now."

    def clean(self) -> dict:
        values = super().clean()
        if self.kind in set_aside.NEVER:
            what = Reminder.Kind(self.kind).label
            raise forms.ValidationError(f"“{what}” cannot be set aside: facts alone end it.")
        if values.get("how") == "snooze":
            self.check_until(values.get("until"))
        elif values.get("how") == "elsewhere":
            self.check_done(values.get("done_on"))
        return values

    def check_until(self, until: dt.date | None) -> None:
        if until is None:
            self.add_error("until", "Say from which day on people are to be reminded again.")
        elif not self.today < until <= self.today + set_aside.LONGEST:
            self.add_error("until", f"A day after today, {set_aside.LONGEST.days} days on at most.")

    def check_done(self, done_on: dt.date | None) -> None:
        if done_on is None:
            self.add_error("done_on", "Say on which day it was done.")
        elif done_on > self.today:
            self.add_error("done_on", "That day is still to come.")

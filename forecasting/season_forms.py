"""What a person says of a scenario: name, money, and what each base has, season by season."""

import re
from typing import Any

from django import forms
from django.db import transaction

from fleet.models import Base, Fleet
from fleet.templatetags.wording import WHOLE_UNITS

from .models import SEASONS, ScenarioBase, SeasonScenario

SEPARATORS = re.compile(r"[;\s]+")
ONE_OR_EACH = f"One number for every season, or {SEASONS} with blanks between; blank: no limit."
KINDS = {
    "hours": "riggers' hours a season",
    "crane_days": "crane days a season",
    "yard_slots": "boats with the mast down in the yard a season",
}


class SeasonNumbers(forms.CharField):
    """Numbers of 0 or more, one a season; a single one holds for all; blank is no limit."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=120, **kwargs)

    def clean(self, value: str) -> list[float]:
        words = [word for word in SEPARATORS.split(super().clean(value).strip()) if word]
        if not words:
            return []
        numbers = [number_of(word) for word in words]
        if len(numbers) == 1:
            return numbers * SEASONS
        if len(numbers) != SEASONS:
            raise forms.ValidationError(
                f"{len(numbers)} numbers: give one for every season, or {SEASONS}, one for each."
            )
        return numbers


def number_of(word: str) -> float:
    """Return a number of 0 or more; ValidationError, in words, for anything else."""
    plain = word.replace(",", "").replace("'", "")
    if not re.fullmatch(r"\d+(\.\d+)?", plain):
        raise forms.ValidationError(
            f"“{word}” is no number of 0 or more. Write 40000 or 40,000; blanks between seasons."
        )
    return float(plain)


def as_text(numbers: list[float]) -> str:
    """Return the numbers as they are typed: one where all are the same."""
    said = [f"{number:g}" if number < 1e6 else f"{number:.0f}" for number in numbers]
    return said[0] if len(set(said)) == 1 else " ".join(said)  # of no numbers: blank


class ScenarioForm(forms.Form):
    """A scenario and its limits; fields `hours_7` and so on belong to base 7."""

    name = forms.CharField(
        max_length=80, help_text="For example: as budgeted; one rigger fewer; less money."
    )
    money = SeasonNumbers()
    idle = forms.FloatField(
        min_value=0, max_value=1e9, initial=10_000,
        help_text="What it costs when a boat may not sail for a season, because something "
        "condemned could not be renewed.",
    )  # fmt: skip
    boats_a_crane_day = forms.FloatField(
        label="Boats a crane day", min_value=0.1, max_value=50, initial=2,
        help_text="Masts taken down and put up again. 2: common practice, no source.",
    )  # fmt: skip
    interest = forms.FloatField(
        label="Interest a year, %", min_value=0, max_value=50, initial=3,
        help_text="What money spent a year later is cheaper by.",
    )  # fmt: skip

    def __init__(self, *args: Any, fleet: Fleet, scenario: SeasonScenario | None = None, **kw: Any):
        self.fleet, self.scenario = fleet, scenario
        self.minor = 1 if fleet.currency in WHOLE_UNITS else 100
        self.bases = list(Base.objects.of(fleet))
        super().__init__(*args, initial=self._said(), **kw)
        self.fields["money"].label = f"Money a season, {fleet.currency}"
        self.fields["money"].help_text = ONE_OR_EACH
        self.fields["idle"].label = f"A season not sailed, {fleet.currency} a boat"
        for base in self.bases:
            for kind, words in KINDS.items():
                field = SeasonNumbers(label=f"{base.name}: {words}")
                self.fields[f"{kind}_{base.pk}"] = field

    def of_all(self) -> list[forms.BoundField]:
        """Return the fields that hold for all bases."""
        own = {f"{kind}_{base.pk}" for base in self.bases for kind in KINDS}
        return [field for field in self if field.name not in own]

    def of_bases(self) -> list[tuple[Base, list[forms.BoundField]]]:
        """Return each base with its fields."""
        return [(base, [self[f"{kind}_{base.pk}"] for kind in KINDS]) for base in self.bases]

    def _said(self) -> dict[str, Any]:
        """Initial values: the scenario's, or for a new one what the bases are known to have."""
        if self.scenario is None:
            hours = {f"hours_{base.pk}": base.rigger_hours or "" for base in self.bases}
            return {"name": "As budgeted", **hours}
        found = {
            "name": self.scenario.name,
            "idle": self.scenario.idle_minor / self.minor,
            "boats_a_crane_day": self.scenario.boats_a_crane_day,
            "interest": round(100 * self.scenario.discount, 4),
            "money": as_text([each / self.minor for each in self.scenario.money]),
        }
        for row in self.scenario.bases.all():
            found |= {
                f"{kind}_{row.base_id}": as_text(getattr(row, kind))
                for kind in KINDS
                if getattr(row, kind)
            }
        return found

    def clean_name(self) -> str:
        name = self.cleaned_data["name"].strip()
        others = SeasonScenario.objects.of(self.fleet).filter(name=name)
        if others.exclude(pk=self.scenario.pk if self.scenario else None).exists():
            raise forms.ValidationError("There is one of this name already: choose another.")
        return name

    def save(self, by) -> SeasonScenario:
        """Write the scenario and its bases, of a valid form."""
        given = self.cleaned_data
        scenario = self.scenario or SeasonScenario(fleet=self.fleet, made_by=by)
        scenario.name = given["name"]
        scenario.money = [round(each * self.minor) for each in given["money"]]
        scenario.idle_minor = round(given["idle"] * self.minor)
        scenario.boats_a_crane_day = given["boats_a_crane_day"]
        scenario.discount = given["interest"] / 100
        with transaction.atomic():
            scenario.save()
            for base in self.bases:
                limits = {kind: given[f"{kind}_{base.pk}"] for kind in KINDS}
                ScenarioBase.objects.update_or_create(scenario=scenario, base=base, defaults=limits)
        return scenario


class WhatIfForm(forms.Form):
    """A copy of a scenario with more or less of something in every season."""

    name = forms.CharField(max_length=80)
    money = forms.FloatField(
        label="Money, %", required=False, min_value=-100, max_value=1000,
        help_text="-20: a fifth less.",
    )  # fmt: skip
    base = forms.ModelChoiceField(Base.objects.none(), required=False, empty_label="Every base")
    hours = forms.FloatField(
        label="Riggers' hours a season", required=False, min_value=-100_000, max_value=100_000,
        help_text="-320: one rigger fewer for eight weeks of forty hours.",
    )  # fmt: skip
    crane_days = forms.FloatField(
        label="Crane days a season", required=False, min_value=-1000, max_value=1000,
        help_text="1: one more.",
    )  # fmt: skip

    def __init__(self, *args: Any, scenario: SeasonScenario, **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.scenario = scenario
        self.fields["base"].queryset = Base.objects.of(scenario.fleet)

    def clean_name(self) -> str:
        name = self.cleaned_data["name"].strip()
        if SeasonScenario.objects.of(self.scenario.fleet).filter(name=name).exists():
            raise forms.ValidationError("There is one of this name already: choose another.")
        return name

    def save(self, by) -> SeasonScenario:
        """Write the copy with its limits changed, of a valid form. What is not limited stays so."""
        given, old = self.cleaned_data, self.scenario
        factor = 1 + (given["money"] or 0) / 100
        with transaction.atomic():
            copy = SeasonScenario.objects.create(
                fleet=old.fleet, name=given["name"], made_by=by, idle_minor=old.idle_minor,
                money=[round(each * factor) for each in old.money], discount=old.discount,
                boats_a_crane_day=old.boats_a_crane_day,
            )  # fmt: skip
            for row in old.bases.all():
                mine = given["base"] in (None, row.base)
                changed = {
                    kind: _more(getattr(row, kind), given.get(kind) if mine else 0)
                    for kind in KINDS
                }
                ScenarioBase.objects.create(scenario=copy, base=row.base, **changed)
            for move in old.moves.all():
                copy.moves.create(
                    installation_id=move.installation_id, season=move.season, moved_by=by
                )
        return copy


def _more(numbers: list[float], by: float | None) -> list[float]:
    return [max(0.0, number + (by or 0)) for number in numbers]

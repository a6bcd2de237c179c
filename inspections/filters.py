"""Filters above the tables."""

import django_filters as filters
from django.db.models import Exists, OuterRef, QuerySet
from django.http import HttpRequest

from fleet.models import Base

from .models import Inspection, PartVerdict, Reminder, VerdictValue


def bases(request: HttpRequest | None) -> QuerySet[Base]:
    return Base.objects.of(request.fleet) if request else Base.objects.none()


class InspectionFilter(filters.FilterSet):
    """Narrow the inspections by boat, base, level, or by what they led to."""

    boat = filters.CharFilter(field_name="boat__name", lookup_expr="icontains", label="Boat has")
    base = filters.ModelChoiceFilter(
        field_name="boat__base", queryset=bases, label="Base", empty_label="all bases"
    )
    level = filters.ChoiceFilter(choices=Inspection.Level.choices, empty_label="all levels")
    verdict = filters.ChoiceFilter(
        choices=VerdictValue.choices, method="led_to", label="Verdict", empty_label="any verdict"
    )

    class Meta:
        model = Inspection
        fields = ["boat", "base", "level", "verdict"]

    def led_to(self, queryset: QuerySet, name: str, value: str) -> QuerySet:
        rows = PartVerdict.objects.filter(inspection=OuterRef("pk"), value=value)
        return queryset.filter(Exists(rows))


class ReminderFilter(filters.FilterSet):
    """Narrow the reminders by boat, state or what they are about."""

    boat = filters.CharFilter(field_name="boat__name", lookup_expr="icontains", label="Boat has")
    kind = filters.ChoiceFilter(
        choices=Reminder.Kind.choices, label="About", empty_label="everything"
    )
    state = filters.ChoiceFilter(choices=Reminder.State.choices, empty_label="all states")

    class Meta:
        model = Reminder
        fields = ["boat", "kind", "state"]

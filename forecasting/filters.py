"""Filters above the tables."""

import django_filters as filters
from django.db.models import QuerySet
from django.http import HttpRequest

from fleet.models import Base, Boat

STATES = [("held", "held"), ("free", "not held")]


def bases(request: HttpRequest | None) -> QuerySet[Base]:
    return Base.objects.of(request.fleet) if request else Base.objects.none()


class BoatFilter(filters.FilterSet):
    """Narrow the list of boats by name, base or whether a boat is held."""

    name = filters.CharFilter(lookup_expr="icontains", label="Name has")
    base = filters.ModelChoiceFilter(queryset=bases, label="Base", empty_label="all bases")
    state = filters.ChoiceFilter(
        choices=STATES, method="held_or_not", label="State", empty_label="held or not"
    )

    class Meta:
        model = Boat
        fields = ["name", "base", "state"]

    def held_or_not(self, queryset: QuerySet, name: str, value: str) -> QuerySet:
        return queryset.filter(held=value == "held")


class RefitFilter(filters.FilterSet):
    """Narrow the refit list by base or to what cannot wait."""

    base = filters.ModelChoiceFilter(
        queryset=bases, field_name="boat__base", label="Base", empty_label="all bases"
    )
    must = filters.ChoiceFilter(
        choices=[("True", "what cannot wait")], label="Jobs", empty_label="every job"
    )

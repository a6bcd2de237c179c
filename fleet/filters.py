"""Filters above the tables."""

import django_filters as filters

from .models import WorkRow

# What a fleet's members see; a backup is of the whole installation.
KINDS = [(value, label) for value, label in WorkRow.Kind.choices if value != WorkRow.Kind.BACKUP]


class WorkFilter(filters.FilterSet):
    """Narrow the list of long work by what it is and how it stands."""

    kind = filters.ChoiceFilter(choices=KINDS, label="What", empty_label="all work")
    state = filters.ChoiceFilter(
        choices=WorkRow.State.choices, label="State", empty_label="any state"
    )

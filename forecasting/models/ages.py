"""What renewing a group of parts at one age costs, and what one interval of looking does."""

from django.db import models
from django.db.models import Q

from fleet.models import Base, Boat, Fleet, Installation
from inspections.models import Inspection

from .questions import RunQuerySet

OWN = 1  # which of the costs of a failure in `by_cost` is the fleet's own


class AgeGroup(models.Model):
    """Parts of one kind and construction, on the boats of one base and use: one age for them all.

    by_cost: for a failure at a third of the fleet's cost, at that, and at three times it, a dict of
    failure, least, keep, rule (minor units; the last three a part and year), age, flat_from and
    flat_until (years; none: no age is best, or no end). curve: age, and the cost a part and year of
    renewing at it, for each of the three.
    """

    FOLLOWS = Q()

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="age_groups")
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20, choices=Installation.Kind.choices)
    construction = models.CharField(
        max_length=20, choices=Installation.Construction.choices, blank=True
    )
    service = models.CharField(max_length=10, choices=Boat.Service.choices)
    boats = models.PositiveIntegerField()
    parts = models.PositiveIntegerField()
    by_thumb = models.BooleanField(help_text="Common practice alone says how long they last.")
    oldest = models.FloatField(help_text="Age up to which parts of the kind were observed.")
    rule_age = models.FloatField(null=True, blank=True, help_text="Age the rules ask for.")
    planned_minor = models.BigIntegerField(help_text="A planned renewal, on average.")
    late_minor = models.BigIntegerField(help_text="One found condemned in the season.")
    breaks = models.FloatField(help_text="Share of unplanned ends that are failures.")
    by_cost = models.JSONField(default=list)
    curve = models.JSONField(default=list)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-kind", "construction", "base__name", "service", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet", "base", "kind", "construction", "service"],
                name="one_age_group_of_a_sort",
            )
        ]

    def __str__(self) -> str:
        return f"{self.construction} {self.kind}, {self.base}, {self.service}".strip()

    @property
    def own(self) -> dict:
        """Return the answer at the fleet's own cost of a failure."""
        return self.by_cost[OWN]


class LookCurve(models.Model):
    """What looking at the wires of a boat costs by how often it is done, at one base, by level.

    by_cost: as in AgeGroup, a dict of failure, cost and rule (minor units, the last two a boat and
    year), best, low, high, flat_from, flat_until (months), bounded. curve: months, and the cost a
    boat and year of looks, of what is found in time, of what is found late, and of failures.
    """

    FOLLOWS = Q()

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="look_curves")
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="+")
    level = models.CharField(max_length=10, choices=Inspection.Level.choices)
    boats = models.PositiveIntegerField()
    rule_months = models.PositiveIntegerField(help_text="Months between looks by the fleet's rule.")
    defects = models.FloatField(help_text="Expected a boat and year.")
    look_minor = models.BigIntegerField(help_text="One look at one boat.")
    by_cost = models.JSONField(default=list)
    curve = models.JSONField(default=list)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["base__name", "-level", "pk"]

    def __str__(self) -> str:
        return f"{self.base}, {self.get_level_display()}"

    @property
    def own(self) -> dict:
        """Return the answer at the fleet's own cost of a failure."""
        return self.by_cost[OWN]

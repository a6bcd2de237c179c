"""Weeks within one off season: plans, what each base has a week, visits, blocks, lead times."""

import datetime as dt

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from fleet.models import Base, Boat, Fleet, Installation

from .questions import RunQuerySet
from .season_plans import SeasonScenario


class OfYardPlan(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfYardPlan":
        return self.filter(plan__fleet=fleet)


class YardPlan(models.Model):
    """The weeks in which the boats of one off season's list are worked on.

    One axis of weeks for all bases: week w is the seven days from ``first_monday + 7 w``; a base
    is open for part of them. Without a scenario it is of the refit list, RefitJob.
    found: cost and bound in minor units, gap, ``binding`` and ``lacks`` (kind, base, week, limit,
    over), ``opening`` (what opening the limits that lack would cost, minor units).
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="yard_plans")
    season = models.CharField(max_length=9, help_text="Off season, e.g. 2026/27.")
    scenario = models.ForeignKey(
        SeasonScenario, null=True, blank=True, on_delete=models.CASCADE, related_name="yard_plans"
    )
    scenario_season = models.PositiveSmallIntegerField(null=True, blank=True)
    first_monday = models.DateField(null=True, blank=True)
    weeks = models.PositiveSmallIntegerField(default=0)
    hours_a_boat = models.FloatField(
        default=40.0, validators=[MinValueValidator(1)],
        help_text="Riggers' hours a boat takes in a week. 40: common practice, no source.",
    )  # fmt: skip
    as_of = models.DateField(null=True, blank=True)
    planned_at = models.DateTimeField(null=True, blank=True)
    asked = models.CharField(max_length=64, blank=True)
    found = models.JSONField(default=dict, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["scenario", "scenario_season"], name="one_yard_plan_of_a_scenario_season"
            ),
            models.UniqueConstraint(
                fields=["fleet", "season"], condition=Q(scenario=None),
                name="one_yard_plan_of_the_refit_list",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.fleet}, {self.season}: {self.scenario or 'refit list'}"

    def monday(self, week: int) -> dt.date:
        """Return the Monday of that week, counted from 0."""
        return self.first_monday + dt.timedelta(weeks=week)


class YardBaseWeeks(models.Model):
    """What a base has, a number for each week of the plan's axis; an empty list is no limit.

    opens, closes: its first week and the one after its last. hours: riggers' hours before blocks.
    masts: boats of which the mast may be taken down and put up, begun in that week. berths: boats
    that stand with the mast down at one time. by_hand: typed in, so a new plan keeps them. until:
    the last day on which boats are worked on, typed in; blank: by the off season.
    """

    plan = models.ForeignKey(YardPlan, on_delete=models.CASCADE, related_name="bases")
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="+")
    opens = models.PositiveSmallIntegerField(default=0)
    closes = models.PositiveSmallIntegerField(default=0)
    until = models.DateField(null=True, blank=True)
    hours = models.JSONField(default=list, blank=True)
    masts = models.JSONField(default=list, blank=True)
    berths = models.JSONField(default=list, blank=True)
    by_hand = models.BooleanField(default=False)

    objects = OfYardPlan.as_manager()

    class Meta:
        ordering = ["base__name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "base"], name="one_base_a_yard_plan")
        ]

    def __str__(self) -> str:
        return f"{self.plan}: {self.base}"


class YardVisit(models.Model):
    """One boat's stay with the riggers: its first week, blank where no week was found."""

    plan = models.ForeignKey(YardPlan, on_delete=models.CASCADE, related_name="visits")
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="+")
    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="yard_visits")
    first_week = models.PositiveSmallIntegerField(null=True, blank=True)
    weeks = models.PositiveSmallIntegerField(default=1)
    hours = models.FloatField(default=0)
    mast_down = models.BooleanField(default=False)
    must = models.BooleanField(default=False, help_text="Condemned or held: first of all.")
    late = models.BooleanField(default=False, help_text="Not ready before it sails with guests.")
    why = models.CharField(max_length=300, blank=True)
    parts_ready = models.DateField(null=True, blank=True)
    cost_minor = models.BigIntegerField(default=0, help_text="Expected cost of waiting until then.")
    week_later_minor = models.BigIntegerField(
        null=True, blank=True, help_text="What a week later costs; blank: it may not be later."
    )
    kept_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    kept_at = models.DateTimeField(
        null=True, blank=True, help_text="Moved by hand and kept; blank: the planner's week."
    )

    objects = OfYardPlan.as_manager()

    class Meta:
        ordering = ["base__name", F("first_week").asc(nulls_last=True), "-must", "boat__name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "boat"], name="one_visit_a_boat_and_yard_plan")
        ]

    def __str__(self) -> str:
        return f"{self.plan}: {self.boat}, week {self.first_week}"

    @property
    def stands_in(self) -> range:
        """Return the weeks in which it stands; empty where it has none."""
        first = self.first_week
        return range(0) if first is None else range(first, first + self.weeks)


class YardBlock(models.Model):
    """Days that are taken at a base: pinned, never moved by a plan. Both days included."""

    class What(models.TextChoices):
        SHUT = "shut", "the yard is shut"
        CONTRACTOR = "contractor", "a contractor's work"
        OTHER = "other", "other yard work"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="yard_blocks")
    base = models.ForeignKey(
        Base, null=True, blank=True, on_delete=models.CASCADE, related_name="+",
        help_text="Blank: every base.",
    )  # fmt: skip
    boat = models.ForeignKey(
        Boat, null=True, blank=True, on_delete=models.CASCADE, related_name="yard_blocks"
    )
    first = models.DateField("from")
    last = models.DateField("to")
    what = models.CharField(max_length=10, choices=What.choices, default=What.SHUT)
    hours = models.FloatField(default=0, validators=[MinValueValidator(0)])
    berths = models.PositiveSmallIntegerField(default=0)
    note = models.CharField(max_length=120, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["first", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(last__gte=F("first")), name="yard_block_ends_after")
        ]

    def __str__(self) -> str:
        return f"{self.base or self.fleet}, {self.first} to {self.last}: {self.get_what_display()}"


class LeadTime(models.Model):
    """Weeks from order to hand for a kind of part; what is blank means any."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="lead_times")
    supplier = models.CharField(max_length=80, blank=True)
    kind = models.CharField(max_length=12, blank=True, choices=Installation.Kind.choices)
    construction = models.CharField(
        max_length=12, blank=True, choices=Installation.Construction.choices
    )
    diameter_from = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    diameter_to = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    weeks = models.FloatField(validators=[MinValueValidator(0)])
    order_by = models.CharField(max_length=120, blank=True, help_text="How or when to order.")

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "construction", "diameter_from", "weeks", "pk"]

    def __str__(self) -> str:
        return f"{self.fleet}: {self.weeks:g} weeks"

"""What stands behind the budget, and the reserve kept for it."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from fleet.models import Boat, Fleet, Installation
from fleet.models.fleets import Party
from fleet.models.records import person

from .questions import OfBoat, RunQuerySet


class BudgetDraws(models.Model):
    """What one payer has to pay for renewals in each fiscal year: its mean, and joint draws.

    years: in which each fiscal year begins; mean: minor units, the sum of the boats' rounded means;
    draws: one list of years for each draw, minor units; first_length: years from the day of the
    forecast to the end of the first fiscal year.
    """

    FOLLOWS = Q()

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="budget_draws")
    payer = models.CharField(max_length=10, choices=Party.choices)
    years = models.JSONField(default=list)
    first_length = models.FloatField(default=1.0)
    mean = models.JSONField(default=list)
    draws = models.JSONField(default=list)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["fleet", "payer"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "payer"], name="one_budget_of_a_payer")
        ]

    def __str__(self) -> str:
        return f"{self.fleet}, paid by {self.payer}"


class PartMoney(models.Model):
    """What renewing one standing part costs today, when it comes, and its share of the budget.

    cost_minor: renewed with the mast down; set_up_minor: a wire's share of its boat's set-up;
    means: minor units of each fiscal year, which with the set-ups add to the boat's means.
    """

    FOLLOWS = Q()

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="part_money")
    installation = models.OneToOneField(
        Installation, on_delete=models.CASCADE, related_name="money"
    )
    as_of = models.DateField()
    age = models.FloatField(null=True, blank=True, help_text="Years; blank when unknown.")
    cost_minor = models.BigIntegerField()
    set_up_minor = models.BigIntegerField(default=0)
    remaining = models.FloatField(
        null=True,
        blank=True,
        help_text="Years to its renewal as planned, in half of the draws; blank beyond 60.",
    )
    means = models.JSONField(default=list)

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["boat", "installation"]

    def __str__(self) -> str:
        return f"{self.installation}: {self.cost_minor}"


class PolicyCost(models.Model):
    """One way to keep the rigs, over the budget's years: what it costs, how often a stay fails."""

    FOLLOWS = Q()

    class Way(models.TextChoices):
        PLAN = "plan", "as planned"
        CONDITION = "condition", "on condition alone"
        AGE = "age", "at a fixed age"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="policy_costs")
    way = models.CharField(max_length=10, choices=Way.choices)
    age_rule = models.FloatField(null=True, blank=True, help_text="Years, of wires.")
    mean_minor = models.BigIntegerField(help_text="All the years together.")
    p10_minor = models.BigIntegerField()
    p90_minor = models.BigIntegerField()
    by_year = models.JSONField(default=list, help_text="Mean of each year, minor units.")
    renewals = models.FloatField()
    failures = models.FloatField(help_text="Stays expected to fail in service, all years.")
    chance_failing = models.FloatField(help_text="Mean over the years that any stay fails.")

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["fleet", "pk"]

    def __str__(self) -> str:
        return f"{self.fleet}: {self.get_way_display()}"


class ReturnTerms(models.Model):
    """Who owns, who pays, and does a contract oblige to give boats back in a condition?

    What was answered, when and by whom. Never changed: a new answer is a new row.
    """

    class Obliged(models.TextChoices):
        NO = "no", "no contract obliges return in a condition"
        YES = "yes", "a contract obliges return in a condition"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="return_terms")
    on = models.DateField()
    by = person()
    answered_by = models.CharField(max_length=120)
    owned_by = models.CharField("who owns the boats", max_length=10, choices=Party.choices)
    paid_by = models.CharField("who pays for their rigging", max_length=10, choices=Party.choices)
    obliged = models.CharField(max_length=3, choices=Obliged.choices)
    contract = models.CharField(max_length=300, blank=True)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.on}: {self.get_obliged_display()}"


class ReservePlan(models.Model):
    """How the reserve is kept from a day on. Never changed: a new decision is a new row."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="reserve_plans")
    on = models.DateField()
    by = person()
    decided_by = models.CharField(max_length=120)
    payer = models.CharField("whose money", max_length=10, choices=Party.choices)
    opening_minor = models.BigIntegerField("in the reserve today", default=0)
    interest = models.DecimalField(
        "interest a year, as a fraction",
        max_digits=6,
        decimal_places=4,
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(0.5)],
    )
    chance = models.FloatField(
        "chance of running dry, at most",
        default=0.1,
        validators=[MinValueValidator(0), MaxValueValidator(0.5)],
    )
    contribution_minor = models.BigIntegerField(
        "contribution of your own",
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text="A year; blank for the level contribution that keeps to the chance.",
    )

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.fleet}, reserve from {self.on}"

"""Plans over several off seasons: scenarios with their limits, what came of them, moves."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from fleet.models import Base, Boat, Fleet, Installation

from .questions import RunQuerySet

SEASONS = 5


class OfScenario(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfScenario":
        return self.filter(scenario__fleet=fleet)


class SeasonScenario(models.Model):
    """What there is in each of the coming off seasons, under a name; and the plan made by it.

    money: a number a season in minor units, empty where it is not limited. What was worked out
    last is beside it: ``asked`` is a digest of the limits and moves it was worked out by.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="season_scenarios")
    name = models.CharField(max_length=80)
    money = models.JSONField(default=list, blank=True)
    idle_minor = models.BigIntegerField(
        default=1_000_000, validators=[MinValueValidator(0)],
        help_text="What a season costs in which a boat may not sail.",
    )  # fmt: skip
    boats_a_crane_day = models.FloatField(default=2.0, validators=[MinValueValidator(0.1)])
    discount = models.FloatField(
        default=0.03, validators=[MinValueValidator(0), MaxValueValidator(0.5)]
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    asked = models.CharField(max_length=64, blank=True)
    as_of = models.DateField(null=True, blank=True)
    planned_at = models.DateTimeField(null=True, blank=True)
    found = models.JSONField(
        default=dict, help_text="Labels, cost, bound, gap, limits that bind or lack."
    )

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "name"], name="one_season_scenario_of_a_name")
        ]

    def __str__(self) -> str:
        return self.name


class ScenarioBase(models.Model):
    """What a base has in each season: lists of numbers, empty where it is not limited."""

    scenario = models.ForeignKey(SeasonScenario, on_delete=models.CASCADE, related_name="bases")
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="+")
    hours = models.JSONField(default=list, blank=True)
    crane_days = models.JSONField(default=list, blank=True)
    yard_slots = models.JSONField(default=list, blank=True)

    objects = OfScenario.as_manager()

    class Meta:
        ordering = ["base__name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["scenario", "base"], name="one_base_a_scenario")
        ]

    def __str__(self) -> str:
        return f"{self.scenario}: {self.base}"


class ScenarioMove(models.Model):
    """A part moved by hand to a season, and kept there; blank: not in these seasons."""

    scenario = models.ForeignKey(SeasonScenario, on_delete=models.CASCADE, related_name="moves")
    installation = models.ForeignKey(Installation, on_delete=models.CASCADE, related_name="+")
    season = models.PositiveSmallIntegerField(null=True, blank=True)
    moved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    moved_at = models.DateTimeField(auto_now=True)

    objects = OfScenario.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["scenario", "installation"], name="one_move_of_a_part")
        ]

    def __str__(self) -> str:
        return f"{self.scenario}: {self.installation}"


class ScenarioJob(models.Model):
    """A part and the season it is renewed in, blank where it is put off beyond them; or, without a
    part, the mast of its boat down in that season. Only what is done or put off has a row."""

    FOLLOWS = Q()

    scenario = models.ForeignKey(SeasonScenario, on_delete=models.CASCADE, related_name="jobs")
    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="+")
    installation = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    season = models.PositiveSmallIntegerField(null=True, blank=True)
    code = models.CharField(max_length=20)
    reason = models.CharField(max_length=200)
    mast_down = models.BooleanField(default=False)
    hours = models.FloatField(default=0)
    cost_minor = models.BigIntegerField(default=0)
    put_off_minor = models.BigIntegerField(
        null=True, blank=True, help_text="Expected cost of one season more; blank: may not wait."
    )
    chance = models.FloatField(default=0, help_text="Chance condemned in that season.")
    latest = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Last season a rule of fleet or insurer leaves it."
    )

    objects = OfScenario.as_manager()

    class Meta:
        ordering = ["season", "boat__base", "boat", "-put_off_minor", "pk"]

    def __str__(self) -> str:
        return f"{self.scenario}: {self.boat}, {self.reason}"

    @property
    def held_to(self) -> bool:
        """Whether a rule of fleet or insurer leaves the part no season longer."""
        return self.season is not None and self.latest == self.season

    @property
    def may_wait(self) -> bool:
        return self.put_off_minor is not None and not self.held_to

"""What the forecast said, when, from what; and what follows from it for parts, boats and money."""

from django.db import models
from django.db.models import Q

from fleet.models import Base, Boat, Fleet, Installation
from inspections.models import Inspection


class RunQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "RunQuerySet":
        return self.filter(fleet=fleet)

    def in_force(self) -> "RunQuerySet":
        return self.filter(in_force=True)


class ModelRun(models.Model):
    """One fit of one kind of part, or its refusal. At most one a kind is in force."""

    class State(models.TextChoices):
        FITTED = "fitted", "fitted to the fleet's own record"
        POSTERIOR = "posterior", "own record and common practice together"
        RULE_OF_THUMB = "rule_of_thumb", "rule of thumb"
        REFUSED = "refused", "refused"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="model_runs")
    kind = models.CharField(max_length=12, choices=Installation.Kind.choices)
    as_of = models.DateField()
    made_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=14, choices=State.choices)
    in_force = models.BooleanField(default=False)
    sentence = models.TextField(help_text="What was done, or why it was refused, in words.")
    lives = models.FloatField(default=0)
    deaths = models.FloatField(default=0)
    left_out = models.JSONField(default=dict)
    warnings = models.JSONField(default=list)
    inputs = models.JSONField(default=dict)
    model = models.JSONField(default=dict)
    fingerprint = models.CharField(max_length=64)
    code_version = models.CharField(max_length=64)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet", "kind"],
                condition=Q(in_force=True),
                name="one_model_in_force_per_kind",
            )
        ]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.kind}, {self.as_of}: {self.get_state_display()}"


class ForecastPractice(models.Model):
    """What a fleet puts in the place of common practice for a kind of part, from a day on.

    data: the fields of ``survival.Prior`` that differ from common practice. Never changed: a new
    row takes over, and the old ones tell what was believed when.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="practices")
    kind = models.CharField(max_length=12, choices=Installation.Kind.choices)
    since = models.DateField()
    reason = models.CharField(max_length=200)
    decided_by = models.CharField(max_length=120)
    data = models.JSONField()

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-since", "-pk"]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.kind}, since {self.since}"


class BackTest(models.Model):
    """How the last years' forecasts of one kind of part fared against what was found since.

    result: what the test found, year by year, in groups and against simpler forecasts; seen: the
    curve in force beside what was seen. ``fingerprint``: of what both were made from.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="back_tests")
    kind = models.CharField(max_length=12, choices=Installation.Kind.choices)
    as_of = models.DateField()
    made_at = models.DateTimeField(auto_now=True)
    fingerprint = models.CharField(max_length=64)
    result = models.JSONField(default=dict)
    seen = models.JSONField(default=dict)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["fleet", "kind"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "kind"], name="one_back_test_per_kind")
        ]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.kind}, {self.as_of}"


class ConditionRun(models.Model):
    """What becomes of a watch: one reading of the fleet's watches, or its refusal.

    At most one a fleet is in force: the latest that was not refused.
    """

    class State(models.TextChoices):
        FITTED = "fitted", "from the fleet's own watches"
        REFUSED = "refused", "refused"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="condition_runs")
    as_of = models.DateField()
    made_at = models.DateTimeField(auto_now_add=True)
    state = models.CharField(max_length=10, choices=State.choices)
    in_force = models.BooleanField(default=False)
    sentence = models.TextField(help_text="What was found, or why it was refused, in words.")
    watches = models.PositiveIntegerField(default=0)
    followed = models.PositiveIntegerField(default=0)
    went = models.PositiveIntegerField(default=0)
    result = models.JSONField(default=dict)
    fingerprint = models.CharField(max_length=64)
    code_version = models.CharField(max_length=64)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fleet"], condition=Q(in_force=True), name="one_condition_in_force"
            )
        ]

    def __str__(self) -> str:
        return f"{self.fleet}, {self.as_of}: {self.get_state_display()}"


class LookInterval(models.Model):
    """The interval of looks that costs least, at one base from one level; months."""

    FOLLOWS = Q()

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="look_intervals")
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="+")
    level = models.CharField(max_length=10, choices=Inspection.Level.choices)
    low = models.FloatField(help_text="5 % point.")
    middle = models.FloatField()
    high = models.FloatField(help_text="95 % point.")
    flat_from = models.FloatField(help_text="From here to flat_until within 2 % of the least.")
    flat_until = models.FloatField()
    bounded = models.BooleanField(help_text="The least lies within the intervals tried.")
    defects = models.FloatField(help_text="Expected a boat and year.")
    cost_minor = models.BigIntegerField(help_text="Expected a boat and year, at the least.")

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["base__name", "level", "pk"]

    def __str__(self) -> str:
        return f"{self.base}, {self.level}: {self.low:.0f} to {self.high:.0f} months"


class FailingRate(models.Model):
    """How often what stands condemned breaks in a season, and what follows for the boats."""

    FOLLOWS = Q()

    fleet = models.OneToOneField(Fleet, on_delete=models.CASCADE, related_name="failing_rate")
    breakages = models.FloatField(help_text="On record; the prior's not in it.")
    seasons = models.FloatField(help_text="Expected to have stood condemned, unseen.")
    rate = models.FloatField(help_text="Breakages a condemned season, common practice in it.")
    chance = models.FloatField(help_text="Mean over the boats that a stay fails in a season.")

    objects = RunQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.fleet}: {self.chance:.4f} a boat and season"


class OfBoat(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfBoat":
        return self.filter(boat__fleet=fleet)


class PartOutlook(models.Model):
    """Chances for one standing part. ``*_low`` and ``*_high`` are 5 and 95 % bounds."""

    FOLLOWS = Q()

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="part_outlooks")
    installation = models.OneToOneField(
        Installation, on_delete=models.CASCADE, related_name="outlook"
    )
    run = models.ForeignKey(ModelRun, on_delete=models.CASCADE, related_name="outlooks")
    as_of = models.DateField()
    age = models.FloatField(null=True, blank=True, help_text="Years; blank when unknown.")
    last_good = models.JSONField(default=dict, help_text="Spot -> date last seen good.")
    watched = models.JSONField(default=dict, help_text="Spot -> date first judged watch.")
    condemned = models.BooleanField(default=False)
    chance_now = models.FloatField()
    chance_next = models.FloatField()
    next_level = models.CharField(max_length=10, choices=Inspection.Level.choices)
    next_on = models.DateField()
    chance_1y = models.FloatField()
    chance_1y_low = models.FloatField()
    chance_1y_high = models.FloatField()
    chance_5y = models.FloatField()
    chance_5y_low = models.FloatField()
    chance_5y_high = models.FloatField()
    renew_by = models.DateField(null=True, blank=True)
    renew_reason = models.CharField(max_length=200, blank=True)
    later = models.JSONField(default=dict, help_text="season, 2y, 3y -> chance by then.")
    found = models.JSONField(default=dict, help_text="Level -> chance found at its next look.")
    remaining = models.JSONField(
        default=list, help_text="Years until 10, 50, 90 % are condemned; blank beyond 60."
    )
    watched_for = models.FloatField(
        default=0, help_text="Years ahead for which ten parts of such an age were watched."
    )
    drivers = models.JSONField(default=list)

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["-condemned", "-chance_1y", "pk"]

    def __str__(self) -> str:
        return f"{self.installation}: {self.chance_1y:.2f} in a year"


class BoatOutlook(models.Model):
    """The same for a whole boat: that any of its standing parts is condemned."""

    FOLLOWS = Q()

    boat = models.OneToOneField(Boat, on_delete=models.CASCADE, related_name="outlook")
    as_of = models.DateField()
    parts = models.PositiveIntegerField()
    chance_now = models.FloatField()
    chance_now_low = models.FloatField()
    chance_now_high = models.FloatField()
    chance_1y = models.FloatField()
    chance_5y = models.FloatField()
    chance_failing = models.FloatField(help_text="That a stay fails in service within a season.")
    after_level = models.JSONField(default=dict, help_text="Level -> chance_now after it.")
    chances = models.JSONField(
        default=list, help_text="By when, its day, chance and its 5 and 95 % bounds."
    )
    found = models.JSONField(
        default=list, help_text="Level, day of its next look, chance it finds something, bounds."
    )
    life = models.JSONField(
        default=list, help_text="Times as long as other boats' parts, 5 and 95 % bounds, if told."
    )
    rests_on = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["-chance_now", "pk"]

    def __str__(self) -> str:
        return f"{self.boat}: {self.chance_now:.2f} now"


class RefitJob(models.Model):
    """One part to renew in the coming off season, or the mast-down set-up its boat shares."""

    FOLLOWS = Q()

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="refit_jobs")
    installation = models.OneToOneField(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="refit_job"
    )
    season = models.CharField(max_length=9, help_text="Off season, e.g. 2026/27.")
    code = models.CharField(max_length=20)
    reason = models.CharField(max_length=300)
    must = models.BooleanField(default=False)
    hours = models.FloatField(default=0)
    cost_minor = models.BigIntegerField()
    put_off_minor = models.BigIntegerField(help_text="Expected cost of putting it off a season.")
    chance = models.FloatField(default=0, help_text="Chance condemned by the end of that season.")

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["boat__base", "boat", "-must", "-put_off_minor", "pk"]

    def __str__(self) -> str:
        return f"{self.boat}, {self.season}: {self.reason}"


class BudgetFigure(models.Model):
    """Money for one fiscal year: of a boat, a base or the fleet (the narrower ones blank).

    Means add: a base's is the sum of its boats'. Percentiles are each total's own and do not.
    """

    FOLLOWS = Q()

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="budget")
    base = models.ForeignKey(Base, null=True, blank=True, on_delete=models.CASCADE)
    boat = models.ForeignKey(Boat, null=True, blank=True, on_delete=models.CASCADE)
    year = models.PositiveSmallIntegerField(help_text="The year in which the fiscal year begins.")
    mean_minor = models.BigIntegerField()
    planned_minor = models.BigIntegerField(help_text="Share of the mean that is planned work.")
    p10_minor = models.BigIntegerField()
    p50_minor = models.BigIntegerField()
    p90_minor = models.BigIntegerField()
    renewals = models.FloatField(help_text="Expected number of parts renewed.")

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["fleet", "year", "base", "boat"]

    def __str__(self) -> str:
        return f"{self.boat or self.base or self.fleet} {self.year}"

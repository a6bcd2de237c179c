"""What is likely for each part and boat."""

from django.db import models
from django.db.models import Q

from fleet.models import Boat, Installation
from inspections.models import Inspection

from .questions import OfBoat
from .runs import ModelRun


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
    record = models.CharField(
        max_length=80, default="", help_text="Mark of the boat's record that it was made from."
    )

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["-chance_now", "pk"]

    def __str__(self) -> str:
        return f"{self.boat}: {self.chance_now:.2f} now"

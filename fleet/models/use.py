"""How hard each boat was used, and what work costs."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from .boats import Boat, CruisingGround, OfFleet
from .fleets import Fleet
from .parts import Installation


class SeasonUseQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "SeasonUseQuerySet":
        return self.filter(boat__fleet=fleet)


class SeasonUse(models.Model):
    """One boat's year: where it sailed, how far, and whether the mast came down after it."""

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="seasons")
    year = models.PositiveSmallIntegerField()
    ground = models.ForeignKey(CruisingGround, on_delete=models.RESTRICT, related_name="seasons")
    miles = models.PositiveIntegerField(null=True, blank=True, help_text="Nautical miles.")
    mast_down = models.BooleanField("mast unstepped in the off season", default=False)
    service = models.CharField(max_length=10, choices=Boat.Service.choices)

    objects = SeasonUseQuerySet.as_manager()

    class Meta:
        ordering = ["boat", "year"]
        constraints = [models.UniqueConstraint(fields=["boat", "year"], name="one_use_per_season")]

    def __str__(self) -> str:
        return f"{self.boat} {self.year}"


class Price(models.Model):
    """One line of the fleet's price list, in the fleet's currency, with the hours it takes."""

    class Item(models.TextChoices):
        WIRE = "wire", "wire, per metre"
        TERMINAL = "terminal", "terminal, each"
        TURNBUCKLE = "turnbuckle", "turnbuckle, each"
        CHAINPLATE = "chainplate", "chainplate, each"
        RIGGER_HOUR = "rigger_hour", "rigger, per hour"
        MAST_DOWN = "mast_down", "mast down and up again, per boat"
        MAST_UP_JOB = "mast_up_job", "one wire renewed with the mast up, extra"
        UNPLANNED = "unplanned", "unplanned renewal in the season, extra"
        FAILURE = "failure", "a stay failing in service"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="prices")
    item = models.CharField(max_length=16, choices=Item.choices)
    construction = models.CharField(
        max_length=12, choices=Installation.Construction.choices, blank=True
    )
    diameter_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.1)])
    price_minor = models.PositiveBigIntegerField()
    hours = models.FloatField(default=0, validators=[MinValueValidator(0)])

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["fleet", "item", "construction", "diameter_mm", "pk"]
        constraints = [
            # Two constraints, since SQLite cannot treat blank sizes as equal in one.
            models.UniqueConstraint(
                fields=["fleet", "item", "construction", "diameter_mm"], name="one_price_per_size"
            ),
            models.UniqueConstraint(
                fields=["fleet", "item", "construction"],
                condition=Q(diameter_mm__isnull=True),
                name="one_price_without_size",
            ),
            models.CheckConstraint(condition=Q(hours__gte=0), name="price_hours_not_negative"),
        ]

    def __str__(self) -> str:
        return self.get_item_display()

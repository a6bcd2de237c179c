"""Bases, the waters they sail, and the boats."""

import datetime as dt

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from .fleets import MONTH, Fleet, Party


class OfFleet(models.QuerySet):
    """Rows that carry their fleet themselves."""

    def of(self, fleet: Fleet) -> "OfFleet":
        return self.filter(fleet=fleet)


class CruisingGround(models.Model):
    """Waters with one corrosivity, after the ordinal categories of ISO 9223:2012."""

    class Corrosivity(models.TextChoices):
        C2 = "C2", "C2 inland lake"
        C3 = "C3", "C3 brackish or sheltered sea"
        C4 = "C4", "C4 temperate coast"
        C5 = "C5", "C5 salty coast"
        CX = "CX", "CX tropical coast"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="grounds")
    name = models.CharField(max_length=80)
    corrosivity = models.CharField(max_length=2, choices=Corrosivity.choices)
    en_factor = models.SmallIntegerField(
        "corrosion resistance factor",
        null=True,
        blank=True,
        help_text="EN 1993-1-4 Annex A, where known. Shown beside the category, not used.",
    )

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "name"], name="one_ground_per_name")
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def severity(self) -> int:
        """Return the step of the category: C2 is 0, CX is 4."""
        return list(self.Corrosivity).index(self.Corrosivity(self.corrosivity))


class Base(models.Model):
    """Where boats are kept and worked on."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="bases")
    name = models.CharField(max_length=80)
    ground = models.ForeignKey(CruisingGround, on_delete=models.RESTRICT, related_name="bases")
    off_season_start = models.PositiveSmallIntegerField(null=True, blank=True, validators=MONTH)
    off_season_end = models.PositiveSmallIntegerField(null=True, blank=True, validators=MONTH)
    rigger_hours = models.PositiveIntegerField(
        null=True, blank=True, help_text="Rigger hours this base has in one off season."
    )

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["fleet", "name"], name="one_base_per_name")]

    def __str__(self) -> str:
        return self.name

    def off_season(self) -> tuple[int, int]:
        """Return the first and the last month of the off season, this base's before the fleet's."""
        return (
            self.off_season_start or self.fleet.off_season_start,
            self.off_season_end or self.fleet.off_season_end,
        )


class BoatQuerySet(OfFleet):
    def standing(self, on: dt.date) -> "BoatQuerySet":
        """Return the boats that are in the fleet on that day."""
        return self.filter(joined__lte=on).filter(Q(left__isnull=True) | Q(left__gt=on))


class Boat(models.Model):
    """One boat. ``history_complete_since`` is when its record, removed parts included, begins."""

    class Service(models.TextChoices):
        CHARTER = "charter", "charter"
        CLUB = "club", "club"
        PRIVATE = "private", "private"

    class Rig(models.TextChoices):
        SLOOP = "sloop", "sloop"
        CUTTER = "cutter", "cutter"
        KETCH = "ketch", "ketch"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="boats")
    base = models.ForeignKey(Base, on_delete=models.RESTRICT, related_name="boats")
    name = models.CharField(max_length=80)
    design = models.CharField(max_length=80, blank=True, help_text="Sister boats share a design.")
    rig = models.CharField(max_length=10, choices=Rig.choices, default=Rig.SLOOP)
    fractional = models.BooleanField(default=False)
    spreader_pairs = models.PositiveSmallIntegerField(default=1)
    length_m = models.DecimalField(
        max_digits=5, decimal_places=2, validators=[MinValueValidator(2)]
    )
    build_year = models.PositiveSmallIntegerField()
    joined = models.DateField()
    left = models.DateField(null=True, blank=True)
    planned_exit = models.DateField(null=True, blank=True)
    history_complete_since = models.DateField(null=True, blank=True)
    service = models.CharField(max_length=10, choices=Service.choices, default=Service.CHARTER)
    mast_down_off_season = models.BooleanField(default=False)
    owned_by = models.CharField(max_length=10, choices=Party.choices, blank=True)
    paid_by = models.CharField(max_length=10, choices=Party.choices, blank=True)
    owner_name = models.CharField(max_length=120, blank=True)
    owner_email = models.EmailField(blank=True)

    objects = BoatQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "name"], name="one_boat_per_name"),
            models.CheckConstraint(
                condition=Q(left__isnull=True) | Q(left__gte=models.F("joined")),
                name="boat_left_after_joining",
            ),
        ]

    def __str__(self) -> str:
        return self.name

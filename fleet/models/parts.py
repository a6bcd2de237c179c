"""Stays, and the parts fitted there one after the other."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from .boats import Boat
from .fleets import Fleet

POSITIVE = [MinValueValidator(0.1)]


class StayQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "StayQuerySet":
        return self.filter(boat__fleet=fleet)


class Stay(models.Model):
    """A place on one boat's rig where wire is or was. On screen it is called what it is."""

    class Name(models.TextChoices):
        FORESTAY = "forestay", "forestay"
        INNER_FORESTAY = "inner_forestay", "inner forestay"
        BACKSTAY = "backstay", "backstay"
        RUNNING_BACKSTAY = "running_backstay", "running backstay"
        CAP_SHROUD = "cap_shroud", "cap shroud"
        INTERMEDIATE = "intermediate", "intermediate"
        LOWER_FORWARD = "lower_forward", "lower forward"
        LOWER_AFT = "lower_aft", "lower aft"
        DIAMOND = "diamond", "diamond"

    class Side(models.TextChoices):
        CENTRE = "", "centre"
        PORT = "port", "port"
        STARBOARD = "starboard", "starboard"

    class Mast(models.TextChoices):
        MAIN = "main", "main mast"
        MIZZEN = "mizzen", "mizzen mast"

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="stays")
    name = models.CharField(max_length=20, choices=Name.choices)
    side = models.CharField(max_length=10, choices=Side.choices, blank=True, default=Side.CENTRE)
    mast = models.CharField(max_length=10, choices=Mast.choices, default=Mast.MAIN)
    in_foil = models.BooleanField(
        "inside a furler foil",
        default=False,
        help_text="Wire and upper end cannot be seen until the mast is down and the foil opened.",
    )

    objects = StayQuerySet.as_manager()

    class Meta:
        ordering = ["boat", "mast", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["boat", "mast", "name", "side"], name="one_stay_per_place"
            )
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """Return the words on screen, e.g. ``Cap shroud, port`` or ``Mizzen backstay``."""
        words = self.get_name_display()
        if self.mast == self.Mast.MIZZEN:
            words = f"mizzen {words}"
        return words.capitalize() + (f", {self.side}" if self.side else "")


class InstallationQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "InstallationQuerySet":
        return self.filter(stay__boat__fleet=fleet)

    def standing(self) -> "InstallationQuerySet":
        """Return the parts that are up now."""
        return self.filter(removed_on__isnull=True)


class Installation(models.Model):
    """One physical part in one place, from fitting to removal: "part" on screen."""

    class Kind(models.TextChoices):
        WIRE = "wire", "wire"
        TURNBUCKLE = "turnbuckle", "turnbuckle"
        CHAINPLATE = "chainplate", "chainplate"

    class Construction(models.TextChoices):
        ONE_BY_NINETEEN = "1x19", "1x19"
        COMPACTED = "compacted", "compacted strand"
        SEVEN_BY_SEVEN = "7x7", "7x7"
        SEVEN_BY_NINETEEN = "7x19", "7x19"
        ROD = "rod", "rod"
        FIBRE = "fibre", "fibre"
        GALVANISED = "galvanised", "galvanised"

    class Terminal(models.TextChoices):
        SWAGED = "swaged", "swaged"
        MECHANICAL = "mechanical", "mechanical"
        T_BALL = "t_ball", "T- or ball-end"
        EYE = "eye", "eye"
        OTHER = "other", "other"

    class Hand(models.TextChoices):
        """Which way a thread runs; a turnbuckle's body has one of each."""

        RIGHT = "right", "right-hand"
        LEFT = "left", "left-hand"
        BOTH = "both", "right- and left-hand"

    class Certainty(models.TextChoices):
        DAY = "day", "invoice or log"
        YEAR = "year", "known to the year"
        ESTIMATED = "estimated", "estimated, two years either way"
        UNKNOWN = "unknown", "unknown"

    class Removal(models.TextChoices):
        CONDEMNED = "condemned", "condemned at inspection"
        FAILED = "failed_in_service", "failed in service"
        LOOKED_POOR = "looked_poor", "renewed early, looked poor"
        AGE_RULE = "age_rule", "age rule"
        WITH_SET = "with_set", "renewed with its set"
        DAMAGE = "damage", "damage"
        RE_TERMINATED = "re_terminated", "re-terminated"
        BOAT_LEFT = "boat_left", "boat left"
        UNKNOWN = "unknown", "unknown"

    class Spot(models.TextChoices):
        LOWER = "lower", "lower end"
        RUN = "run", "wire"
        UPPER = "upper", "upper end"
        WHOLE = "whole", "whole part"

    stay = models.ForeignKey(Stay, on_delete=models.CASCADE, related_name="installations")
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.WIRE)
    construction = models.CharField(max_length=12, choices=Construction.choices, blank=True)
    alloy = models.CharField(max_length=30, blank=True)
    diameter_mm = models.FloatField(null=True, blank=True, validators=POSITIVE)
    length_mm = models.PositiveIntegerField("pin to pin, mm", null=True, blank=True)
    lower_terminal = models.CharField(max_length=12, choices=Terminal.choices, blank=True)
    upper_terminal = models.CharField(max_length=12, choices=Terminal.choices, blank=True)
    pin_mm = models.FloatField(null=True, blank=True, validators=POSITIVE)
    thread = models.CharField(max_length=40, blank=True)
    hand = models.CharField("hand of the thread", max_length=10, choices=Hand.choices, blank=True)
    mast_end = models.CharField("mast end fitting", max_length=60, blank=True)
    adjuster = models.CharField("adjuster setting", max_length=60, blank=True)
    fitted_on = models.DateField(null=True, blank=True)
    fitted_certainty = models.CharField(
        max_length=10, choices=Certainty.choices, default=Certainty.UNKNOWN
    )
    invoice = models.CharField(max_length=60, blank=True)
    batch = models.CharField(max_length=60, blank=True)
    fitter = models.CharField(max_length=120, blank=True)
    condemned_on = models.DateField(null=True, blank=True)
    proof_due = models.BooleanField(
        "renewal needs proof",
        default=False,
        help_text="It held its boat on this record, condemned or failed.",
    )
    removed_on = models.DateField(null=True, blank=True)
    removal_reason = models.CharField(max_length=20, choices=Removal.choices, blank=True)
    removal_spot = models.CharField(max_length=6, choices=Spot.choices, blank=True)

    objects = InstallationQuerySet.as_manager()

    class Meta:
        verbose_name = "part"
        ordering = ["stay", "kind", "fitted_on", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["stay", "kind"],
                condition=Q(removed_on__isnull=True),
                name="one_part_standing_per_place",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True)
                | Q(fitted_on__isnull=True)
                | Q(removed_on__gte=models.F("fitted_on")),
                name="part_removed_after_fitting",
            ),
            models.CheckConstraint(
                condition=Q(fitted_certainty="unknown") | Q(fitted_on__isnull=False),
                name="part_date_unless_unknown",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True, removal_reason="")
                | (Q(removed_on__isnull=False) & ~Q(removal_reason="")),
                name="part_removed_with_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stay.label}: {self.get_kind_display()}"

    @property
    def description(self) -> str:
        """Return what it is, e.g. ``8 mm 1x19, swaged / T- or ball-end``."""
        return described(self)


def described(part: models.Model) -> str:
    """Return what a fitted part, or one in store, is."""
    size = f"{part.diameter_mm:g} mm" if part.diameter_mm else ""
    words = " ".join(filter(None, [size, part.get_construction_display() or part.kind]))
    ends = filter(None, [part.get_lower_terminal_display(), part.get_upper_terminal_display()])
    return ", ".join(filter(None, [words, " / ".join(ends)]))

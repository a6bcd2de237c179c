"""A fleet, its rules, and who may see it."""

import datetime as dt
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.utils import timezone

MONTH = [MinValueValidator(1), MaxValueValidator(12)]
EVERY = [MinValueValidator(1), MaxValueValidator(240)]  # Months between looks.


class Party(models.TextChoices):
    """Who owns a boat, or who pays for its rigging."""

    OWNER = "owner", "owner"
    OPERATOR = "operator", "operator"
    LESSOR = "lessor", "lessor"
    INSURER = "insurer", "insurer"


def known_time_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(f"{name} is not a time zone name such as Europe/Lisbon.")


class FleetQuerySet(models.QuerySet):
    def seen_by(self, user) -> "FleetQuerySet":
        """Return the fleets this person is a member of."""
        return self.filter(memberships__user=user)


class Fleet(models.Model):
    """A charter group or a club, with the rules it keeps its rigs by."""

    class Kind(models.TextChoices):
        CHARTER = "charter", "charter group"
        CLUB = "club", "club"

    name = models.CharField(max_length=120, unique=True)
    slug = models.SlugField(max_length=60, unique=True)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.CHARTER)
    currency = models.CharField(
        max_length=3,
        default="EUR",
        validators=[RegexValidator(r"^[A-Z]{3}$", "Three capital letters, as in ISO 4217.")],
    )
    time_zone = models.CharField(max_length=60, default="UTC", validators=[known_time_zone])
    off_season_start = models.PositiveSmallIntegerField(
        "off season begins", default=11, validators=MONTH
    )
    off_season_end = models.PositiveSmallIntegerField(
        "off season ends", default=3, validators=MONTH
    )
    fiscal_year_start = models.PositiveSmallIntegerField(default=1, validators=MONTH)
    budget_years = models.PositiveSmallIntegerField(
        default=10, choices=[(10, "10 years"), (15, "15 years")]
    )
    boats_owned_by = models.CharField(max_length=10, choices=Party.choices, default=Party.OPERATOR)
    rigging_paid_by = models.CharField(max_length=10, choices=Party.choices, default=Party.OPERATOR)
    as_of = models.DateField(
        "fixed date",
        null=True,
        blank=True,
        help_text="Only for a demonstration: the day this fleet believes it is.",
    )
    # The fleet's own rules: not the law, and never later than an insurer's, flag's or class's.
    deck_check_months = models.PositiveSmallIntegerField(default=6, validators=EVERY)
    aloft_months = models.PositiveSmallIntegerField(default=12, validators=EVERY)
    mast_down_months = models.PositiveSmallIntegerField(default=48, validators=EVERY)
    # By when parts like one that went are looked at: common practice, no source.
    alike_days = models.PositiveSmallIntegerField(
        default=28,
        validators=[MinValueValidator(1), MaxValueValidator(365)],
        help_text="Days within which parts of the same batch, or of its fitter and day, are "
        "looked at after one was condemned or let go.",
    )
    # How long a look takes. Aloft: a full rig survey to 12 m takes 2 to 3 hours (published by
    # surveyors); the others are common practice, no source.
    deck_check_hours = models.FloatField(default=0.5, validators=[MinValueValidator(0.1)])
    aloft_hours = models.FloatField(default=2.5, validators=[MinValueValidator(0.1)])
    mast_down_hours = models.FloatField(default=8.0, validators=[MinValueValidator(0.1)])
    age_rule_years = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text="Wires; blank for none.",
    )
    insurer_age_years = models.FloatField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text="Age up to which the insurer covers wires; blank for none.",
    )
    risk_limit = models.FloatField(
        default=0.15,
        validators=[MinValueValidator(0.01), MaxValueValidator(0.9)],
        help_text="Chance per boat that a part stands condemned unseen, at which to inspect.",
    )
    rule_of_thumb_years = models.FloatField(
        default=9.0,
        validators=[MinValueValidator(0.5)],
        help_text="Age by which one wire in ten is condemned, before own history says more.",
    )
    watches_needed = models.PositiveSmallIntegerField(
        default=20,
        validators=[MinValueValidator(5)],
        help_text="Watched spots looked at again, before the record says what becomes of a watch.",
    )
    reminders_from = models.PositiveSmallIntegerField(
        default=6,
        validators=[MaxValueValidator(23)],
        help_text="Hour of the day, in the fleet's time zone, from which reminders go out.",
    )
    price_growth = models.FloatField(default=0.03, help_text="Price growth a year.")

    objects = FleetQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def today(self) -> dt.date:
        """Return the fixed date of a demonstration fleet, else today in the fleet's time zone."""
        return self.as_of or timezone.localdate(timezone=ZoneInfo(self.time_zone))


class Membership(models.Model):
    """One person's part in one fleet."""

    class Role(models.TextChoices):
        MANAGER = "manager", "base manager"
        BOSUN = "bosun", "bosun"
        ACCOUNTANT = "accountant", "accountant"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="memberships")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships"
    )
    role = models.CharField(max_length=12, choices=Role.choices)

    class Meta:
        ordering = ["fleet", "role", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "user"], name="one_membership_per_fleet")
        ]

    def __str__(self) -> str:
        return f"{self.user} ({self.get_role_display()})"

"""How people hear of reminders: the fleet's rules, one address's own, what is set aside, words."""

import datetime as dt

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from fleet.models import Boat, Fleet
from fleet.models.boats import OfFleet
from fleet.models.fleets import known_time_zone

from .record import OfBoat
from .reminding import Reminder

HOUR = [MaxValueValidator(23)]


class ReminderRules(models.Model):
    """When a fleet's manager is told, how long a message is tried, and who let the first go out."""

    fleet = models.OneToOneField(Fleet, on_delete=models.CASCADE, related_name="reminder_rules")
    manager_after_days = models.PositiveSmallIntegerField(
        "the manager is told when late by, days", default=7, validators=[MaxValueValidator(365)]
    )
    manager_of_holds = models.BooleanField(
        "the manager is told of held boats at once", default=True
    )
    tried_for_hours = models.PositiveSmallIntegerField(
        "a message is tried for, hours",
        default=72,
        validators=[MinValueValidator(1), MaxValueValidator(24 * 14)],
        help_text="After that it is missed, and said so.",
    )
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.CharField(max_length=120, blank=True)
    queued_on = models.DateField(null=True, blank=True, help_text="Last day whose round queued.")

    def __str__(self) -> str:
        return f"Reminders of {self.fleet}"

    @classmethod
    def of(cls, fleet: Fleet) -> "ReminderRules":
        """Return the fleet's rules; unsaved usual ones where nobody has changed any."""
        return cls.objects.filter(fleet=fleet).first() or cls(fleet=fleet)


class Language(models.TextChoices):
    """Languages whose fixed words a message has."""

    EN = "en", "English"
    DE = "de", "Deutsch"
    FR = "fr", "français"
    ES = "es", "español"


class Addressee(models.Model):
    """One address of one fleet: when and how it is written to, and whether it can be."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="addressees")
    email = models.EmailField(help_text="In small letters.")
    language = models.CharField(max_length=2, choices=Language.choices, default=Language.EN)
    time_zone = models.CharField(
        max_length=60, blank=True, validators=[known_time_zone], help_text="Blank: the fleet's."
    )
    quiet_from = models.PositiveSmallIntegerField(
        "quiet from, hour", null=True, blank=True, validators=HOUR
    )
    quiet_until = models.PositiveSmallIntegerField(
        "quiet until, hour", null=True, blank=True, validators=HOUR
    )
    stopped_at = models.DateTimeField(null=True, blank=True, help_text="Asked for no more mail.")
    broken_at = models.DateTimeField(null=True, blank=True, help_text="Mail came back for good.")
    broken_words = models.CharField(max_length=300, blank=True)

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["email", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "email"], name="one_addressee_per_address")
        ]

    def __str__(self) -> str:
        return self.email


class SetAsideQuerySet(OfBoat):
    def in_force(self, today: dt.date) -> "SetAsideQuerySet":
        """Return what keeps reminders back on that day."""
        asked = Q(how=SetAside.How.SNOOZE, state=SetAside.State.STANDS)
        done = Q(how=SetAside.How.ELSEWHERE, state=SetAside.State.ACCEPTED)
        return self.filter(asked | done, until__gt=today)


class SetAside(models.Model):
    """One due thing of a boat that nobody is reminded of for a while: by whom, why, until when.

    It is no sight of any spot and changes no verdict, hold or forecast.
    """

    class How(models.TextChoices):
        SNOOZE = "snooze", "not now"
        ELSEWHERE = "elsewhere", "done elsewhere"

    class State(models.TextChoices):
        STANDS = "stands", "stands"
        OFFERED = "offered", "waits for the bosun"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        UNDONE = "undone", "taken back"

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="set_asides")
    kind = models.CharField(max_length=10, choices=Reminder.Kind.choices)
    about = models.CharField(max_length=60, blank=True)
    due_on = models.DateField()
    how = models.CharField(max_length=10, choices=How.choices)
    state = models.CharField(max_length=10, choices=State.choices)
    done_on = models.DateField(null=True, blank=True)
    until = models.DateField(help_text="The first day on which people are reminded again.")
    reason = models.TextField(max_length=1000)
    evidence = models.CharField(max_length=80, blank=True, help_text="Key of a kept file.")
    evidence_name = models.CharField(max_length=120, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    by_name = models.CharField(max_length=120)
    at = models.DateTimeField()
    decided_by = models.CharField(max_length=120, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decision = models.CharField(max_length=300, blank=True)

    objects = SetAsideQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.boat}, {self.get_how_display()}"


class Wording(models.Model):
    """A fleet's own words for one piece of its messages; the newest of a piece counts."""

    class Piece(models.TextChoices):
        SUBJECT = "subject", "Subject"
        OPENING = "opening", "Opening"
        CLOSING = "closing", "Closing"

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="wordings")
    piece = models.CharField(max_length=10, choices=Piece.choices)
    language = models.CharField(max_length=2, choices=Language.choices, default=Language.EN)
    text = models.TextField(max_length=2000, blank=True, help_text="Blank: the usual words.")
    by_name = models.CharField(max_length=120)
    at = models.DateTimeField()

    objects = OfFleet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_piece_display()} of {self.fleet}, {self.get_language_display()}"

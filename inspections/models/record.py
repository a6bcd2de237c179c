"""What was seen, what it means, and what is held because of it."""

import datetime as dt

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models import Boat, Fleet, Installation
from inspections import followups  # noqa: F401  (Django finds an app's tables by this import.)


class OfBoat(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfBoat":
        return self.filter(boat__fleet=fleet)


class CriteriaVersion(models.Model):
    """A fleet's own limits from a day on, as ``criteria.Criteria.to_dict`` writes them."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="criteria_versions")
    since = models.DateField()
    reason = models.CharField(max_length=200)
    decided_by = models.CharField(max_length=120)
    entered_on = models.DateField(null=True, blank=True)
    data = models.JSONField()

    class Meta:
        ordering = ["fleet", "since", "pk"]

    def __str__(self) -> str:
        return f"{self.fleet} since {self.since}"


SKIPPED = "not looked at"  # The note of a "not seen" finding on a stay left out on purpose.
NOT_REACHED = "not reached before the form was sent"  # That of one left out otherwise.
LEFT_OUT = (SKIPPED, NOT_REACHED)


class InspectionQuerySet(OfBoat):
    def whole(self) -> "InspectionQuerySet":
        """Return the looks that left nothing out: one stay, or a turn-round, is not the boat."""
        left_out = Finding.objects.filter(inspection=models.OuterRef("pk"), note__in=LEFT_OUT)
        unseen = models.Exists(left_out.filter(sign="not_seen"))
        return self.filter(turn_round=False).exclude(unseen)

    def up_to(self, day: dt.date) -> "InspectionQuerySet":
        return self.filter(on__lte=day)


class Inspection(models.Model):
    """One look at one boat: who, how, at what level."""

    class Level(models.TextChoices):
        DECK = "deck", "deck check"
        ALOFT = "aloft", "aloft"
        MAST_DOWN = "mast_down", "mast-down, opened"

    class Competence(models.TextChoices):
        CREW = "crew", "crew"
        RIGGER = "rigger", "rigger"
        SURVEYOR = "surveyor", "surveyor"

    class Method(models.TextChoices):
        EYE = "eye", "eye"
        LOUPE = "loupe", "loupe"
        PENETRANT = "penetrant", "penetrant"

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="inspections")
    on = models.DateField("date")
    level = models.CharField(max_length=10, choices=Level.choices)
    person = models.CharField(max_length=120)
    competence = models.CharField(max_length=10, choices=Competence.choices)
    method = models.CharField(max_length=10, choices=Method.choices, default=Method.EYE)
    turn_round = models.BooleanField("turn-round check", default=False)
    note = models.TextField(blank=True)
    signed_at = models.DateTimeField(null=True, blank=True)
    criteria = models.ForeignKey(CriteriaVersion, null=True, blank=True, on_delete=models.RESTRICT)
    criteria_fingerprint = models.CharField(max_length=64, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    recorded_at = models.DateTimeField(auto_now_add=True)

    objects = InspectionQuerySet.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["boat", "on", "level", "person"], name="one_inspection_per_look"
            )
        ]

    def __str__(self) -> str:
        return f"{self.boat}, {self.get_level_display()}, {self.on}"


class SpotState(models.TextChoices):
    """What one inspection says of one spot. Blank: the part has no such spot."""

    GOOD = "good", "seen good"
    CONDEMNED = "condemned", "condemned"
    UNRESOLVED = "unresolved", "seen, not resolved"
    NOT_SEEN = "not_seen", "not seen"


class VerdictValue(models.TextChoices):
    KEEP = "keep", "keep"
    WATCH = "watch", "watch"
    REFER = "refer", "refer"
    MAKE_GOOD = "make_good", "make good"
    REPLACE = "replace", "replace"
    NOT_SEEN = "not_seen", "not seen"
    NOT_ASSESSED = "not_assessed", "not assessed"


def spot_state(spot: str) -> models.CharField:
    return models.CharField(f"{spot}", max_length=10, choices=SpotState.choices, blank=True)


class PartVerdict(models.Model):
    """What one inspection saw of one part, spot by spot, and the verdict with its reasons."""

    FOLLOWS = Q()

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="verdicts")
    installation = models.ForeignKey(
        Installation, on_delete=models.CASCADE, related_name="verdicts"
    )
    lower = spot_state("lower end")
    run = spot_state("wire")
    upper = spot_state("upper end")
    whole = spot_state("whole part")
    value = models.CharField(max_length=12, choices=VerdictValue.choices)
    spot = models.CharField(max_length=6, choices=Installation.Spot.choices, blank=True)
    reasons = models.JSONField(default=list)
    watched = models.JSONField(default=list, help_text="Spots at which a sign is to be watched.")
    again_by = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["inspection", "installation"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "installation"], name="one_verdict_per_part_and_look"
            )
        ]

    def __str__(self) -> str:
        return f"{self.installation}: {self.get_value_display()}"


class FindingQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "FindingQuerySet":
        return self.filter(inspection__boat__fleet=fleet)


class Finding(models.Model):
    """One sign at one spot of a part, or at a place of the boat that is no part."""

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="findings")
    installation = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="findings"
    )
    place = models.CharField(
        max_length=20, help_text="lower, run, upper or whole of a part; else tang, spreader, ..."
    )
    side = models.CharField(max_length=10, blank=True)
    sign = models.CharField(max_length=40, help_text="Code of the sign in the criteria.")
    measure = models.FloatField(null=True, blank=True)
    cleaned = models.BooleanField("came away when cleaned", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    done_on = models.DateField("made good on", null=True, blank=True)
    done_by = models.CharField(max_length=120, blank=True)

    objects = FindingQuerySet.as_manager()

    class Meta:
        ordering = ["inspection", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "installation", "place", "sign"],
                condition=Q(installation__isnull=False),
                name="one_finding_per_sign_and_spot",
            )
        ]

    def __str__(self) -> str:
        return f"{self.sign} at {self.place}"


class HoldQuerySet(OfBoat):
    def standing(self) -> "HoldQuerySet":
        return self.filter(lifted_on__isnull=True)


class Hold(models.Model):
    """Why a boat does not sail, until something is done. There is no release by override."""

    FOLLOWS = Q()

    class Cause(models.TextChoices):
        REPLACE = "replace", "part condemned"
        MAKE_GOOD = "make_good", "to be made good"
        FINDING = "finding", "finding on the boat"
        EVENT = "event", "event: earlier results void"
        PAIR = "pair", "pair of a condemned wire"
        NOT_SEEN = "not_seen", "not seen twice running"

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="holds")
    installation = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="holds"
    )
    inspection = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.CASCADE, related_name="holds"
    )
    finding = models.ForeignKey(
        Finding, null=True, blank=True, on_delete=models.CASCADE, related_name="holds"
    )
    cause = models.CharField(max_length=10, choices=Cause.choices)
    reason = models.CharField(max_length=500)
    unproved = models.ForeignKey(
        Installation,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
        help_text="The new part on record, where its renewal lacks proof.",
    )
    since = models.DateField()
    lifted_on = models.DateField(null=True, blank=True)
    lifted_by = models.CharField(max_length=120, blank=True)
    lifted_how = models.CharField(max_length=300, blank=True)

    objects = HoldQuerySet.as_manager()

    class Meta:
        ordering = ["boat", "since", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(lifted_on__isnull=True) | ~Q(lifted_how=""), name="hold_lifted_says_how"
            )
        ]

    def __str__(self) -> str:
        return f"{self.boat} held: {self.reason}"


class HandInQuerySet(OfBoat):
    def noted(self) -> "HandInQuerySet":
        return self.exclude(note="").select_related("boat__base", "by")

    def unanswered(self) -> "HandInQuerySet":
        """Return the notes of damage that no look at the whole boat has followed.

        A look on the same day counts if it was put on record after the note.
        """
        later = Q(on__gt=models.OuterRef("on"))
        same_day = Q(on=models.OuterRef("on"), recorded_at__gt=models.OuterRef("at"))
        looks = Inspection.objects.whole().filter(boat=models.OuterRef("boat"))
        return self.noted().exclude(models.Exists(looks.filter(later | same_day)))


class HandIn(models.Model):
    """What a skipper says on handing a boat in. A note of damage asks for a look; it is none."""

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="hand_ins")
    on = models.DateField("date")
    miles = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL
    )
    at = models.DateTimeField(auto_now_add=True)

    objects = HandInQuerySet.as_manager()

    class Meta:
        verbose_name = "hand-in"
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.boat}, {self.on}: {self.note}"


class InspectBy(models.Model):
    """By when risk asks for a look at a boat. Written by the forecast, used by the reminders.

    Reminders use the date only while ``rests_on`` is still the boat's latest inspection.
    """

    FOLLOWS = Q()

    boat = models.OneToOneField(Boat, on_delete=models.CASCADE, related_name="inspect_by")
    date = models.DateField()
    level = models.CharField(max_length=10, choices=Inspection.Level.choices)
    reason = models.CharField(max_length=300)
    rests_on = models.ForeignKey(
        Inspection, null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    as_of = models.DateField()

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["date", "pk"]

    def __str__(self) -> str:
        return f"{self.boat} by {self.date}"

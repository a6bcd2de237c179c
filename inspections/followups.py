"""Rows of what follows a find or an event: a part that let go, a second look at a condemned one, a
move to the yard, a mast stepped, what others recommend, what was ordered.

They are facts. Verdicts and holds follow from them in ``judgement``; none of them is a release.
"""

import datetime as dt
import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models import Base, Boat, Fleet, Installation

TEXT, NAME = 300, 120


def user() -> models.ForeignKey:
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )


class Competence(models.TextChoices):
    """Who can judge a condemned part a second time, and sign a report."""

    RIGGER = "rigger", "rigger"
    SURVEYOR = "surveyor", "surveyor"


class OfBoat(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfBoat":
        return self.filter(boat__fleet=fleet)


class OfPart(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfPart":
        return self.filter(installation__stay__boat__fleet=fleet)


class Failure(models.Model):
    """A part that let go in use. The day is that of its removal, the reason *failed in service*."""

    installation = models.OneToOneField(
        Installation, on_delete=models.CASCADE, related_name="failure"
    )
    what = models.CharField("what happened", max_length=TEXT)
    person = models.CharField("told by", max_length=NAME)
    by = user()
    at = models.DateTimeField(auto_now_add=True)

    objects = OfPart.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.installation}: {self.what}"


class Rejudgement(models.Model):
    """What a second person says of a condemned part, at a look of their own; the first stays."""

    class Value(models.TextChoices):
        REPLACE = "replace", "replace: the first judgement stands"
        WATCH = "watch", "watch: it may be loaded, to be looked at again"
        KEEP = "keep", "keep: it may be loaded"

    inspection = models.ForeignKey(
        "inspections.Inspection", on_delete=models.CASCADE, related_name="rejudgements"
    )
    installation = models.ForeignKey(
        Installation, on_delete=models.CASCADE, related_name="rejudgements"
    )
    value = models.CharField(max_length=10, choices=Value.choices)
    saw = models.CharField("what they saw", max_length=600)
    again_by = models.DateField("look again by", null=True, blank=True)

    objects = OfPart.as_manager()

    class Meta:
        verbose_name = "second judgement"
        ordering = ["inspection", "installation"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "installation"], name="one_rejudgement_per_part_and_look"
            ),
            models.CheckConstraint(
                condition=Q(value="watch", again_by__isnull=False)
                | (~Q(value="watch") & Q(again_by__isnull=True)),
                name="rejudged_watch_says_when",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.installation} judged again: {self.value}"


class YardMove(models.Model):
    """A held boat taken to a yard under engine, without guests. It releases nothing."""

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="yard_moves")
    on = models.DateField("date")
    origin = models.CharField("from", max_length=NAME)
    destination = models.CharField("to", max_length=NAME)
    skipper = models.CharField(max_length=NAME)
    weather = models.CharField("weather", max_length=TEXT)
    by = user()
    at = models.DateTimeField(auto_now_add=True)

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.boat}, {self.on}: {self.origin} to {self.destination}"


class SteppingQuerySet(OfBoat):
    def unsigned(self) -> "SteppingQuerySet":
        return self.filter(second_on__isnull=True)

    def slack(self) -> "SteppingQuerySet":
        """Return those whose rig was not re-tensioned yet."""
        return self.filter(retensioned_on__isnull=True)


class Stepping(models.Model):
    """A mast stepped: what was checked and who signed; then re-tensioned after the first sail."""

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="steppings")
    on = models.DateField("date")
    checked = models.JSONField(default=list, help_text="What was signed for, in words.")
    tune = models.CharField("tune", max_length=TEXT, blank=True)
    person = models.CharField("first signature", max_length=NAME)
    second_person = models.CharField("second signature", max_length=NAME, blank=True)
    second_on = models.DateField(null=True, blank=True)
    retensioned_on = models.DateField("re-tensioned on", null=True, blank=True)
    retensioned_by = models.CharField(max_length=NAME, blank=True)
    by = user()
    at = models.DateTimeField(auto_now_add=True)

    objects = SteppingQuerySet.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["boat", "on"], name="one_stepping_per_day"),
            models.CheckConstraint(
                condition=Q(second_on__isnull=True, second_person="")
                | (Q(second_on__isnull=False) & ~Q(second_person="")),
                name="second_signature_has_its_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.boat} stepped {self.on}"


class Report(models.Model):
    """A survey's or rigger's report, as the PDF it came in. Only members of its fleet read it."""

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="reports")
    on = models.DateField("date of the report")
    author = models.CharField("written by", max_length=NAME)
    competence = models.CharField(max_length=10, choices=Competence.choices)
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField("file", max_length=200)
    size = models.PositiveIntegerField(help_text="Bytes.")
    sha256 = models.CharField(max_length=64)
    by = user()
    at = models.DateTimeField(auto_now_add=True)

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["boat", "sha256"], name="one_row_per_report_of_a_boat")
        ]

    def __str__(self) -> str:
        return f"{self.boat}, {self.author}, {self.on}"

    @property
    def open_count(self) -> int:
        """Return how many of its recommendations are open."""
        rows = self.recommendations.all()
        return sum(row.state == Recommendation.State.OPEN for row in rows)


class RecommendationQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "RecommendationQuerySet":
        return self.filter(report__boat__fleet=fleet)

    def open(self) -> "RecommendationQuerySet":
        return self.filter(state=Recommendation.State.OPEN)

    def overdue(self, today: dt.date) -> "RecommendationQuerySet":
        return self.open().filter(by_when__lt=today)


class Recommendation(models.Model):
    """One thing a report recommends. It is followed up until closed; it condemns nothing."""

    class State(models.TextChoices):
        OPEN = "open", "open"
        DONE = "done", "done"
        DECLINED = "declined", "declined"

    report = models.ForeignKey(Report, on_delete=models.CASCADE, related_name="recommendations")
    text = models.CharField("recommendation", max_length=TEXT)
    installation = models.ForeignKey(
        Installation,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="recommendations",
        verbose_name="part",
    )
    answers = models.CharField("who answers for it", max_length=NAME)
    by_when = models.DateField("by when")
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    closed_on = models.DateField(null=True, blank=True)
    closed_by = models.CharField(max_length=NAME, blank=True)
    how = models.CharField("evidence, or why declined", max_length=TEXT, blank=True)
    inspection = models.ForeignKey(
        "inspections.Inspection",
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
    )
    renewal = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = RecommendationQuerySet.as_manager()

    class Meta:
        ordering = ["by_when", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="open", closed_on__isnull=True)
                | (~Q(state="open") & Q(closed_on__isnull=False) & ~Q(how="")),
                name="recommendation_closed_says_how",
            )
        ]

    def __str__(self) -> str:
        return self.text


class OfBase(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfBase":
        return self.filter(base__fleet=fleet)


class ConsumableOrder(models.Model):
    """Small things ordered for a base: what was found before that day needs no further order."""

    class Item(models.TextChoices):
        HANKS = "hanks", "hanks"
        LASHINGS = "lashings", "lashings"
        SPLIT_PINS = "split_pins", "split pins (cotter pins)"
        TAPE = "tape", "rigging tape, places to tape"

    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="consumable_orders")
    item = models.CharField(max_length=12, choices=Item.choices)
    pieces = models.PositiveIntegerField()
    on = models.DateField("ordered on")
    by = user()
    at = models.DateTimeField(auto_now_add=True)

    objects = OfBase.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.pieces} {self.get_item_display()}, {self.base}"

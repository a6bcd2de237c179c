"""The books: how rigging is accounted for, what it cost, how long it is expected to serve."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from fleet.models import Boat, Fleet, Installation
from fleet.models.records import person

from .questions import OfBoat, RunQuerySet
from .work_orders import WorkOrder

FRACTION = [MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(1))]
YEARS = [MinValueValidator(0.5), MaxValueValidator(60)]


class AccountsPolicy(models.Model):
    """How a fleet accounts for rigging from a day on. Never changed: a new row takes over."""

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="accounts_policies")
    since = models.DateField()
    by = person()
    decided_by = models.CharField(max_length=120)
    capital_from_minor = models.BigIntegerField(
        "capitalised from", default=0, validators=[MinValueValidator(0)]
    )
    tax_rate = models.DecimalField(
        "tax on purchases", max_digits=5, decimal_places=4, default=0, validators=FRACTION
    )
    tax_recovered = models.DecimalField(
        "share of it recovered", max_digits=5, decimal_places=4, default=1, validators=FRACTION
    )
    life_wire = models.FloatField("life of a wire, years", default=10, validators=YEARS)
    life_turnbuckle = models.FloatField("life of a turnbuckle, years", default=15, validators=YEARS)
    life_chainplate = models.FloatField("life of a chainplate, years", default=20, validators=YEARS)
    account_cost = models.CharField("account: cost", max_length=20, blank=True)
    account_accumulated = models.CharField(
        "account: accumulated depreciation", max_length=20, blank=True
    )
    account_charge = models.CharField("account: depreciation", max_length=20, blank=True)
    account_repairs = models.CharField("account: repairs, expensed", max_length=20, blank=True)
    account_disposal = models.CharField(
        "account: gain or loss on derecognition", max_length=20, blank=True
    )

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-since", "-pk"]

    def __str__(self) -> str:
        return f"{self.fleet}, accounts since {self.since}"

    def life_of(self, kind: str) -> float:
        """Return the years a part of that kind is expected to serve, before any review."""
        return getattr(self, f"life_{kind}")


class InvoiceQuerySet(OfBoat):
    def standing(self) -> "InvoiceQuerySet":
        """Return the invoices that count: one withdrawn is kept and counts nowhere."""
        return self.filter(withdrawn_on__isnull=True)


class Invoice(models.Model):
    """One invoice for work on one boat's rig: what it came to, and what of its tax comes back.

    Never deleted: one entered wrongly is withdrawn, with who and why, and counts nowhere.
    """

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="invoices")
    number = models.CharField("invoice number", max_length=60)
    supplier = models.CharField(max_length=120, blank=True)
    order = models.CharField("order number", max_length=60, blank=True)
    work_order = models.ForeignKey(
        WorkOrder, null=True, blank=True, on_delete=models.RESTRICT, related_name="invoices"
    )
    on = models.DateField("date of the invoice")
    net_minor = models.BigIntegerField("total without tax", validators=[MinValueValidator(0)])
    tax_minor = models.BigIntegerField("tax on it", default=0, validators=[MinValueValidator(0)])
    recovered_minor = models.BigIntegerField(
        "tax recovered", default=0, validators=[MinValueValidator(0)]
    )
    note = models.CharField(max_length=300, blank=True)
    by = person()
    at = models.DateTimeField(auto_now_add=True)
    withdrawn_on = models.DateField(null=True, blank=True)
    withdrawn_by = models.CharField(max_length=120, blank=True)
    withdrawn_why = models.CharField(max_length=300, blank=True)

    objects = InvoiceQuerySet.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["boat", "supplier", "number"],
                condition=models.Q(withdrawn_on__isnull=True),
                name="one_invoice_of_a_number",
            ),
            models.CheckConstraint(
                condition=models.Q(recovered_minor__lte=models.F("tax_minor")),
                name="no_more_tax_recovered_than_paid",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}, {self.boat}"

    @property
    def cost_minor(self) -> int:
        """Return what it cost: recoverable tax left out (IAS 16.16, from memory)."""
        return self.net_minor + self.tax_minor - self.recovered_minor


class ShareQuerySet(models.QuerySet):
    def of(self, fleet: Fleet) -> "ShareQuerySet":
        return self.filter(invoice__boat__fleet=fleet)


class InvoiceShare(models.Model):
    """What of an invoice one part took. The shares of an invoice add to its cost, to the cent."""

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="shares")
    installation = models.ForeignKey(
        Installation, on_delete=models.CASCADE, related_name="invoice_shares"
    )
    cost_minor = models.BigIntegerField()

    objects = ShareQuerySet.as_manager()

    class Meta:
        ordering = ["invoice", "installation"]
        constraints = [
            models.UniqueConstraint(
                fields=["invoice", "installation"], name="one_share_of_a_part_and_invoice"
            )
        ]

    def __str__(self) -> str:
        return f"{self.installation}: {self.cost_minor}"


class OfPart(models.QuerySet):
    def of(self, fleet: Fleet) -> "OfPart":
        return self.filter(installation__stay__boat__fleet=fleet)


class LifeReview(models.Model):
    """A life reviewed at a year end: until when a part is expected to serve now, and was before."""

    installation = models.ForeignKey(
        Installation, on_delete=models.CASCADE, related_name="life_reviews"
    )
    on = models.DateField(help_text="The day from which it is depreciated over what remains.")
    ends = models.DateField()
    was = models.DateField(help_text="Until when it was expected to serve before.")
    basis = models.CharField(max_length=200)
    by = person()
    at = models.DateTimeField(auto_now_add=True)

    objects = OfPart.as_manager()

    class Meta:
        ordering = ["installation", "on"]
        constraints = [
            models.UniqueConstraint(fields=["installation", "on"], name="one_life_review_a_day"),
            models.CheckConstraint(
                condition=models.Q(ends__gt=models.F("on")), name="a_reviewed_life_lies_ahead"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.installation}: until {self.ends}"


class Proceeds(models.Model):
    """What was got for a part that came off."""

    installation = models.OneToOneField(
        Installation, on_delete=models.CASCADE, related_name="proceeds"
    )
    minor = models.BigIntegerField(validators=[MinValueValidator(0)])
    by = person()
    at = models.DateTimeField(auto_now_add=True)

    objects = OfPart.as_manager()

    def __str__(self) -> str:
        return f"{self.installation}: {self.minor}"


class PayConsent(models.Model):
    """Whether who pays for a boat agreed to a year of its budget: who was asked, who answered."""

    class Answer(models.TextChoices):
        OPEN = "", "not answered"
        GIVEN = "given", "given"
        REFUSED = "refused", "refused"

    boat = models.ForeignKey(Boat, on_delete=models.CASCADE, related_name="pay_consents")
    year = models.PositiveSmallIntegerField(help_text="The year in which the fiscal year begins.")
    amount_minor = models.BigIntegerField(
        "amount asked for", validators=[MinValueValidator(0)], default=0
    )
    asked_of = models.CharField("asked of", max_length=120)
    asked_on = models.DateField("asked on")
    answer = models.CharField(max_length=8, choices=Answer.choices, blank=True, default=Answer.OPEN)
    answered_on = models.DateField(null=True, blank=True)
    answered_by = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=300, blank=True)
    by = person()

    objects = OfBoat.as_manager()

    class Meta:
        ordering = ["boat", "year"]
        constraints = [
            models.UniqueConstraint(fields=["boat", "year"], name="one_consent_a_boat_and_year"),
            models.CheckConstraint(
                condition=models.Q(answer="")
                | (models.Q(answered_on__isnull=False) & ~models.Q(answered_by="")),
                name="a_consent_says_by_whom_and_when",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.boat}, {self.year}: {self.get_answer_display()}"


class BudgetVersion(models.Model):
    """A budget as it stood when somebody froze it. Never changed.

    data_mark: fingerprint of rules, prices and models; figures: every line, by scope; rests_on: the
    models in force.
    """

    fleet = models.ForeignKey(Fleet, on_delete=models.CASCADE, related_name="budget_versions")
    number = models.PositiveIntegerField()
    name = models.CharField(max_length=80)
    on = models.DateField(help_text="The fleet's day.")
    at = models.DateTimeField(auto_now_add=True)
    by = person()
    frozen_by = models.CharField(max_length=120)
    currency = models.CharField(max_length=3)
    growth = models.FloatField()
    planned_as_of = models.DateField(null=True, blank=True)
    rests_on = models.JSONField(default=dict, help_text="Kind of part -> fingerprint.")
    data_mark = models.CharField(max_length=64)
    figures_mark = models.CharField(max_length=64)
    figures = models.JSONField(default=list)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["fleet", "number"], name="one_version_of_a_number")
        ]

    def __str__(self) -> str:
        return f"Version {self.number}, {self.name}"

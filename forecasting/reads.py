"""What the pages ask of the database, one named question each."""

import datetime as dt

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery, Sum

from fleet.models import Boat, Fleet, Installation
from inspections.followups import Stepping
from inspections.judgement.standing_verdicts import VOIDING
from inspections.models import Hold, Inspection

from .life_data.marks import marks
from .models import BoatOutlook, BudgetFigure, ModelRun, PartOutlook, RefitJob


def boats(fleet: Fleet, today: dt.date) -> QuerySet[Boat]:
    """Return the boats in the fleet with what is held, last looked at, likely and planned."""
    # What was seen before an event on the same day is void with the rest: no look at the boat.
    looks = Inspection.objects.exclude(findings__sign__in=VOIDING)
    latest = looks.filter(boat=OuterRef("pk"), on__lte=today).order_by("-on", "-pk")
    hold = Hold.objects.standing().filter(boat=OuterRef("pk")).order_by("since", "pk")
    jobs = RefitJob.objects.filter(boat=OuterRef("pk")).order_by().values("boat")
    stepped = Stepping.objects.filter(boat=OuterRef("pk")).order_by("-on", "-pk")
    return (
        Boat.objects.of(fleet)
        .standing(today)
        .select_related("base", "outlook", "inspect_by")
        .annotate(
            held=Exists(hold),
            held_why=Subquery(hold.values("reason")[:1]),
            stepped_on=Subquery(stepped.values("on")[:1]),
            signed_on=Subquery(stepped.values("second_on")[:1]),
            last_on=Subquery(latest.values("on")[:1]),
            last_level=Subquery(latest.values("level")[:1]),
            jobs=Subquery(jobs.annotate(n=Count("installation")).values("n")[:1]),
            jobs_minor=Subquery(jobs.annotate(total=Sum("cost_minor")).values("total")[:1]),
        )
    )


def bases(fleet: Fleet, today: dt.date) -> list[dict]:
    """Return one row a base with boats now: how many, held, due for a look, to renew, and cost."""
    counts = (
        boats(fleet, today)
        .order_by()
        .values("base__name")
        .annotate(
            boats=Count("pk"),
            are_held=Count("pk", filter=Q(held=True)),
            are_due=Count("pk", filter=Q(inspect_by__date__lte=today)),
        )
        .order_by("base__name")
    )
    work = {row["boat__base__name"]: row for row in refit_totals(fleet)}
    none = {"parts": 0, "hours": 0, "cost": 0}
    return [row | {key: work.get(row["base__name"], none)[key] for key in none} for row in counts]


def behind(boats: QuerySet[Boat]) -> int:
    """Return how many of these boats have a record other than their forecast was made from."""
    made_from = BoatOutlook.objects.filter(boat__in=boats.order_by().values("pk"))
    known = marks(boats)
    return sum(known[boat] != mark for boat, mark in made_from.values_list("boat", "record"))


def parts_up(boat: Boat) -> QuerySet[Installation]:
    """Return the parts standing on a boat, each with its stay and outlook."""
    return (
        Installation.objects.filter(stay__boat=boat)
        .standing()
        .select_related("stay", "outlook", "outlook__run", "refit_job")
        .order_by("pk")
    )


def parts_up_on(boats: QuerySet[Boat]) -> QuerySet[Installation]:
    """Return the parts standing on these boats, each with stay and outlook."""
    on_them = Installation.objects.filter(stay__boat__in=boats.order_by().values("pk"))
    return on_them.standing().select_related("stay", "outlook").order_by("pk")


def earlier_parts(boat: Boat) -> QuerySet[Installation]:
    """Return the parts a boat no longer has, latest removal first."""
    gone = Installation.objects.filter(stay__boat=boat, removed_on__isnull=False)
    return gone.select_related("stay", "failure").order_by("-removed_on", "pk")


def runs(fleet: Fleet) -> dict[str, dict[str, ModelRun | None]]:
    """Return kind of part -> the model in force and the newest attempt, if that was refused."""
    answer = {}
    for kind in Installation.Kind.values:
        newest = ModelRun.objects.of(fleet).filter(kind=kind).first()
        refused = newest if newest and newest.state == ModelRun.State.REFUSED else None
        in_force = ModelRun.objects.of(fleet).in_force().filter(kind=kind).first()
        answer[kind] = {"in_force": in_force, "refused": refused}
    return answer


def expected_in_a_year(fleet: Fleet) -> dict[str, dict[str, float]]:
    """Return kind of part -> how many of those up are expected to be condemnable: now, and in_1y.

    Seen or not: what nobody has looked at for long makes up much of them.
    """
    rows = PartOutlook.objects.of(fleet).filter(condemned=False).order_by()
    counts = rows.values("installation__kind").annotate(
        now=Sum("chance_now"), in_1y=Sum("chance_1y")
    )
    return {row["installation__kind"]: row for row in counts}


def wire_model(fleet: Fleet) -> ModelRun | None:
    return ModelRun.objects.of(fleet).in_force().filter(kind=Installation.Kind.WIRE).first()


def has_outlook(fleet: Fleet) -> bool:
    """Return whether any part has been forecast: else no refit list or budget says anything."""
    return PartOutlook.objects.of(fleet).exists()


def refit_jobs(fleet: Fleet) -> QuerySet[RefitJob]:
    return (
        RefitJob.objects.of(fleet)
        .select_related("boat__base", "installation__stay")
        .order_by("boat__base__name", "boat__name", "-must", "-put_off_minor", "pk")
    )


def refit_totals(fleet: Fleet) -> list[dict]:
    """Return base, boats, parts, hours, cost and cost of putting off, one row a base."""
    return list(
        RefitJob.objects.of(fleet)
        .order_by()
        .values("boat__base__name")
        .annotate(
            boats=Count("boat", distinct=True),
            parts=Count("installation"),
            must=Count("pk", filter=Q(must=True)),
            hours=Sum("hours"),
            cost=Sum("cost_minor"),
            put_off=Sum("put_off_minor"),
        )
        .order_by("boat__base__name")
    )


def budgeted_boats(fleet: Fleet) -> QuerySet[Boat]:
    """Return the boats that have a budget of their own, in the order in which it lists them."""
    figures = BudgetFigure.objects.filter(boat=OuterRef("pk"))
    return Boat.objects.of(fleet).filter(Exists(figures)).order_by("base__name", "name", "pk")


def budget(fleet: Fleet, scope: str) -> QuerySet[BudgetFigure]:
    """Return budget figures of the fleet, of its bases, or of its boats."""
    figures = BudgetFigure.objects.of(fleet).select_related("base", "boat", "boat__base")
    if scope == "fleet":
        figures = figures.filter(base__isnull=True, boat__isnull=True)
    elif scope == "base":
        figures = figures.filter(base__isnull=False, boat__isnull=True)
    else:
        figures = figures.filter(boat__isnull=False)
    return figures.order_by("base__name", "boat__base__name", "boat__name", "year", "pk")

"""What an order can be drawn up from: the refit list, or an off season of a plan."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from fleet.models import Boat, Fleet, Installation

from ..models import RefitJob, ScenarioJob, SeasonScenario, WorkOrder, WorkOrderLine
from ..season_planning import SET_UP

REFIT = "refit"
MUST = ("condemned", "with_condemned")
MAST = "Mast down and up again"


@dataclass(frozen=True)
class Job:
    """One job an order may take over: minor units, hours; part None for the mast down and up."""

    part: Installation | None
    code: str
    reason: str
    must: bool
    hours: float
    price: int

    @property
    def key(self) -> str:
        """Return what a tick of it sends."""
        return str(self.part.pk) if self.part else SET_UP


@dataclass(frozen=True)
class Source:
    """key: as it stands in an address; season: its off season; words: as the order says it."""

    key: str
    words: str
    season: str
    jobs: QuerySet


@dataclass(frozen=True)
class Offer:
    """A boat, its jobs not on an order yet, and those that are, each with its order."""

    boat: Boat
    jobs: list[Job]
    ordered: list[tuple[Job, WorkOrder]]

    @property
    def hours(self) -> float:
        return sum(job.hours for job in self.jobs)

    @property
    def price(self) -> int:
        return sum(job.price for job in self.jobs)


def sources(fleet: Fleet) -> list[Source]:
    """Return the refit list and every off season of the plans worked out, in that order."""
    found = [_refit(fleet)]
    for scenario in SeasonScenario.objects.of(fleet).exclude(planned_at=None):
        rows = ScenarioJob.objects.filter(scenario=scenario)
        found += [
            Source(f"{scenario.pk}-{y}", f"plan {scenario.name}", label, rows.filter(season=y))
            for y, label in enumerate(scenario.found.get("labels", []))
        ]
    return found


def _refit(fleet: Fleet) -> Source:
    jobs = RefitJob.objects.of(fleet)
    season = jobs.values_list("season", flat=True).first() or ""
    return Source(REFIT, "refit list", season, jobs)


def chosen(fleet: Fleet, asked: str | None) -> Source:
    """Return the source an address asks for; the refit list for none or nonsense."""
    return next((each for each in sources(fleet) if each.key == asked), _refit(fleet))


def offers(fleet: Fleet, source: Source, boat: int | None = None) -> list[Offer]:
    """Return each boat with jobs in the source, by base and name; `boat`: that one alone."""
    rows = source.jobs.select_related("boat__base", "installation__stay")
    rows = rows.filter(boat=boat) if boat else rows
    by_boat: dict[Boat, list[Job]] = {}
    for row in rows.order_by("boat__base__name", "boat__name", "pk"):
        by_boat.setdefault(row.boat, []).append(job_of(row))
    ordered = on_order(fleet, by_boat)
    return [_offer(own, jobs, ordered.get(own.pk, {})) for own, jobs in by_boat.items()]


def job_of(row: RefitJob | ScenarioJob) -> Job:
    """Return what an order takes over of a row of the list or of a plan."""
    must = row.must if isinstance(row, RefitJob) else row.code in MUST
    return Job(row.installation, row.code, row.reason, must, row.hours, row.cost_minor)


def _offer(boat: Boat, jobs: list[Job], ordered: dict[str, WorkOrder]) -> Offer:
    free = [job for job in jobs if job.key not in ordered and not (job.part and gone(job.part))]
    if not any(job.part for job in free):
        free = []
    taken = [(job, ordered[job.key]) for job in jobs if job.key in ordered]
    return Offer(boat, sorted(free, key=lambda job: job.part is None), taken)


def gone(part: Installation) -> bool:
    return part.removed_on is not None


def on_order(fleet: Fleet, boats: Iterable[Boat]) -> dict[int, dict[str, WorkOrder]]:
    """Return boat id -> key of a job -> the open order it is on, while its line waits."""
    lines = WorkOrderLine.objects.of(fleet).filter(
        order__boat__in=list(boats), order__in=WorkOrder.objects.of(fleet).open(),
        done_on=None, not_done="",
    )  # fmt: skip
    found: dict[int, dict[str, WorkOrder]] = {}
    for line in lines.select_related("order"):
        key = str(line.installation_id) if line.installation_id else SET_UP
        found.setdefault(line.order.boat_id, {})[key] = line.order
    return found

"""What the pages of the season plans show, read from their rows."""

from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import QuerySet

from fleet.models import Fleet, WorkRow
from fleet.templatetags.wording import money, share

from .models import SEASONS, ScenarioJob, SeasonScenario
from .planning.refit import RefitRules
from .planning.seasons.words import LIMITS

MOST_COMPARED = 3
FEW_SINGLES = RefitRules().single_jobs  # wires of a boat renewed with its mast up in a season


@dataclass
class SeasonAtBase:
    """What one base gets in one season: boats, parts, hours, money; and of what it has."""

    base: str
    boats: set = field(default_factory=set)
    parts: int = 0
    masts: int = 0
    hours: float = 0.0
    cost: int = 0
    has_hours: float | None = None
    has_masts: float | None = None


def scenarios(fleet: Fleet) -> QuerySet:
    return SeasonScenario.objects.of(fleet)


def jobs(scenario: SeasonScenario) -> QuerySet:
    related = ("boat__base", "boat__fleet", "installation__stay")
    return ScenarioJob.objects.filter(scenario=scenario).select_related(*related)


def by_season(scenario: SeasonScenario) -> list[dict]:
    """Return each season with its label, money and bases, a season without work too."""
    rows: list[dict[int, SeasonAtBase]] = [{} for _ in range(SEASONS)]
    limits = {row.base_id: row for row in scenario.bases.all()}
    for job in jobs(scenario).exclude(season=None):
        base = job.boat.base
        at = rows[job.season].setdefault(base.pk, SeasonAtBase(base.name))
        at.boats.add(job.boat_id)
        at.parts += job.installation_id is not None
        at.masts += job.installation_id is None
        at.hours += job.hours
        at.cost += job.cost_minor
        if base.pk in limits:
            at.has_hours = _of(limits[base.pk].hours, job.season)
            lifts = _of(limits[base.pk].crane_days, job.season)
            slots = _of(limits[base.pk].yard_slots, job.season)
            lifts = lifts * scenario.boats_a_crane_day if lifts is not None else None
            at.has_masts = min((n for n in (lifts, slots) if n is not None), default=None)
    return [
        {
            "number": y,
            "label": label,
            "bases": sorted(rows[y].values(), key=lambda at: at.base),
            "cost": sum(at.cost for at in rows[y].values()),
            "parts": sum(at.parts for at in rows[y].values()),
            "limit": _of(scenario.money, y),
        }
        for y, label in enumerate(scenario.found.get("labels", []))
    ]


def _of(numbers: list, season: int) -> float | None:
    return numbers[season] if numbers else None


def said_limits(scenario: SeasonScenario, kind: str) -> list[dict]:
    """Return the limits found to bind or to lack, with words for kind, base and season."""
    names = {base.pk: base.name for base in scenario.fleet.bases.all()}
    labels = scenario.found.get("labels", [])
    return [
        {**each, "words": LIMITS[each["kind"]], "where": names.get(each["base"], "the whole fleet"),
         "label": labels[each["season"]], "money": each["kind"] == "money"}
        for each in scenario.found.get(kind, [])
    ]  # fmt: skip


def worth_more(scenario: SeasonScenario) -> list[dict]:
    """Return the limits of which one more would save most, at most six."""
    found = said_limits(scenario, "binding")
    return sorted(found, key=lambda each: -each["worth"])[:6]


def put_off(scenario: SeasonScenario) -> QuerySet:
    """Return the parts that would be renewed in these seasons if nothing were limited."""
    return jobs(scenario).filter(season=None, installation__isnull=False)


def compared(chosen: list[SeasonScenario]) -> list[dict]:
    """Return one row a fact, a value for each scenario, for those worked out."""
    columns = [_facts(scenario) for scenario in chosen]
    return [
        {"what": what, "values": [column[what] for column in columns], "money": what in MONEY}
        for what in columns[0]
    ] if columns else []  # fmt: skip


def cheapest(rows: list[SeasonScenario]) -> SeasonScenario | None:
    """Return the plan that costs least all told, of two or more that keep their limits."""
    kept = [row for row in rows if row.planned_at and not row.found["excess"]]
    return min(kept, key=lambda row: row.found["cost"]) if len(kept) > 1 else None


def difference(chosen: list[SeasonScenario]) -> str:
    """Return in a sentence how the first plan compares with the others, all told."""
    first, *others = chosen
    said = []
    for other in others:
        more = other.found["cost"] - first.found["cost"]
        amount = money(abs(more), first.fleet.currency)
        said.append(f"“{other.name}” costs {amount} {'more' if more >= 0 else 'less'}")
    return f"{' and '.join(said)} than “{first.name}”, all told"


MONEY = {
    "Money a season",
    "Work in all seasons",
    "Expected cost of what waits",
    "All told, worth today",
}


def _facts(scenario: SeasonScenario) -> dict[str, object]:
    found = scenario.found
    seasons = by_season(scenario)
    facts: dict[str, object] = {
        "Money a season": _mean(scenario.money),
        "Riggers' hours a season": _hours(scenario),
        "All told, worth today": found["cost"],
        "Work in all seasons": found["work"],
        "Expected cost of what waits": found["put_off"],
        "Put off beyond these seasons": f"{put_off(scenario).count()} parts",
        "Not proven to be needed": share(found["gap"]),
        "Limits that no plan keeps": f"{len(found['excess'])}",
    }
    for season in seasons:
        facts[f"Parts renewed {season['label']}"] = f"{season['parts']}"
    return facts


def _mean(numbers: list) -> int | None:
    """Return the mean over the seasons; None where they are not limited."""
    return round(sum(numbers) / len(numbers)) if numbers else None


def _hours(scenario: SeasonScenario) -> str:
    """Return the hours of all bases in a season, on average."""
    rows = [row.hours for row in scenario.bases.all()]
    if not rows or not all(rows):
        return "not limited at every base"
    return f"{sum(sum(hours) / len(hours) for hours in rows):,.0f}"


def moved_between(first: SeasonScenario, other: SeasonScenario) -> int:
    """Return how many parts are in another season in the other plan, or in one plan only."""
    seasons: dict[int, list] = defaultdict(lambda: [None, None])
    for k, scenario in enumerate((first, other)):
        rows = scenario.jobs.exclude(installation=None).values_list("installation_id", "season")
        for part, season in rows:
            seasons[part][k] = season
    return sum(one != two for one, two in seasons.values())


def chosen_season(asked: str) -> int | None:
    """Return the season of an address, the first where it names none; None for what is put off."""
    if asked == "later":
        return None
    return int(asked) if asked.isdecimal() and int(asked) < SEASONS else 0


def chosen_scenarios(fleet: Fleet, asked: list[str]) -> list[SeasonScenario]:
    """Return the plans of an address in its order, three at most, those worked out alone."""
    numbers = [int(each) for each in dict.fromkeys(asked) if each.isdecimal()][:MOST_COMPARED]
    found = scenarios(fleet).exclude(planned_at=None).in_bulk(numbers)
    return [found[pk] for pk in numbers if pk in found]


def change(scenario: SeasonScenario) -> int | None:
    """Return by how much the plan became dearer when it was last worked out anew."""
    before, now = scenario.found.get("before"), scenario.found.get("cost")
    return None if before is None or before == now else now - before


def work_under_way(scenario: SeasonScenario) -> WorkRow | None:
    """Return the work that is working it out, if any."""
    rows = WorkRow.objects.of(scenario.fleet).filter(kind=WorkRow.Kind.SEASONS)
    return rows.filter(key=f"{scenario.pk}").unfinished().first()

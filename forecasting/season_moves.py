"""A part moved by hand to another season of a plan, or set free again."""

from .models import SEASONS, ScenarioJob, ScenarioMove, SeasonScenario

FREE, NOT_NOW = "free", "none"
NOT_MOVED = ("condemned", "with_condemned")


def move(scenario: SeasonScenario, part: str, to: str, by) -> str:
    """Keep the part in the season; return a sentence where that may not be, else blank.

    to: the number of a season from 0, ``none`` for not in these seasons, ``free`` for wherever the
    planner puts it. What is condemned is not moved, nor anything past the season a rule leaves it.
    """
    job = _job(scenario, part)
    if job is None:
        return "That part is not in this plan. Work the plan out anew, then move it."
    if to == FREE:
        ScenarioMove.objects.filter(scenario=scenario, installation=job.installation_id).delete()
        return ""
    if to != NOT_NOW and not (to.isdecimal() and int(to) < SEASONS):
        return "Choose one of the seasons of this plan."
    season = None if to == NOT_NOW else int(to)
    if job.code in NOT_MOVED:
        return "It is condemned, or goes with one that is: renewed as soon as the limits allow."
    if job.latest is not None and (season is None or season > job.latest):
        return "A rule of the fleet or its insurer does not leave it that long."
    ScenarioMove.objects.update_or_create(
        scenario=scenario,
        installation_id=job.installation_id,
        defaults={"season": season, "moved_by": by},
    )
    return ""


def _job(scenario: SeasonScenario, part: str) -> ScenarioJob | None:
    if not part.isdecimal():
        return None
    return scenario.jobs.filter(installation=int(part)).first()

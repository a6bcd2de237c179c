"""The demonstration's plans of the coming off seasons: what its manager would compare.

The charter group alone plans so; the club has one base and one volunteer.
"""

from django.db import transaction

from fleet.models import Fleet, Membership

from . import season_planning
from .models import SEASONS, RefitJob, ScenarioBase, ScenarioMove, SeasonScenario
from .steps.prospects import Prospects
from .steps.wording import counted

BOARD = "What the board set aside"
LESS = "Less money, one rigger fewer"
MONEY_MINOR = 6_000_000
LESS_MONEY = 0.85
HOURS = 150.0  # of riggers a base and season, beside all other work
FEWER = 100.0
CRANE_DAYS = (2.0, 2.0, 2.0, 3.0, 3.0)


def plan(fleet: Fleet, ahead: Prospects | None) -> str:
    """Make and work out the plans of a charter fleet, once; return what there is, in words."""
    if fleet.kind == Fleet.Kind.CHARTER and ahead is not None:
        for scenario in made(fleet):
            season_planning.run(scenario, fleet.today(), _silent, lambda: None, ahead)
    plans = SeasonScenario.objects.of(fleet).exclude(planned_at=None).count()
    return f"{counted(plans, 'plan')} worked out"


def _silent(step: str) -> None:
    """Say nothing: the demonstration says in one line what came of both."""


@transaction.atomic
def made(fleet: Fleet) -> list[SeasonScenario]:
    """Return the scenarios that are new: none where the fleet has any."""
    if SeasonScenario.objects.of(fleet).exists():
        return []
    board = _scenario(fleet, BOARD, 1.0, HOURS)
    job = (
        RefitJob.objects.of(fleet)
        .filter(code="cost_age", installation__kind="wire", boat__planned_exit=None)
        .order_by("put_off_minor", "pk").first()
    )  # fmt: skip
    if job:
        by = Membership.objects.filter(fleet=fleet, role="manager").first()
        ScenarioMove.objects.create(
            scenario=board, installation=job.installation, season=1, moved_by=by and by.user
        )
    return [board, _scenario(fleet, LESS, LESS_MONEY, FEWER)]


def _scenario(fleet: Fleet, name: str, share: float, hours: float) -> SeasonScenario:
    """Return a plan with a share of the money, and these hours at the base with most boats."""
    scenario = SeasonScenario.objects.create(
        fleet=fleet, name=name, money=[round(MONEY_MINOR * share)] * SEASONS
    )
    bases = sorted(fleet.bases.all(), key=lambda base: (-base.boats.count(), base.pk))
    for number, base in enumerate(bases):
        ScenarioBase.objects.create(
            scenario=scenario, base=base, crane_days=list(CRANE_DAYS),
            hours=[HOURS if number else hours] * SEASONS,
        )  # fmt: skip
    return scenario

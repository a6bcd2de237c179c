"""A plan of the coming off seasons, as rows."""

import datetime as dt

from django.utils import timezone

from fleet.models import Boat, Installation
from forecasting.models import ScenarioBase, ScenarioJob, ScenarioMove, SeasonScenario


def season_plan(boat: Boat, part: Installation) -> SeasonScenario:
    """Return a plan of the coming off seasons with its limits, a move and a job."""
    plan = SeasonScenario.objects.create(
        fleet=boat.fleet, name=f"{boat.fleet.slug}: as budgeted", money=[9_000_00] * 5,
        as_of=dt.date(2026, 10, 14), planned_at=timezone.now(), asked="f" * 64,
        found={
            "labels": ["2026/27", "2027/28", "2028/29", "2029/30", "2030/31"], "cost": 90_000,
            "bound": 90_000, "gap": 0.0, "work": 80_000, "put_off": 10_000, "waits": False,
            "excess": [], "binding": [], "before": None,
        },
    )  # fmt: skip
    ScenarioBase.objects.create(scenario=plan, base=boat.base, hours=[200.0] * 5)
    ScenarioMove.objects.create(scenario=plan, installation=part, season=1)
    ScenarioJob.objects.create(
        scenario=plan, boat=boat, installation=part, season=1, code="pinned", hours=3.5,
        reason="Moved here by hand.", cost_minor=80_000, put_off_minor=12_000, chance=0.1,
    )  # fmt: skip
    return plan

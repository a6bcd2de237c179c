"""What the forecast said, when, from what; and what follows from it for parts, boats and money."""

from .conditions import ConditionRun, FailingRate, LookInterval
from .money import BudgetFigure, PlanBasis, RefitJob, SummaryMail
from .outlooks import BoatOutlook, PartOutlook
from .questions import OfBoat, RunQuerySet
from .runs import BackTest, ForecastPractice, ModelRun
from .season_plans import SEASONS, ScenarioBase, ScenarioJob, ScenarioMove, SeasonScenario

__all__ = [
    "SEASONS",
    "BackTest",
    "BoatOutlook",
    "BudgetFigure",
    "ConditionRun",
    "FailingRate",
    "ForecastPractice",
    "LookInterval",
    "ModelRun",
    "OfBoat",
    "PartOutlook",
    "PlanBasis",
    "RefitJob",
    "RunQuerySet",
    "ScenarioBase",
    "ScenarioJob",
    "ScenarioMove",
    "SeasonScenario",
    "SummaryMail",
]

"""What the forecast said, when, from what; and what follows from it for parts, boats and money."""

from .accounts import (
    AccountsPolicy,
    BudgetVersion,
    Invoice,
    InvoiceShare,
    LifeReview,
    PayConsent,
    Proceeds,
)
from .ages import AgeGroup, LookCurve
from .conditions import ConditionRun, FailingRate, LookInterval
from .money import BudgetFigure, PlanBasis, RefitJob, SummaryMail
from .outlooks import BoatOutlook, PartOutlook
from .questions import OfBoat, RunQuerySet
from .reserve import (
    BudgetDraws,
    PartMoney,
    PolicyCost,
    ReservePlan,
    ReturnTerms,
)
from .runs import BackTest, ForecastPractice, ModelRun
from .season_plans import SEASONS, ScenarioBase, ScenarioJob, ScenarioMove, SeasonScenario
from .work_orders import SupplierOrder, WorkOrder, WorkOrderLine, WorkOrderStep
from .yard import LeadTime, YardBaseWeeks, YardBlock, YardPlan, YardVisit

__all__ = [
    "SEASONS",
    "AccountsPolicy",
    "AgeGroup",
    "BackTest",
    "BoatOutlook",
    "BudgetDraws",
    "BudgetFigure",
    "BudgetVersion",
    "ConditionRun",
    "FailingRate",
    "ForecastPractice",
    "Invoice",
    "InvoiceShare",
    "LeadTime",
    "LifeReview",
    "LookCurve",
    "LookInterval",
    "ModelRun",
    "OfBoat",
    "PartMoney",
    "PartOutlook",
    "PayConsent",
    "PlanBasis",
    "PolicyCost",
    "Proceeds",
    "RefitJob",
    "ReservePlan",
    "ReturnTerms",
    "RunQuerySet",
    "ScenarioBase",
    "ScenarioJob",
    "ScenarioMove",
    "SeasonScenario",
    "SummaryMail",
    "SupplierOrder",
    "WorkOrder",
    "WorkOrderLine",
    "WorkOrderStep",
    "YardBaseWeeks",
    "YardBlock",
    "YardPlan",
    "YardVisit",
]

"""The reserve of a fleet: what was decided of it, and what follows for the years to come."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

import numpy as np
from django.db.models import Q

from fleet.models import Fleet
from fleet.templatetags.wording import WHOLE_UNITS, about, about_figure, money, one_in, percent

from .. import charts, reads
from ..chart_titles import by_thumb, year_label
from ..models import BudgetDraws, ModelRun, PartMoney, ReservePlan, ReturnTerms
from ..planning import reserve

PLACES = Decimal("0.000001")
NOT_A_LIABILITY = (
    "A reserve is money laid aside by choice, no liability: nobody is obliged to renew a rig of "
    "their own before it is due (IAS 37, illustrative examples 11A and 11B)."
)
MAY_BE_ONE = (
    "A contract obliges you to give boats back in a stated condition: for the wear up to today "
    "that may be a provision under IAS 37, measured by the contract and agreed with your auditor. "
    "This schedule is a plan to lay money aside; it does not measure that provision."
)


@dataclass(frozen=True, eq=False)
class Reserve:
    """lines: the schedule on mean expenditure; level: the least level contribution for the chance;
    dry_by: chance of having run dry by each year end; closings: (D, Y) of the draws."""

    fleet: Fleet
    terms: ReturnTerms
    plan: ReservePlan
    lines: tuple[reserve.Line, ...]
    level: int
    dry_by: tuple[float, ...]
    closings: np.ndarray
    fully_funded: int
    parts: int
    parts_left_out: int

    @property
    def contribution(self) -> int:
        own = self.plan.contribution_minor
        return self.level if own is None else own

    @property
    def funded(self) -> float | None:
        """Return the balance today by the fully funded one; None where nothing is worn yet."""
        return self.plan.opening_minor / self.fully_funded if self.fully_funded else None

    @property
    def liability(self) -> str:
        return MAY_BE_ONE if self.terms.obliged == ReturnTerms.Obliged.YES else NOT_A_LIABILITY

    @property
    def answer(self) -> str:
        amount = about(self.contribution, self.fleet.currency)
        if not any(line.expenditure for line in self.lines):
            return "Nothing is forecast to be spent, so nothing needs to be put aside"
        return f"Put {amount} a year aside: the chance that the reserve runs dry is {self.dry}"

    @property
    def dry(self) -> str:
        """Return the chance of having run dry by the last year's end, in words."""
        return one_in(self.dry_by[-1]) if self.dry_by[-1] else "next to nothing"

    @cached_property
    def rows(self) -> list[dict]:
        """Return the lines with the chance of having run dry by each year's end."""
        return [
            {"line": line, "dry": dry} for line, dry in zip(self.lines, self.dry_by, strict=True)
        ]

    def totals(self) -> dict[str, int]:
        names = ("contribution", "interest", "expenditure")
        return {name: sum(getattr(line, name) for line in self.lines) for name in names}


def asked(fleet: Fleet) -> ReturnTerms | None:
    """Return the answer in force to who owns, who pays and what a contract obliges to."""
    return ReturnTerms.objects.of(fleet).first()


def plan_of(fleet: Fleet) -> ReservePlan:
    """Return how the reserve is kept; a plan not yet saved where nobody decided."""
    unsaved = ReservePlan(fleet=fleet, on=fleet.today(), payer=fleet.rigging_paid_by)
    return ReservePlan.objects.of(fleet).first() or unsaved


def reserve_of(fleet: Fleet) -> Reserve | None:
    """Return the reserve as it stands; None before the questions are answered, or a forecast."""
    terms, plan = asked(fleet), plan_of(fleet)
    behind = BudgetDraws.objects.of(fleet).filter(payer=plan.payer).first()
    if terms is None or not BudgetDraws.objects.of(fleet).exists():
        return None
    if behind is None:  # This party pays for no boat.
        behind = _nothing(BudgetDraws.objects.of(fleet).first())
    drawn = np.array(behind.draws, dtype=np.int64)
    kept = reserve.Terms(plan.opening_minor, _rates(plan, behind))
    level = reserve.level_contribution(kept, drawn, plan.chance)
    paid = level if plan.contribution_minor is None else plan.contribution_minor
    years = [year_label(year, fleet) for year in behind.years]
    lines = reserve.schedule(kept, years, [paid] * len(years), behind.mean)
    funded, parts, left_out = _fully_funded(fleet, plan.payer)
    return Reserve(
        fleet, terms, plan, lines, level, tuple(reserve.dry_by(kept, paid, drawn).tolist()),
        reserve.closings(kept, np.array([[paid]]), drawn), funded, parts, left_out,
    )  # fmt: skip


def _nothing(like: BudgetDraws) -> BudgetDraws:
    years = len(like.years)
    return BudgetDraws(years=like.years, first_length=like.first_length, mean=[0] * years,
                       draws=[[0] * years])  # fmt: skip


def _rates(plan: ReservePlan, behind: BudgetDraws) -> tuple[Decimal, ...]:
    """Return a year's interest for each year; for the first what is left until its end."""
    yearly = Decimal(plan.interest)
    first = (yearly * Decimal(str(behind.first_length))).quantize(PLACES)
    return (first, *[yearly.quantize(PLACES)] * (len(behind.years) - 1))


def _fully_funded(fleet: Fleet, payer: str) -> tuple[int, int, int]:
    """Return the fully funded balance, of how many parts, and how many have no age or end."""
    whose = Q(boat__paid_by=payer)
    if payer == fleet.rigging_paid_by:
        whose |= Q(boat__paid_by="")
    fields = ("cost_minor", "set_up_minor", "age", "remaining")
    in_fleet = Q(boat__joined__lte=fleet.today())
    rows = list(PartMoney.objects.of(fleet).filter(whose & in_fleet).values_list(*fields))
    if not rows:
        return 0, 0, 0
    found = np.array([[np.nan if cell is None else cell for cell in row] for row in rows])
    cost, age, remaining = found[:, 0] + found[:, 1], found[:, 2], found[:, 3]
    life = np.maximum(age + np.where(np.isnan(remaining), np.inf, remaining), 0.01)
    left_out = int((~np.isfinite(life)).sum())
    return reserve.fully_funded(cost, age, life), len(rows), left_out


def chart_rows(found: Reserve) -> list[dict]:
    """Return the balance at each year end, whole units: mean, and P10, P50, P90 of the draws."""
    scale = 1 if found.fleet.currency in WHOLE_UNITS else 100
    shares = np.percentile(found.closings, (10, 50, 90), axis=0) / scale
    return [
        {"year": line.year, "mean": line.closing / scale, "p10": low, "p50": middle, "p90": high}
        for line, low, middle, high in zip(found.lines, *shares.tolist(), strict=True)
    ]


def chart(found: Reserve) -> dict:
    """Return the chart for page and paper, hatched where it rests on a rule of thumb."""
    run = reads.wire_model(found.fleet)
    thumb = run is None or run.state == ModelRun.State.RULE_OF_THUMB
    title = by_thumb(chart_title(found), thumb)
    return charts.budget(chart_rows(found), found.fleet.currency, thumb, title)


def chart_title(found: Reserve) -> str:
    """Return what the reserve holds at the end, in four draws of five."""
    low, high = np.percentile(found.closings[:, -1], (10, 90)).round().astype(int).tolist()
    currency, end = found.fleet.currency, found.lines[-1].year
    low = 0 if abs(low) < high / 50 else low
    between = f"{about_figure(low, currency)} to " if low else "up to "
    return f"At the end of {end} the reserve will most likely hold {between}{about(high, currency)}"


def funded_words(found: Reserve) -> str:
    if found.funded is None:
        return "No part is worn yet, so nothing needs to be funded."
    have = money(found.plan.opening_minor, found.fleet.currency)
    full = money(found.fully_funded, found.fleet.currency)
    return (
        f"{percent(found.funded) if found.funded else '0%'} funded: {have} of {full}, the sum over "
        f"the parts of current cost times age over life."
    )

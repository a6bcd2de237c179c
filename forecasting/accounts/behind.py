"""What is behind the budget's totals: parts of a boat, who pays, other ways to keep the rigs."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fleet.models import Boat, Fleet
from fleet.models.fleets import Party
from fleet.templatetags.wording import about

from ..models import BudgetDraws, BudgetFigure, PartMoney, PolicyCost

SET_UP = "Mast down and up again"
Way = PolicyCost.Way


@dataclass(frozen=True)
class Behind:
    """A name and its means by year, minor units; part: of which it is, None for the set-ups."""

    name: str
    kind: str
    means: list[int]
    part: object = None

    @property
    def total(self) -> int:
        return sum(self.means)


def of_boat(boat: Boat) -> list[Behind]:
    """Return the parts behind a boat's budget, the dearest first, then its set-ups.

    They add to the boat's means to the cent; what comes after a part in its place counts with it.
    """
    figures = BudgetFigure.objects.filter(boat=boat).order_by("year")
    money = PartMoney.objects.filter(boat=boat).select_related("installation__stay")
    return _behind(list(figures.values_list("mean_minor", flat=True)), money)


def of_boats(fleet: Fleet, boats: Iterable[Boat]) -> Iterator[tuple[Boat, list[Behind]]]:
    """Yield the same for many boats, in their order; what it asks does not grow with them."""
    means, money = defaultdict(list), defaultdict(list)
    figures = BudgetFigure.objects.of(fleet).filter(boat__isnull=False).order_by("year")
    for boat, mean in figures.values_list("boat", "mean_minor"):
        means[boat].append(mean)
    for row in PartMoney.objects.of(fleet).select_related("installation__stay"):
        money[row.boat_id].append(row)
    for boat in boats:
        yield boat, _behind(means[boat.pk], money[boat.pk])


def _behind(means: list[int], money: Iterable[PartMoney]) -> list[Behind]:
    rows = [
        Behind(row.installation.stay.label, row.installation.kind, row.means, row.installation)
        for row in money
    ]
    if not rows:
        return []
    rows.sort(key=lambda row: (-row.total, row.part.pk))
    left = [mean - sum(row.means[y] for row in rows) for y, mean in enumerate(means)]
    return [*rows, Behind(SET_UP, "", left)]


def by_payer(fleet: Fleet) -> list[Behind]:
    """Return what each party pays of the fleet's means, in the order of ``Party``."""
    rows = {row.payer: row.mean for row in BudgetDraws.objects.of(fleet)}
    return [Behind(party.label, "", rows[party]) for party in Party if party in rows]


def ways(fleet: Fleet) -> list[PolicyCost]:
    return list(PolicyCost.objects.of(fleet))


def ways_words(fleet: Fleet, found: list[PolicyCost]) -> str:
    """Return what running on condition alone would save or cost, and do to failures."""
    by_way = {row.way: row for row in found}
    if Way.PLAN not in by_way or Way.CONDITION not in by_way:
        return ""
    plan, other = by_way[Way.PLAN], by_way[Way.CONDITION]
    saved = plan.mean_minor - other.mean_minor
    amount = about(abs(saved), fleet.currency)
    cost = f"{amount} {'less' if saved > 0 else 'more'}" if saved else "the same"
    return (
        f"On condition alone rigging costs {cost} over {len(plan.by_year)} years, and "
        f"{other.failures:.1f} stays are expected to fail in service, against "
        f"{plan.failures:.1f} as planned"
    )


def ways_note(found: list[PolicyCost]) -> str:
    """Return what the sums of the ways hold, and what they end before: the parts left standing."""
    if not found:
        return ""
    return (
        "Failures, late finds and masts coming down are in the cost. The sums end after "
        f"{len(found[0].by_year)} years: where parts are kept until condemned, older ones stand "
        "then, and what those go on to cost is not in them."
    )

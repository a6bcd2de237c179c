"""A boat moved by hand on the board, and what is said of it to whoever moved it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from fleet.templatetags.wording import day

from . import yard_board, yard_moves
from .models import YardPlan, YardVisit
from .yard_board import FREE, NOT_NOW

NOT_HERE = "That boat is not on this board. Work the weeks out anew, then move it."
NO_WEEK = "Choose one of the weeks of this board."


@dataclass(frozen=True)
class Answered:
    """What came of a move: a sentence, and the fields to send to put it back (none: nothing)."""

    said: str
    refused: bool = False
    back: dict = field(default_factory=dict)
    base: int | None = None


def moved_by_hand(plan: YardPlan, asked: Mapping[str, str], by) -> Answered:
    """Do what a form asks: keep a ``boat`` in a ``week``, keep it out, or set it free.

    week: its number, ``none`` for not in this off season, ``free`` for wherever the plan puts it;
    with ``let_go`` it goes to that week without being kept there.
    """
    visit = _visit(plan, asked.get("boat", ""))
    if visit is None:
        return Answered(NOT_HERE, refused=True)
    week = asked.get("week", "")
    if week not in (FREE, NOT_NOW) and not (week.isdecimal() and int(week) < plan.weeks):
        return Answered(NO_WEEK, refused=True, base=visit.base_id)
    back, before = _back(visit), plan.found.get("cost")
    if week == FREE:
        refused = yard_moves.let_go(plan, visit.boat)
        said = f"{visit.boat.name} is kept no more: its week is chosen anew with the others."
    else:
        refused, said = _moved(plan, visit, None if week == NOT_NOW else int(week), by)
        if asked.get("let_go") and not refused:
            yard_moves.let_go(plan, visit.boat)
            said, back = f"{visit.boat.name} is back where it was.", {}
    if refused:
        return Answered(refused, refused=True, base=visit.base_id)
    plan.refresh_from_db()
    change = yard_board.change_words(before, plan.found.get("cost"), plan.fleet.currency)
    return Answered(f"{said} {change}".strip(), back=back, base=visit.base_id)


def _moved(plan: YardPlan, visit: YardVisit, week: int | None, by) -> tuple[str, str]:
    """Return why it was refused, blank where it was not, and what is said of it."""
    moved = yard_moves.move(plan, visit.boat, week, by)
    name = visit.boat.name
    if week is None:
        return moved.refused, f"{name} is kept out of this off season. {moved.warning}".strip()
    monday = day(plan.monday(week))
    if moved.warning:
        return moved.refused, f"{name}, week of {monday}: {moved.warning}"
    return moved.refused, f"{name} is kept in the week of {monday}."


def _visit(plan: YardPlan, boat: str) -> YardVisit | None:
    if not boat.isdecimal():
        return None
    return plan.visits.select_related("boat__fleet").filter(boat=int(boat)).first()


def _back(visit: YardVisit) -> dict[str, str]:
    """Return what puts it back: its week by number, kept there only where it was kept before."""
    if visit.first_week is None and visit.must:
        return {}
    week = NOT_NOW if visit.first_week is None else f"{visit.first_week}"
    return {"week": week} if visit.kept_at else {"week": week, "let_go": "yes"}

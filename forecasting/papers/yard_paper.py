"""The board of the yard as a paper to pin up, drawn as its page is."""

from collections.abc import Iterator

from django.utils.text import capfirst

from fleet.templatetags.wording import day, exact_money

from .. import yard_board, yard_told
from ..models import YardPlan
from ..steps.wording import counted
from ..yard_board import Alongside, Board, Week
from .masthead import WORK, masthead
from .press import press
from .yard_rows import about_plan, block_words, kept_words

ABREAST = 11  # Weeks side by side on a sheet: two strips for an off season of half a year.
CLEARS = "A week on this board clears no boat: what is condemned does not sail until it is renewed."


def yard_paper(plan: YardPlan) -> bytes:
    """Return the PDF."""
    return press("yard", contents(plan), plan.fleet.today())


def contents(plan: YardPlan) -> dict:
    """Return what the paper says, as words, and the depths it draws."""
    boards = yard_board.boards(plan)
    said = f"{answer(plan, boards)} {about_plan(plan)}"
    return masthead(plan.fleet, f"The yard, {plan.season}", said) | {
        "cautions": [*WORK, CLEARS],
        "abreast": ABREAST,
        "bases": [of_base(board, plan) for board in boards],
        **yard_told.limits(plan),
    }


def answer(plan: YardPlan, boards: list[Board]) -> str:
    """Return how many boats have their week, what that costs and how close to the best it is."""
    if not plan.planned_at:
        return "No weeks are worked out yet."
    found = yard_board.answer(boards)
    weeks = counted(len(found.over), "week goes", "weeks go")
    over = f"{weeks} over a limit." if found.over else ""
    late = ", ".join(visit.boat.name for visit in found.late)
    late = f"Not ready before their guests: {late}." if late else ""
    return " ".join(filter(None, [f"{found.placed} of {found.boats} boats have their week.", over,
                                  late, yard_told.proof(plan)]))  # fmt: skip


def of_base(board: Board, plan: YardPlan) -> dict:
    boats = [a for week in board.weeks for a in week.boats] + board.without
    cost = exact_money(sum(a.cost_minor for a in boats), plan.fleet.currency)
    hours = yard_board.number(sum(a.visit.hours for a in boats))
    full = board.fullest
    weeks = [of_week(week, n) for n, week in enumerate(board.weeks)]
    return {
        "name": board.base.name,
        "answer": f"{board.placed} of {len(boats)} boats, {hours} h, jobs of {cost} "
                  f"{plan.fleet.currency}",
        "fullest": f"Fullest is the week of {day(full.at.monday)}: {full.used[0].words}."
                   if full else "",
        "strips": list(strips(weeks)),
        "without": [[a.visit.boat.name, a.visit.why or "no week within the limits."]
                    for a in board.without],
    }  # fmt: skip


def strips(weeks: list[dict]) -> Iterator[list[dict]]:
    """Yield the weeks as many abreast as a sheet takes."""
    for first in range(0, len(weeks), ABREAST):
        yield weeks[first : first + ABREAST]


def of_week(week: Week, place: int) -> dict:
    monday = week.at.monday
    lines = [{"words": each.words, "over": each.over} for each in week.used]
    if week.idle:
        lines = [{"words": week.used[0].free, "over": False}]
    booked = [f"Booked: {week.away_words}"] if week.away else []
    return {
        "monday": f"{monday.day} {monday:%b}",
        "year": f"{monday.year}" if place % ABREAST == 0 or (monday.month == 1 and monday.day < 8)
                else "",
        "depth": week.water.depth, "draught": week.water.draught, "aground": week.water.aground,
        "used": lines, "taken": [capfirst(block_words(block)) for block in week.at.blocks],
        "boats": [of_boat(a) for a in week.boats], "quiet": booked,
        "stay": [[visit.boat.name, visit.mast_down] for visit in week.stay],
    }  # fmt: skip


def of_boat(a: Alongside) -> dict:
    visit, kept = a.visit, kept_words(a)
    words = [f"{yard_board.number(visit.hours)} h"]
    words += ["mast down"] if visit.mast_down else []
    words += [f"{visit.weeks} weeks"] if visit.weeks > 1 else []
    words += [f"kept by {kept}"] if kept else []
    asks = ["cannot wait"] if visit.must else []
    asks += ["late for its guests"] if visit.late else []
    return {
        "name": visit.boat.name, "words": ", ".join(words), "asks": asks,
        "down": visit.mast_down, "must": visit.must,
    }  # fmt: skip

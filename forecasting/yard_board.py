"""The board of an off season as its page draws it: water, what each week means for a boat, words.

A week is drawn as water, as deep as there are riggers' hours; the work in it is its draught.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from fleet.templatetags.wording import about, day, money

from . import yard_reads
from .models import YardPlan, YardVisit
from .yard_reads import BaseBoard, WeekAtBase

DEEP = 40.0  # Depth of the deepest water of a base, in units of the drawing.
NAMES = {"hours": ("h", "h"), "masts": ("mast", "masts"), "berths": ("berth", "berths")}
MOST_AWAY = 2  # Names of boats away that a week has room for.
FREE, NOT_NOW = "free", "none"  # In place of a week: wherever the plan puts it; in none.
DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Used:
    """What of one kind a week uses and has, as a line of words; ``by``: how much it is over."""

    kind: str
    used: float
    has: float | None

    @property
    def by(self) -> float:
        return max(0.0, self.used - self.has) if self.has is not None else 0.0

    @property
    def over(self) -> bool:
        return self.by > 1e-6

    @property
    def words(self) -> str:
        if not self.used and self.has == 0:
            return "no hours" if self.kind == "hours" else f"no {NAMES[self.kind][1]}"
        over = f", {number(self.by)} over" if self.over else ""
        if self.has is None:
            return f"{counted(self.used, self.kind)}{over}"
        return f"{number(self.used)} of {counted(self.has, self.kind)}{over}"

    @property
    def free(self) -> str:
        """Return what a week nobody stands in has, in words."""
        return "free" if self.has is None else f"free, {counted(self.has, self.kind)}"


@dataclass(frozen=True)
class Water:
    """Depth and draught in units of the drawing, from the surface down; no depth: no limit."""

    depth: float | None
    draught: float

    @property
    def ground(self) -> float:
        return DEEP - (self.depth or 0)

    @property
    def aground(self) -> bool:
        return self.depth is not None and self.draught > self.depth + 1e-6


@dataclass(frozen=True)
class Choice:
    """One week a boat could be moved to, with what speaks against it in few words."""

    number: int
    monday: dt.date
    against: str
    here: bool


@dataclass
class Alongside:
    """A visit as it stands on the board: its jobs, its bookings, and where else it could go."""

    visit: YardVisit
    jobs: list = field(default_factory=list)
    bookings: list = field(default_factory=list)
    weeks: Sequence[WeekAtBase] = ()

    @cached_property
    def choices(self) -> list[Choice]:
        return choices(self.visit, self.weeks, self.bookings)

    @property
    def monday(self) -> dt.date | None:
        return None if self.visit.first_week is None else visit_days(self.visit)[0]

    @property
    def last_day(self) -> dt.date | None:
        """Return the Friday of its last week."""
        return None if self.visit.first_week is None else visit_days(self.visit)[1]

    @property
    def parts(self) -> int:
        return sum(job.installation_id is not None for job in self.jobs)

    @property
    def cost_minor(self) -> int:
        return sum(job.cost_minor for job in self.jobs)


@dataclass
class Week:
    """A week of a base with its water, its lines and its boats; ``stay``: boats begun before."""

    at: WeekAtBase
    water: Water
    used: list[Used]
    boats: list[Alongside]
    stay: list[YardVisit]
    away: list[str]

    @property
    def over(self) -> list[Used]:
        return [each for each in self.used if each.over]

    @property
    def idle(self) -> bool:
        return not (self.boats or self.stay or self.at.blocks)

    @property
    def away_words(self) -> str:
        """Return which boats of the board are booked in it, the first few by name."""
        more = len(self.away) - MOST_AWAY
        names = self.away if more <= 1 else [*self.away[:MOST_AWAY], f"{more} more"]
        return ", ".join(names)


@dataclass
class Board:
    """One base: its weeks, its boats without a week, and what its fullest week is in words."""

    base: object
    weeks: list[Week]
    without: list[Alongside]

    @property
    def placed(self) -> int:
        return sum(len(week.boats) for week in self.weeks)

    @property
    def over(self) -> list[Week]:
        return [week for week in self.weeks if week.over]

    @property
    def fullest(self) -> Week | None:
        """Return the week with the largest share of its hours used, if hours are limited."""
        limited = [week for week in self.weeks if week.at.has_hours and week.at.hours]
        return max(limited, key=lambda week: week.at.hours / week.at.has_hours, default=None)


def boards(plan: YardPlan, base: int | None = None) -> list[Board]:
    """Return the board of every base, or of one alone."""
    jobs: dict[int, list] = defaultdict(list)
    for job in yard_reads.jobs(plan):
        jobs[job.boat_id].append(job)
    found = yard_reads.by_base_and_week(plan)
    return [_board(plan, each, jobs) for each in found if base in (None, each.base.pk)]


def _board(plan: YardPlan, found: BaseBoard, jobs: dict[int, list]) -> Board:
    booked: dict[int, dict[int, object]] = defaultdict(dict)
    for week in found.weeks:
        for booking in week.bookings:
            booked[booking.boat_id][booking.pk] = booking

    def alongside(visit: YardVisit) -> Alongside:
        visit.plan = plan
        spans = sorted(booked[visit.boat_id].values(), key=lambda each: each.first)
        return Alongside(visit, jobs[visit.boat_id], spans, found.weeks)

    deepest = max((max(week.hours, week.has_hours or 0) for week in found.weeks), default=0)
    weeks = [_week(week, deepest, alongside) for week in found.weeks]
    return Board(found.base, weeks, [alongside(visit) for visit in found.unplaced])


def _week(week: WeekAtBase, deepest: float, alongside) -> Week:
    begun = {visit.pk for visit in week.begun}
    return Week(
        week,
        water(week.hours, week.has_hours, deepest),
        uses(week),
        [alongside(visit) for visit in week.begun],
        [visit for visit in week.visits if visit.pk not in begun],
        sorted({booking.boat.name for booking in week.bookings}),
    )


def water(hours: float, has: float | None, deepest: float) -> Water:
    """Return depth and draught for a drawing in which the deepest of the base is ``DEEP``."""
    scale = DEEP / deepest if deepest else 0.0
    return Water(None if has is None else round(has * scale, 2), round(hours * scale, 2))


def uses(week: WeekAtBase) -> list[Used]:
    """Return a line for hours always, for masts and berths where used."""
    lines = [Used(kind, getattr(week, kind), getattr(week, f"has_{kind}")) for kind in NAMES]
    return [each for each in lines if each.kind == "hours" or each.used]


def choices(visit: YardVisit, weeks: Sequence[WeekAtBase], bookings: Iterable) -> list[Choice]:
    """Return every week of the base in which the visit could begin."""
    by_number = {week.number: week for week in weeks}
    found = []
    for week in weeks:
        stands = [by_number.get(week.number + k) for k in range(visit.weeks)]
        if None in stands:
            break
        found.append(
            Choice(week.number, week.monday, against(visit, stands, bookings),
                   week.number == visit.first_week)
        )  # fmt: skip
    return found


def against(visit: YardVisit, stands: Sequence[WeekAtBase], bookings: Iterable) -> str:
    """Return what speaks against standing in these weeks, few words each; blank where nothing."""
    monday, last = stands[0].monday, stands[-1].friday
    said = [
        f"booked {day(each.first)} to {day(each.last)}"
        for each in bookings
        if each.first <= last and each.last >= monday
    ]
    if visit.parts_ready and visit.parts_ready > monday:
        said.append(f"parts here {day(visit.parts_ready)}")
    if any(week.days == 0 for week in stands):
        return ", ".join([*said, "the yard is shut"])
    for k, week in enumerate(stands):
        said += [_over(week, kind, more) for kind, more in _adds(visit, week, k == 0).items()]
    return ", ".join(dict.fromkeys(filter(None, said)))


def _adds(visit: YardVisit, week: WeekAtBase, first: bool) -> dict[str, float]:
    """Return what the visit would use of a week beside what is counted there already."""
    stands = week.number not in visit.stands_in
    begins = first and week.number != visit.first_week
    return {
        "hours": visit.hours / visit.weeks * stands,
        "masts": visit.mast_down * begins,
        "berths": visit.mast_down * stands,
    }


def _over(week: WeekAtBase, kind: str, more: float) -> str:
    has = getattr(week, f"has_{kind}")
    by = getattr(week, kind) + more - has if has is not None else 0.0
    return f"{counted(by, kind)} over" if by > 1e-6 else ""


def number(value: float) -> str:
    """Return hours and counts with at most one decimal, and only where there is one."""
    return f"{value:,.1f}".removesuffix(".0")


def counted(value: float, kind: str) -> str:
    """Return a number of hours, masts or berths with its word."""
    one, many = NAMES[kind]
    return f"{number(value)} {one if number(value) == '1' else many}"


@dataclass(frozen=True)
class Answer:
    """The page's first sentences, in numbers."""

    boats: int
    placed: int
    over: list[tuple[Board, Week]]
    late: list[YardVisit]

    @property
    def without(self) -> int:
        return self.boats - self.placed


def answer(found: Sequence[Board]) -> Answer:
    placed = sum(board.placed for board in found)
    without = sum(len(board.without) for board in found)
    late = [a.visit for board in found for week in board.weeks for a in week.boats if a.visit.late]
    over = [(board, week) for board in found for week in board.over]
    return Answer(placed + without, placed, over, late)


def change_words(before: int | None, after: int | None, currency: str) -> str:
    """Return what a move does to the expected cost of the plan, in a sentence."""
    if before is None or after is None:
        return ""
    much = about(abs(after - before), currency)
    if much == money(0, currency):
        return "Waiting costs the same."
    return f"{much} {'dearer' if after > before else 'cheaper'} than before."


def visit_days(visit: YardVisit) -> tuple[dt.date, dt.date]:
    """Return the Monday it comes in and the Friday it leaves."""
    plan, first = visit.plan, visit.first_week
    return plan.monday(first), plan.monday(first + visit.weeks - 1) + 4 * DAY

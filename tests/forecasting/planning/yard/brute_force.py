"""Small yards, and every plan of them tried: the rules written once more, in plain loops."""

from dataclasses import dataclass, replace

import numpy as np

from forecasting.planning.yard import OUT, Left, Work, Yard

KINDS = ("hours", "masts", "berths")
# What can keep a boat from its best week; each must do so in many of the small yards.
CAUSES = (*KINDS, "parts", "guests", "contractor", "shut", "new season", "by hand")


def small_yard(seed: int) -> Yard:
    """Return a base of 3 to 5 boats, 6 or 7 weeks; whole hours: nothing is nearly full."""
    rng = np.random.default_rng(seed)
    weeks = int(rng.integers(6, 8))
    works = tuple(_work(rng, boat, weeks) for boat in range(int(rng.integers(3, 6))))
    hours = rng.integers(14, 36, weeks).astype(float)
    masts = rng.integers(0, 4, weeks).astype(float)
    berths = rng.integers(1, 3, weeks).astype(float)
    days = np.where(rng.random(weeks) < 0.12, 0, 5)
    for kind in (hours, masts, berths):
        if rng.random() < 0.2:
            kind[:] = np.inf
    return Yard(7, 0, weeks, Left(hours, masts, berths, days), works)


def _work(rng, boat: int, weeks: int) -> Work:
    length = int(rng.integers(1, 3))
    booked = frozenset(np.flatnonzero(rng.random(weeks) < 0.13).tolist())
    return Work(
        boat=100 + boat,
        hours=float(rng.integers(4, 15) * length),
        weeks=length,
        mast_down=bool(rng.random() < 0.6),
        must=bool(rng.random() < 0.25),
        week_cost=float(rng.integers(1, 40) * 10),
        ready=int(rng.integers(0, 3)),
        guests=booked,
        contractor=frozenset(np.flatnonzero(rng.random(weeks) < 0.12).tolist()),
        before=int(rng.integers(3, weeks)) if rng.random() < 0.65 else None,
        kept=int(rng.integers(OUT, weeks - length + 1)) if rng.random() < 0.15 else None,
    )


def without(yard: Yard, cause: str) -> Yard:
    """Return the same yard where that does not limit anything."""
    free = np.full(yard.left.days.size, np.inf)
    if cause in KINDS:
        return replace(yard, left=replace(yard.left, **{cause: free}))
    if cause == "shut":
        return replace(yard, left=replace(yard.left, days=np.full(free.size, 5)))
    nothing = {
        "parts": {"ready": 0}, "guests": {"guests": frozenset()}, "by hand": {"kept": None},
        "contractor": {"contractor": frozenset()}, "new season": {"before": None},
    }[cause]  # fmt: skip
    return replace(yard, works=tuple(replace(work, **nothing) for work in yard.works))


@dataclass
class EveryPlan:
    """Every choice of weeks: opening, late, held and cost of each; its weeks (n, B)."""

    yard: Yard

    def __post_init__(self) -> None:
        self.weeks_of = [begin_weeks(self.yard, work) for work in self.yard.works]
        self.boats = [b for b, weeks in enumerate(self.weeks_of) if weeks]
        chosen = [self.weeks_of[b] for b in self.boats]
        grid = np.meshgrid(*chosen, indexing="ij") if chosen else []
        self.weeks = np.column_stack([g.ravel() for g in grid]) if chosen else np.zeros((1, 0), int)
        count, span = len(self.weeks), self.yard.left.days.size
        self.used = {kind: np.zeros((count, span)) for kind in KINDS}
        self.late, self.held, self.cost = np.zeros(count), np.zeros(count), np.zeros(count)
        for column, b in enumerate(self.boats):
            for week in self.weeks_of[b]:
                self._add(self.weeks[:, column] == week, b, week)
        self.opening = self.opening_over(self.yard.left)

    def _add(self, rows: np.ndarray, b: int, week: int) -> None:
        work = self.yard.works[b]
        stands = range(week, week + work.weeks)
        for w in stands:
            self.used["hours"][rows, w] += work.hours / work.weeks
            self.used["berths"][rows, w] += work.mast_down
        self.used["masts"][rows, week] += work.mast_down
        for w in range(stands.stop):
            booked = w in work.guests
            self.cost[rows] += work.week_cost * (1.0 if booked else 0.1)
            if work.must:
                self.held[rows] += 2 if booked else 1
        before = 99 if work.before is None else work.before
        could = any(w + work.weeks <= before for w in self.weeks_of[b])
        if could and work.kept is None and stands.stop > before:
            self.late[rows] += 1

    def opening_over(self, left: Left) -> np.ndarray:
        found = np.zeros(len(self.weeks))
        for kind in KINDS:
            over = np.maximum(self.used[kind] - getattr(left, kind), 0)
            found += getattr(self.yard.prices, kind) * np.where(over > 1e-6, over, 0).sum(axis=1)
        return found

    def best(self, left: Left | None = None) -> tuple[float, float, float, float]:
        """Return opening, late, held weeks and cost of the best plan; within `left` if given."""
        opening = self.opening if left is None else self.opening_over(left)
        kept = opening <= opening.min() + 1e-6
        found = [round(opening.min(), 6)]
        for counted in (self.late, self.held, self.cost):
            least = counted[kept].min()
            kept = kept & (counted <= least + 1e-9)
            found.append(round(least, 6))
        return tuple(found)

    def opening_in_time(self) -> float:
        """Return the cheapest opening for a plan in which nobody is late who need not be."""
        return float(self.opening[self.late == 0].min())


def begin_weeks(yard: Yard, work: Work) -> list[int]:
    if work.kept is not None:
        return [] if work.kept == OUT else [work.kept]
    found = []
    for week in range(yard.opens, yard.closes - work.weeks + 1):
        stands = set(range(week, week + work.weeks))
        shut = any(yard.left.days[w] == 0 for w in stands)
        away = not work.must and stands & work.guests
        if week >= work.ready and not shut and not away and not stands & work.contractor:
            found.append(week)
    return found

"""How long the planner of weeks takes for one base, to a proven gap of 0.2 %.

200 boats at one base and 26 weeks, 40 % with the mast down, 7 % held, bookings, lead times, 60 %
with guests in spring; hours, masts and berths at 130, 110 and 102 % of what all work takes.

    python -m tests.benchmarks yard [BOATS...]
"""

import os
import sys
import time

import numpy as np

from forecasting.planning.yard import GAP, Left, Work, Yard, plan_yard

WEEKS = 26
ROOM = {1.3: 10.0, 1.1: 10.0, 1.02: None}  # share of what is needed: bar in seconds


def yard_of(boats: int, room: float, seed: int = 1) -> Yard:
    rng = np.random.default_rng(seed)
    works = tuple(_work(rng, boat) for boat in range(boats))
    needed = (
        sum(work.hours for work in works),
        sum(work.mast_down for work in works),
        sum(work.mast_down * work.weeks for work in works),
    )
    limits = (np.full(WEEKS, np.ceil(each / WEEKS * room)) for each in needed)
    return Yard(0, 0, WEEKS, Left(*limits, np.full(WEEKS, 5)), works)


def _work(rng, boat: int) -> Work:
    hours = float(rng.choice([3.5, 7, 14, 21, 28, 42, 56]))
    booked = {int(week) + n for week in rng.choice(WEEKS, rng.integers(0, 3)) for n in (0, 1)}
    return Work(
        boat, hours, weeks=int(np.ceil(hours / 40)), mast_down=bool(rng.random() < 0.4),
        must=bool(rng.random() < 0.07), week_cost=float(rng.integers(1, 2000)),
        ready=int(rng.integers(0, 6)), guests=frozenset(w for w in booked if w < WEEKS),
        before=int(WEEKS - rng.integers(0, 4)) if rng.random() < 0.6 else None,
    )  # fmt: skip


def measure(boats: int, room: float, bar: float | None) -> bool:
    """Plan, print time and gap, and return whether the bar is kept."""
    yard = yard_of(boats, room)
    began, used = time.perf_counter(), time.process_time()
    answer = plan_yard(yard)
    took, cpu = time.perf_counter() - began, time.process_time() - used
    print(
        f"yard: {boats} boats, one base, {WEEKS} weeks, limits at {100 * room:.0f} % of the work: "
        f"{took:.1f} s{f' (bar {bar:.0f} s)' if bar else ''}, {cpu:.1f} s of processor time, gap "
        f"{100 * answer.gap:.2f} %, load {os.getloadavg()[0]:.1f}"
    )
    return bar is None or (cpu <= bar and answer.gap <= GAP and answer.feasible)


def main(arguments: list[str] | None = None) -> int:
    """Measure the sizes asked for, 200 boats if none; 0 if every bar is kept."""
    sizes = [int(size) for size in arguments or []] or [200]
    kept = [measure(size, room, bar) for size in sizes for room, bar in ROOM.items()]
    return 0 if all(kept) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

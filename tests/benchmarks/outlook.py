"""How long the outlook of 120,000 stays takes, once fitted, against the plain way of computing it.

10,000 boats of twelve wires, three spots each: known ages from new to 25 years, spots seen good at
their own dates or never, grounds, miles, rod and charter mixed. 208 draws, boats that differ, a
record behind every second boat's effect.

    python -m tests.benchmarks.outlook
"""

import resource
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import numpy as np

from forecasting.planning.lifetimes import LifeDraws, draw_lives
from forecasting.planning.outlook import BOUNDS, REMAINING_SHARES, outlook_of
from forecasting.planning.spots import LEVELS, Standing
from forecasting.survival import rule_of_thumb
from forecasting.survival.model import log_survival

BOATS, WIRES, DRAWS, SEED = 10_000, 12, 208, 7
HORIZONS = (0.0, 0.4, 1.0, 2.0, 3.0, 5.0)
INSPECTIONS = {"deck": 0.3, "aloft": 0.6, "mast_down": 2.0}
PLAIN_BOATS = 500  # the plain way is timed on these and scaled up: it takes minutes on all
BAR = 5.0  # seconds
T = TypeVar("T")


def fleet(boats: int = BOATS, seed: int = SEED) -> Standing:
    """Wires of three spots, of known and mixed ages."""
    rng = np.random.default_rng(seed)
    parts = boats * WIRES
    part, boat = np.repeat(np.arange(parts), 3), np.repeat(np.arange(boats), 3 * WIRES)
    spot = np.tile(np.arange(3), parts)
    age = np.repeat(rng.uniform(0, 25, parts), 3)
    deck, aloft = rng.uniform(0, 0.7, parts), rng.uniform(0, 3, parts)
    since = np.column_stack((np.minimum(deck, aloft), aloft, aloft)).ravel()
    since = np.where((since > age) | (rng.random(3 * parts) < 0.05), age, since)
    foil = np.repeat(rng.random(parts) < 1 / WIRES, 3)
    per_boat = [rng.integers(-2, 3, boats), rng.normal(0, 1, boats), rng.random(boats) < 0.5]
    severity, miles, charter = (np.repeat(values, 3 * WIRES) for values in per_boat)
    rod = np.repeat(rng.random(parts) < 0.1, 3)
    X = (spot == 1, spot == 2, severity, miles, rod, 0 * rod, rng.random(parts).repeat(3), charter)
    names = ("run", "upper", "severity", "log2_miles", "rod", "mechanical", "unstepped", "charter")
    below = spot == 0
    return Standing(
        part, boat, boat % 7, np.full(part.size, "wire"), age, since, np.zeros(part.size),
        np.column_stack(X), names,
        dict(zip(LEVELS, (below, below | ~foil, np.ones(part.size)), strict=True)),
        np.repeat(rng.random(parts) < 0.002, 3),
    )  # fmt: skip


def draws(boats: int = BOATS) -> LifeDraws:
    """Draws of a wire's life among boats that differ by x/÷ 1.2; half of them with a record."""
    life = draw_lives({"wire": rule_of_thumb(kind="wire")}, DRAWS, SEED)["wire"]
    rng = np.random.default_rng(SEED)
    spread = np.log(1.2) * np.exp(rng.normal(0, 0.2, DRAWS))
    known = np.arange(0, boats, 2)
    effects = 0.5 * spread * rng.standard_normal((known.size, DRAWS))
    stranger = rng.standard_normal(DRAWS)
    return replace(life, spread=spread, stranger=stranger, boats=known, effects=effects)


def plainly(life: LifeDraws, standing: Standing) -> np.ndarray:
    """The same chances, one horizon after the other in double precision: (mean, low, high).

    Every spot's log survival is evaluated anew at each horizon and level, as one reads it in the
    formula; what remains of life by stepping a year at a time.
    """
    starts, boats, apart = standing.part_starts, standing.boat_starts, standing.condemned_parts
    location = life.location(standing)

    def log_s(age: np.ndarray) -> np.ndarray:
        return log_survival(life.family, age[:, None], location, life.sigma)

    at_sight = log_s(standing.good_age(standing.age, slice(None)))
    looks = [(h, np.ones(standing.part.size, dtype=bool)) for h in HORIZONS]
    looks += [(when, standing.seen_by[level]) for level, when in INSPECTIONS.items()]
    found = []
    for ahead, counted in looks:
        fallen = np.where(counted[:, None], log_s(standing.age + ahead) - at_sight, 0.0)
        part = np.exp(np.add.reduceat(fallen, starts))
        boat = np.multiply.reduceat(np.where(apart[:, None], 1.0, part), boats)
        found.append((summarised(1 - part), summarised(1 - boat)))
    for _ in REMAINING_SHARES:
        for years in range(8):  # a search of eight steps, each an evaluation of the curve
            np.exp(np.add.reduceat(log_s(standing.age + years) - at_sight, starts)).mean(axis=1)
    return np.stack([part for part, _ in found], axis=-1)


def summarised(chance: np.ndarray) -> np.ndarray:
    low, high = np.percentile(chance, [100 * b for b in BOUNDS], axis=1)
    return np.stack((chance.mean(axis=1), low, high))


def timed(work: Callable[[], T]) -> tuple[float, float, T]:
    """(seconds, seconds of processor time, answer)."""
    start, used = time.perf_counter(), time.process_time()
    answer = work()
    return time.perf_counter() - start, time.process_time() - used, answer


def main() -> int:
    """Time both, print the ratio, and return 0 if the bar is kept."""
    life, small = draws(), fleet(PLAIN_BOATS)
    plain, plain_cpu, expected = timed(lambda: plainly(life, small))
    scale = BOATS / PLAIN_BOATS
    standing = fleet()
    ours = {"horizons": HORIZONS, "inspections": INSPECTIONS}
    took, cpu, found = timed(lambda: outlook_of({"wire": life}, standing, **ours))
    quick = outlook_of({"wire": life}, small, **ours, dtype=np.float32).part_condemned
    apart = np.abs(np.stack((quick.mean, quick.low, quick.high)) - expected[..., : len(HORIZONS)])
    apart = apart[:, ~small.condemned_parts].max()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"outlook: {found.parts.size:,} stays on {found.boats.size:,} boats, {DRAWS} draws, "
        f"{len(HORIZONS)} dates, {len(INSPECTIONS)} inspections, remaining life\n"
        f"  this way   {took:8.2f} s (bar {BAR:.0f} s), {cpu:.2f} s of processor time, "
        f"peak memory of the run {memory:,.0f} MB\n"
        f"  plain way  {plain * scale:8.2f} s, {plain_cpu * scale:.2f} s of processor time: double "
        f"precision, one date after the other; from {PLAIN_BOATS} boats, scaled up\n"
        f"  processor time 1 : {plain_cpu * scale / cpu:.0f}; "
        f"largest difference of any chance {apart:.1e}"
    )
    return 0 if took <= BAR else 1


if __name__ == "__main__":
    sys.exit(main())

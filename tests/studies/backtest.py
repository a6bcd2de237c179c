"""Would a back-test find a wrong reading out, and do its intervals hold? Seeds 1 to n.

    python -m tests.studies backtest [ratios|rarely|counts] [--fleets N] [--processes P]

ratios  fleets of 250 boats, each reading fitted as of several days and set against every look of
        the two years that follow: observed over expected
rarely  the same where boats are looked at only every two years, all of the wire at once: what is
        found late is then found two years late, and to read it as of that day costs most
counts  200 fleets of 60 and of 20 boats: 90 % intervals of the next year's count, by the model
        their deaths allow, boats alike and boats that differ by .2
Each ends with a line PASS or FAIL against the bars of the method, and exit code 1 if any failed.
"""

import argparse
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from forecasting.survival import COMMON_PRACTICE, LifeModel, fit, model_by_deaths
from forecasting.survival.back_test import Predicted, Record, Trials, predict, tally

from .fleets import READINGS, World, lives, sail, trials

ORIGINS = (-6.0, -4.0, -2.0)
AFTER = 2.0
BARS = {
    "right": (0.93, 1.07),
    "found on the day, alive today": (1.1, np.inf),
    "truncation ignored": (1.2, np.inf),
    "age renewals as deaths": (0.0, 0.75),
}
BARS_RARELY = {"right": (0.93, 1.07), "found on the day, alive today": (1.2, np.inf)}
COVER_BARS = {60: (0.85, 0.97), 20: (0.82, 1.0)}
NO_SPOTS = {"whole sights only", "deck check as whole sight"}  # one row a wire
SPREAD = 0.2


@dataclass(frozen=True)
class Case:
    """One simulated fleet and how it is read."""

    seed: int
    boats: int = 250
    reading: str = "right"
    spread: float = 0.0
    rarely: bool = False

    @property
    def world(self) -> World:
        deck = 2.0 if self.rarely else World.deck_every
        return World(boats=self.boats, spread=self.spread, deck_every=deck)


@dataclass(frozen=True)
class Ratio:
    """What one fleet's looks found, what was expected, and z clustered by boat and plain."""

    observed: float
    expected: float
    z: float
    plain_z: float


def ratio(case: Case) -> Ratio | None:
    """All origins of one fleet together; None where no origin could be fitted."""
    log = sail(case.world, case.seed)
    found = [_window(log, case, origin) for origin in ORIGINS]
    found = [each for each in found if each is not None]
    if not found:
        return None
    whole = Trials.together([each[0] for each in found])
    told = Predicted.together([each[1] for each in found])
    sums, chance = tally(whole, told.chance, told.doubt), told.chance
    plain = np.sqrt((chance * (1 - chance)).sum())
    return Ratio(sums.observed, sums.expected, sums.z, (sums.observed - sums.expected) / plain)


def _window(log, case: Case, origin: float):
    model = fit(lives(log, READINGS[case.reading], as_of=origin))
    if not isinstance(model, LifeModel):
        return None
    looks = trials(log, origin, origin + AFTER)
    return looks, predict(model, looks, draws=50, seed=case.seed)


@dataclass(frozen=True)
class Count:
    """One year's count, and whether the 90 % interval held it: with draws, and plugged in."""

    observed: float
    expected: float
    held: bool
    plugged: bool
    deaths: float


def count(case: Case) -> Count | None:
    """The next year of one fleet, foretold from a day that differs by seed."""
    log = sail(case.world, case.seed)
    origin = -1.0 - case.seed % 4
    known = lives(log, as_of=origin)
    model = model_by_deaths(known, COMMON_PRACTICE["wire"], seed=case.seed).outcome
    if not isinstance(model, LifeModel):
        return None
    looks = trials(log, origin, origin + 1)
    shown = log.boat[np.repeat(np.flatnonzero(log.fitted <= origin), 3)]
    told = predict(model, looks, Record(known, shown), draws=300, seed=case.seed)
    low, high = told.interval()
    seen = float(looks.outcome.sum())
    fixed = (told.chance * (1 - told.chance)).sum()
    plugged = abs(seen - told.chance.sum()) <= 1.645 * np.sqrt(fixed) + 0.5
    return Count(seen, float(told.chance.sum()), low <= seen <= high, bool(plugged), model.deaths)


# -- the studies


def ratios(fleets: int, workers: int) -> bool:
    _head(fleets, "half-yearly deck checks, aloft every two years")
    good = True
    for name, bar in BARS.items():
        good &= _reading(name, bar, fleets, workers)
    for name in READINGS:
        if name not in NO_SPOTS | BARS.keys():
            _reading(name, None, fleets, workers)
    differ = _all(ratio, [Case(seed, spread=SPREAD) for seed in range(1, fleets + 1)], workers)
    plain = np.mean([abs(e.plain_z) > 1.96 for e in differ])
    clustered = np.mean([abs(e.z) > 1.96 for e in differ])
    print(f"boats differ by {SPREAD}: |z| > 1.96 plain {plain:.2f}, clustered {clustered:.2f}")
    return good


def rarely(fleets: int, workers: int) -> bool:
    _head(fleets, "looked at every two years only")
    good = True
    for name, bar in BARS_RARELY.items():
        good &= _reading(name, bar, fleets, workers, rarely=True)
    return good


def _head(fleets: int, kept: str) -> None:
    print(f"{fleets} fleets of 250 boats, seeds 1 to {fleets}, {len(ORIGINS)} days each; {kept}")
    print(f"{'reading':<32}{'observed':>10}{'expected':>10}{'O/E':>7}{'sd':>7}{'|z|>1.96':>10}")


def _reading(
    name: str, bar: tuple[float, float] | None, fleets: int, workers: int, rarely: bool = False
) -> bool:
    cases = [Case(seed, reading=name, rarely=rarely) for seed in range(1, fleets + 1)]
    found = _all(ratio, cases, workers)
    observed, expected = sum(e.observed for e in found), sum(e.expected for e in found)
    each = np.array([e.observed / e.expected for e in found])
    rejects = np.mean([abs(e.z) > 1.96 for e in found])
    print(f"{name:<32}{observed:>10,.0f}{expected:>10,.0f}{observed / expected:>7.3f}"
          f"{each.std(ddof=1):>7.3f}{rejects:>10.2f}", flush=True)  # fmt: skip
    if bar is None:
        return True
    return _said(bar[0] <= observed / expected <= bar[1], f"between {bar[0]:g} and {bar[1]:g}")


def counts(fleets: int, workers: int) -> bool:
    good = True
    for spread in (0.0, SPREAD):
        for boats, (low, high) in COVER_BARS.items():
            cases = [Case(seed, boats, spread=spread) for seed in range(1, fleets + 1)]
            found = _all(count, cases, workers)
            held = np.mean([each.held for each in found])
            plugged = np.mean([each.plugged for each in found])
            print(f"{len(found)} fleets of {boats} boats, spread {spread:g}: expected "
                  f"{np.mean([e.expected for e in found]):.1f} a year, from "
                  f"{np.mean([e.deaths for e in found]):.0f} on record; 90 % intervals hold "
                  f"{held:.3f} (by the mean alone {plugged:.3f})", flush=True)  # fmt: skip
            good &= _said(low <= held <= high, f"between {low:g} and {high:g}")
    return good


def _all(what: Callable, cases: list[Case], workers: int) -> list:
    if workers == 1:
        found: Iterable = map(what, cases)
        return [each for each in found if each is not None]
    with ProcessPoolExecutor(workers) as pool:
        return [each for each in pool.map(what, cases, chunksize=2) if each is not None]


def _said(passed: bool, bar: str) -> bool:
    print(f"    {'PASS' if passed else 'FAIL'}: {bar}", flush=True)
    return passed


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.studies backtest",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("study", nargs="?", choices=("ratios", "rarely", "counts"))
    parser.add_argument("--fleets", type=int)
    parser.add_argument("--processes", type=int, default=1)
    asked = parser.parse_args(arguments)
    good = True
    if asked.study in (None, "ratios"):
        good &= ratios(asked.fleets or 40, asked.processes)
    if asked.study in (None, "rarely"):
        good &= rarely(asked.fleets or 40, asked.processes)
    if asked.study in (None, "counts"):
        good &= counts(asked.fleets or 200, asked.processes)
    return 0 if good else 1

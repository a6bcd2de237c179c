"""Random small fleets, as odd as records get: no crash, no nonsense number, refusals by name.

    python -m tests.studies fuzz [--fleets 2000] [--first 1] [--processes P]

Every fleet with five deaths must get a model; every answer must be finite, in order and able to be
stored. Prints how many fleets got which model, and the refusals by reason. Exit code 1 on a fault,
each named by its seed.
"""

import argparse
import json
import os
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from forecasting.survival import COMMON_PRACTICE, LifeModel, Lives, Refusal
from forecasting.survival.by_deaths import model_by_deaths

AGES = np.array([0.1, 1.0, 5.0, 10.0, 20.0, 40.0])
SLOPES = ("severity", "log2_miles", "rod", "mechanical", "unstepped", "charter")


def odd_lives(seed: int) -> Lives:
    """Few boats, any gaps between looks, columns that do not vary, repeat or separate."""
    rng = np.random.default_rng(seed)
    n, boats = int(rng.integers(1, 90)), int(rng.integers(1, 9))
    boat = rng.integers(0, boats, n)
    spot = rng.integers(0, 3, n)
    X = np.column_stack([spot == 1, spot == 2, *(_column(rng, n, boat) for _ in SLOPES)])
    scale = rng.uniform(2, 40) * np.exp(rng.normal(0, 0.3, boats))[boat]
    age = scale * rng.weibull(rng.uniform(0.7, 6), n)
    entry = np.where(rng.random(n) < 0.4, rng.uniform(0, 25, n), 0.0)
    gap = rng.choice([0.02, 0.5, 2.0, 8.0, 30.0], n)
    age = np.maximum(age, entry + 1e-3)
    until = entry + rng.uniform(0, 12, n) * (rng.random(n) < 0.9)
    dead = age < until
    look = entry + np.floor((age - entry) / gap) * gap
    good = np.where(dead, look, until)
    condemned = np.where(dead, look + gap, np.inf)
    failed = np.where(dead & (rng.random(n) < 0.05), age, np.nan)
    condemned = np.where(np.isnan(failed), condemned, np.inf)
    weight = np.where(rng.random(n) < 0.1, rng.uniform(0.1, 1, n), 1.0)
    names = ("run", "upper", *SLOPES)
    return Lives(entry, good, condemned, failed, weight, cluster=boat, X=X, names=names)


def _column(rng: np.random.Generator, n: int, boat: np.ndarray) -> np.ndarray:
    """Varying by boat, or by part, or the same everywhere."""
    by_boat = rng.integers(-2, 3, boat.max() + 1)[boat]
    return [by_boat, rng.normal(size=n).clip(-3, 3), np.full(n, rng.integers(0, 2))][
        rng.integers(0, 3)
    ].astype(float)


def told(seed: int) -> tuple[str, str]:
    """(what came of it, fault or blank) of one fleet."""
    lives = odd_lives(seed)
    try:
        outcome = model_by_deaths(lives, COMMON_PRACTICE["wire"], seed=seed).outcome
    except Exception as crash:  # noqa: BLE001 (the fault to report, whatever it is)
        return "crash", f"{type(crash).__name__}: {crash}"
    if isinstance(outcome, Refusal):
        counted = lives.take(~lives.never_seen)
        must = counted.deaths >= 5
        return f"refused: {outcome.reason_code}", outcome.sentence if must else ""
    return outcome.standing, nonsense(outcome)


def nonsense(model: LifeModel) -> str:
    """What is wrong with the numbers of a model; blank if nothing."""
    try:
        stored = json.dumps(model.to_dict(), allow_nan=False)
    except ValueError:
        return "cannot be stored: a number is not finite"
    again = LifeModel.from_dict(json.loads(stored))
    reference = np.zeros(len(model.columns))
    band = again.survival_band(AGES, reference, level=0.9, draws=200)
    b10 = again.part_age_band(0.1, level=0.9, draws=200)
    spread = again.boat_spread_band or (0.0, 0.0)
    checks = {
        "an estimate is not finite": np.isfinite(again.estimate).all(),
        "a variance is negative": (np.diag(again.covariance) >= 0).all(),
        "survival is no chance": ((band.middle >= 0) & (band.middle <= 1)).all(),
        "survival rises with age": (np.diff(band.middle) <= 1e-12).all(),
        "an interval is without its estimate": bool(
            (band.low <= band.middle + 0.1).all() and (band.middle <= band.high + 0.1).all()
        ),
        "B10 is no age": bool(np.isfinite(b10.middle) and b10.middle > 0),
        "B10's interval is out of order": bool(b10.low <= b10.middle <= b10.high),
        "the boats' spread is no spread": 0 <= again.boat_spread < np.inf,
        "the boats' spread is outside its band": spread[0] <= again.boat_spread <= spread[1]
        or again.boat_spread_band is None,
    }
    return "; ".join(what for what, good in checks.items() if not good)


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.studies fuzz", description=__doc__)
    parser.add_argument("--fleets", type=int, default=2000)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    given = parser.parse_args(arguments)
    seeds = range(given.first, given.first + given.fleets)
    with ProcessPoolExecutor(given.processes) as pool:
        found = list(pool.map(told, seeds, chunksize=4))
    for what, count in Counter(what for what, _ in found).most_common():
        print(f"{count:>6}  {what}")
    faults = [(seed, *each) for seed, each in zip(seeds, found, strict=True) if each[1]]
    for seed, what, fault in faults:
        print(f"seed {seed}: {what}: {fault}")
    print(f"{len(found)} fleets, {len(faults)} faults")
    return 1 if faults else 0

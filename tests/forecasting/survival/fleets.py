"""Small simulated fleets of wires: boats looked at about once a year, spot by spot.

A wire comes under record somewhere in its life, is looked at until one of its three spots is found
condemned, and is gone then. Spots share the hazard six, one and a half, two and a half in ten.
"""

import numpy as np

from forecasting.survival import Lives

SHARES = np.array([0.60, 0.15, 0.25])
SLOPES = {
    "severity": -0.19,
    "log2_miles": -0.10,
    "rod": 0.15,
    "mechanical": 0.0,
    "unstepped": 0.10,
    "charter": -0.10,
}
NAMES = ("run", "upper", *SLOPES)


def wires(
    rng: np.random.Generator,
    boats: int,
    *,
    wires: int = 8,
    years: float = 12.0,
    b10: float = 9.0,
    shape: float = 3.0,
    spread: float = 0.0,
    one_base: bool = False,
) -> Lives:
    """Lives of a fleet whose truth is known: Weibull, B10 of a whole reference wire, log-sd
    between boats. one_base: every boat on the reference ground."""
    rows: list[tuple] = []
    for boat in range(boats):
        x = _covariates(rng, one_base)
        location = np.log(b10) - np.log(-np.log(0.9)) / shape + x @ np.array(list(SLOPES.values()))
        location += rng.normal(0, spread)
        for _ in range(wires):
            life = np.exp(location - (np.log(SHARES) - np.log(rng.exponential(size=3))) / shape)
            rows += _record(rng, life, years, boat, x)
    columns = [np.array(column) for column in zip(*(row[:4] for row in rows), strict=True)]
    entry, good, condemned, boat = columns
    X = np.array([row[4] for row in rows])
    return Lives(
        entry=entry, good=good, condemned=condemned, cluster=boat.astype(int), X=X, names=NAMES
    )


def _covariates(rng: np.random.Generator, one_base: bool) -> np.ndarray:
    severity = 0 if one_base else rng.integers(-1, 2)
    yes = rng.random(4) < (0.15, 0.2, 0.5, 0.5)
    return np.array([severity, rng.normal(0, 0.7), *yes.astype(float)])


def _record(
    rng: np.random.Generator, life: np.ndarray, years: float, boat: int, x: np.ndarray
) -> list[tuple]:
    entry = rng.uniform(0, 6)
    looks = entry + np.arange(0.5, years, 1.0) + rng.uniform(-0.2, 0.2)
    if life.min() <= entry:
        return []
    found = looks[looks >= life.min()][:1]
    rows = []
    for spot in range(3):
        good = looks[looks < life[spot]]
        good = good[good <= found[0]] if len(found) else good
        last = good.max() if len(good) else entry
        dead = len(found) and life[spot] <= found[0]
        dummies = (float(spot == 1), float(spot == 2))
        rows.append((entry, last, found[0] if dead else np.inf, boat, (*dummies, *x)))
    return rows


def good_wires(number: int, age: float) -> Lives:
    """So many wires seen good, every spot, at that age; ten to a boat, all on reference boats."""
    X = np.zeros((3 * number, len(NAMES)))
    X[number : 2 * number, 0] = 1
    X[2 * number :, 1] = 1
    boats = np.tile(np.arange(number) // 10, 3)
    return Lives(
        entry=np.zeros(3 * number), good=np.full(3 * number, age), X=X, names=NAMES, cluster=boats
    )

"""Small mixed sets of lives, seeded: every kind of ending, late entry, weights, boats."""

import numpy as np

from forecasting.survival import Lives


def mixed_lives(seed: int = 1, n: int = 80) -> Lives:
    """Two covariates; exact, interval and alive rows, a third of them entering late."""
    rng = np.random.default_rng(seed)
    entry = np.where(rng.random(n) < 1 / 3, rng.uniform(0, 3, n), 0.0)
    good = entry + np.where(rng.random(n) < 0.3, 0.0, rng.uniform(0.1, 6, n))
    ending = rng.integers(0, 3, n)
    good = np.where((ending == 0) & (good == entry), good + 0.5, good)
    return Lives(
        entry=entry,
        good=good,
        condemned=np.where(ending == 1, good + rng.uniform(0.2, 4, n), np.inf),
        failed=np.where(ending == 2, good + rng.uniform(0.1, 3, n), np.nan),
        weight=rng.uniform(0.5, 2, n),
        cluster=rng.integers(0, 12, n),
        X=rng.normal(size=(n, 2)),
        names=("severity", "rod"),
    )


THETA = np.array([1.5, 0.1, -0.2, -0.7])

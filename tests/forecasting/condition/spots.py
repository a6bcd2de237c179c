"""Small panels written by hand, and panels drawn from known laws."""

import numpy as np

from forecasting.condition.panel import Law, Panel, panel


def law(n: int, scale: float = 15.0, shape: float = 3.0) -> Law:
    return Law("weibull", np.full(n, np.log(scale)), 1 / shape)


def spots(*histories: tuple, scale: float = 15.0, shape: float = 3.0) -> Panel:
    """Each history: (condemned or inf, [(age, watch), ...]); good at its last look.

    A look at which nothing is said of a watch is (age, None).
    """
    reports = [
        (row, age, watch)
        for row, (_, looks) in enumerate(histories)
        for age, watch in looks
        if watch is not None
    ]
    good = [max((age for age, _ in looks), default=0.0) for _, looks in histories]
    columns = list(zip(*reports, strict=True)) or [(), (), ()]
    said = tuple(np.array(column) for column in columns)
    return panel(good, [h[0] for h in histories], said, law(len(histories), scale, shape))


def drawn(n: int, seed: int, delay: float, detection: float, false_watch: float) -> Panel:
    """n spots of Weibull(3, 10) looked at every half-year until found condemned, or for 9 years."""
    rng = np.random.default_rng(seed)
    goes = 10 * rng.weibull(3, n)
    begins = np.maximum(goes - rng.exponential(delay, n), 0)
    ages = np.arange(1, 19) / 2 + rng.uniform(-0.1, 0.1, (n, 18))
    begun, gone = ages >= begins[:, None], ages >= goes[:, None]
    chance = np.where(begun, detection, false_watch)
    watch = rng.uniform(size=ages.shape) < chance
    found = np.where(gone.any(axis=1), ages[np.arange(n), gone.argmax(axis=1)], np.inf)
    good = np.where(gone, 0, ages).max(axis=1)
    row, look = np.nonzero(~gone)
    return panel(good, found, (row, ages[row, look], watch[row, look]), law(n, 10.0))

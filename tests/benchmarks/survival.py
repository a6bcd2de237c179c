"""How long a fit of many lives takes: our engine, with and without boats, against lifelines.

One process, the same lives, the same run: six covariates, late entry, half-yearly looks.
"""

import resource
import time
import warnings
from collections.abc import Callable

import numpy as np

from forecasting.survival import Lives
from forecasting.survival.boat_fit import maximise_with_boats
from forecasting.survival.families import family_named
from forecasting.survival.likelihood import Likelihood
from forecasting.survival.newton import maximise
from forecasting.survival.scaling import Scaling
from forecasting.survival.second_engine import frame_of

SIZES = (1_000, 10_000, 100_000)
SLOPES = np.array([-0.19, -0.10, 0.15, 0.0, 0.10, -0.10])
PARTS = 36  # spots of one boat


def many_lives(n: int, seed: int = 1) -> Lives:
    """Weibull 3 about 20 years, a boat spread of .15, a third watched from a later age."""
    rng = np.random.default_rng(seed)
    X = np.column_stack([rng.normal(size=(n, 2)), rng.integers(0, 2, (n, 4))])
    boat = np.arange(n) // PARTS
    effect = rng.normal(0, 0.15, boat[-1] + 1)[boat]
    age = np.exp(3.0 + X @ SLOPES + effect + np.log(rng.exponential(size=n)) / 3)
    entry = np.where(rng.random(n) < 1 / 3, rng.uniform(0, 5, n), 0.0)
    last = entry + rng.uniform(2, 12, n)
    met = age > entry
    age, entry, last, boat, X = age[met], entry[met], last[met], boat[met], X[met]
    gone, look = age < last, np.floor(age * 2) / 2
    return Lives(
        entry=entry,
        good=np.where(gone, np.maximum(entry, look), last),
        condemned=np.where(gone, look + 0.5, np.inf),
        cluster=boat,
        X=X,
        names=tuple("abcdef"),
    )


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def by_lifelines(lives: Lives) -> None:
    """As its documentation has it: entry column, interval bounds, no help from us."""
    from lifelines import WeibullAFTFitter

    frame = frame_of(lives).drop(columns="weight")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        WeibullAFTFitter().fit_interval_censoring(frame, "lower", "upper", entry_col="entry")


def timed(size: int) -> str:
    """One line of the table."""
    lives = many_lives(size)
    lives = Scaling.of(lives).apply(lives)
    start, summit = np.zeros(lives.X.shape[1] + 2), []
    ours = seconds(
        lambda: summit.append(maximise(Likelihood(family_named("weibull"), lives), start))
    )
    theirs = seconds(lambda: by_lifelines(lives))
    boats = seconds(lambda: maximise_with_boats("weibull", lives, summit[0].theta))
    return (
        f"{len(lives):>8,}  {lives.deaths:>7,.0f}  {ours:>6.3f} s  {theirs:>7.2f} s  "
        f"{ours / theirs:>6.3f}  {boats:>6.1f} s"
    )


def main() -> None:
    by_lifelines(many_lives(200))  # its imports, outside the clock
    print(f"{'lives':>8}  {'deaths':>7}  {'ours':>8}  {'lifelines':>9}  {'ratio':>6}  {'boats':>8}")
    for size in SIZES:
        print(timed(size), flush=True)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"ratio: ours / lifelines. Peak memory of the whole run {memory:,.0f} MiB.")

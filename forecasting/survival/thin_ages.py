"""Between which ages were enough watched? Outside, a curve is extrapolated, and is said to be."""

from collections.abc import Sequence

import numpy as np

from .lives import Lives

ENOUGH_AT_RISK = 10.0  # weight of lives under observation


def watched_between(lives: Lives, enough: float = ENOUGH_AT_RISK) -> tuple[float, float] | None:
    """Youngest and oldest age at which that weight of lives was at risk; None if there is none.

    A life is at risk from its entry to its last sight, or to the age it let go at.
    """
    end = np.where(lives.exact, lives.failed, lives.good)
    end = np.where(lives.between, 0.5 * (lives.good + lives.condemned), end)
    ages = np.concatenate([lives.entry, end])
    change = np.concatenate([lives.weight, -lives.weight])
    leaving = np.repeat([False, True], len(lives))
    order = np.lexsort((leaving, ages))
    at_risk = np.cumsum(change[order])
    plenty = np.flatnonzero(at_risk >= enough - 1e-9)
    if not len(plenty):
        return None
    last = min(plenty[-1] + 1, len(order) - 1)
    return float(ages[order][plenty[0]]), float(ages[order][last])


def said_of_thin_ages(lives: Lives, ages: Sequence[float] = (), given: float = 0.0) -> list[str]:
    """What to know of a curve of these lives, asked for at ages: where it is not their own."""
    found, number = watched_between(lives), f"{ENOUGH_AT_RISK:g}"
    if found is None:
        return [f"Fewer than {number} lives were watched at any age: the curve rests on few."]
    youngest, oldest = found
    said = []
    beyond = [f"{age:g}" for age in ages if age > oldest * (1 + 1e-12)]
    if beyond:
        said.append(
            f"Survival at {', '.join(beyond)} is extrapolated: beyond {oldest:.4g} fewer than "
            f"{number} lives were watched."
        )
    first = lives.died & (np.where(lives.exact, lives.failed, lives.good) < youngest)
    if (ages and min(given, *ages) < youngest) or first.any():
        said.append(
            f"Before {youngest:.4g} fewer than {number} lives were watched: what is said of "
            "younger ages rests on few."
        )
    return said

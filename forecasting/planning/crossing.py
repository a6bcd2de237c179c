"""Where many falling curves cross a level, all at once."""

from collections.abc import Callable

import numpy as np

_STEPS = 40


def first_crossing(
    curve: Callable[[np.ndarray], np.ndarray],
    level: float | np.ndarray,
    longest: float,
    m: int,
    *,
    tolerance: float = 1e-3,
) -> np.ndarray:
    """(m,) times at which `curve`, falling survivors of time in [0, longest], reaches `level`.

    0 where it is there at once, inf where it is not by `longest`; steps end below `tolerance`, a
    third of a day unless told otherwise. False position with the
    Illinois halving on the cube root of -log survivor, nearly straight for lives of shape 3.
    """
    target = _straighten(np.broadcast_to(np.asarray(level, dtype=float), m))
    low, high = np.zeros(m), np.full(m, longest, dtype=float)
    below = _straighten(curve(low)) - target
    above = _straighten(curve(high)) - target
    already, never = below >= 0, above < 0
    side = np.zeros(m)
    middle = low
    for _ in range(_STEPS):
        previous = middle
        middle = _false_position(low, high, below, above)
        if np.all(already | never | (np.abs(middle - previous) < tolerance)):
            break
        value = _straighten(curve(middle)) - target
        right = value >= 0
        high, above = np.where(right, middle, high), np.where(right, value, above)
        low, below = np.where(right, low, middle), np.where(right, below, value)
        below = np.where(right & (side > 0), below / 2, below)
        above = np.where(~right & (side < 0), above / 2, above)
        side = np.where(right, 1, -1)
    return np.where(already, 0.0, np.where(never, np.inf, middle))


def _straighten(survivor: np.ndarray) -> np.ndarray:
    return np.cbrt(-np.log(np.clip(survivor, 1e-300, 1.0)))


def _false_position(
    low: np.ndarray, high: np.ndarray, below: np.ndarray, above: np.ndarray
) -> np.ndarray:
    gap = above - below
    share = np.divide(-below, gap, out=np.full_like(gap, 0.5), where=gap > 0)
    return low + np.clip(share, 0.0, 1.0) * (high - low)

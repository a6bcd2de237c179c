"""Where many falling curves cross a level, all at once."""

from collections.abc import Callable, Sequence

import numpy as np

_STEPS = 40
Curve = Callable[[np.ndarray], np.ndarray]


def first_crossing(
    curve: Curve, level: float, longest: float, m: int, *, tolerance: float = 1e-3
) -> np.ndarray:
    """(m,) times at which `curve`, falling survivors of time in [0, longest], reaches `level`.

    0 where it is there at once, inf where it is not by `longest`; steps end below `tolerance`, a
    third of a day unless told otherwise.
    """
    return first_crossings(curve, (level,), longest, m, tolerance=tolerance)[:, 0]


def first_crossings(
    curve: Curve, levels: Sequence[float], longest: float, m: int, *, tolerance: float = 1e-3
) -> np.ndarray:
    """(m, levels) the same for several levels, from high to low; each is sought from the last."""
    low, high = np.zeros(m), np.full(m, longest, dtype=float)
    at_low, at_high = _straighten(curve(low)), _straighten(curve(high))
    found = []
    for level in levels:
        target = float(_straighten(np.array(level)))
        already, never = at_low >= target, at_high < target
        bracket = low, high, at_low - target, at_high - target
        time = _found(lambda t: _straighten(curve(t)) - target, bracket, already | never, tolerance)  # noqa: B023
        found.append(np.where(already & (low == 0), 0.0, np.where(never, np.inf, time)))
        inside = ~already & ~never
        low, at_low = np.where(inside, time, low), np.where(inside, target, at_low)
    return np.column_stack(found)


def _found(
    height: Curve, bracket: tuple[np.ndarray, ...], done: np.ndarray, tolerance: float
) -> np.ndarray:
    """(m,) roots of a rising `height` within their brackets (low, high, heights there).

    False position with the Illinois halving, on the cube root of -log survivor, which is nearly
    straight for lives of shape 3.
    """
    low, high, below, above = bracket
    side, middle = np.zeros(low.size), low
    for _ in range(_STEPS):
        previous = middle
        middle = _false_position(low, high, below, above)
        if np.all(done | (np.abs(middle - previous) < tolerance)):
            break
        value = height(middle)
        right = value >= 0
        high, above = np.where(right, middle, high), np.where(right, value, above)
        low, below = np.where(right, low, middle), np.where(right, below, value)
        below = np.where(right & (side > 0), below / 2, below)
        above = np.where(~right & (side < 0), above / 2, above)
        side = np.where(right, 1, -1)
    return middle


def _straighten(survivor: np.ndarray) -> np.ndarray:
    return np.cbrt(-np.log(np.clip(survivor, 1e-300, 1.0)))


def _false_position(
    low: np.ndarray, high: np.ndarray, below: np.ndarray, above: np.ndarray
) -> np.ndarray:
    gap = above - below
    share = np.divide(-below, gap, out=np.full_like(gap, 0.5), where=gap > 0)
    return low + np.clip(share, 0.0, 1.0) * (high - low)

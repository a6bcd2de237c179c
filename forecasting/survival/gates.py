"""What is asked of the lives before any climbing: can they have a finite maximum at all?

For exact, interval and right-censored lives the log-likelihood is concave in (slopes / sigma,
1 / sigma) (Burridge 1981, J. Royal Statistical Society B 43), so the maximum is missing only along
a direction in which no row loses. Such a direction with sigma held is *separation*; one with sigma
shrinking means a single line passes through every row, *no spread*. Both are linear programmes.
"""

import numpy as np
import scipy

from .lives import Lives
from .refusal import Refusal

SAME = 1e-5  # relative residual below which a column is a combination of others
LEAST_VARIATION = 1e-100  # squares of less are no numbers
FEW_ROWS = 2000  # rows tried first: infeasible on a part is infeasible on the whole
STRICT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}


def refusal_from_counts(lives: Lives) -> Refusal | None:
    """What can be seen without scaling: nothing left, no deaths, a column that does not vary."""
    return refuse_nothing_left(lives) or refuse_no_deaths(lives) or refuse_constant(lives)


def refusal_from_geometry(lives: Lives, design: np.ndarray) -> Refusal | None:
    """The first reason why standardised lives have no finite maximum.

    design: (n, p + 1), an intercept and the standardised covariates.
    """
    return (
        refuse_repeated(lives, design)
        or refuse_separation(lives, design)
        or refuse_no_spread(lives, design)
    )


def refuse_nothing_left(lives: Lives) -> Refusal | None:
    if len(lives):
        return None
    return Refusal(
        "nothing_left",
        "Nothing is left to fit: no part was seen after its entry age, and none was condemned.",
    )


def refuse_no_deaths(lives: Lives) -> Refusal | None:
    if lives.died.any():
        return None
    return Refusal(
        "no_deaths",
        "No deaths: nothing was condemned and nothing failed, so how long parts last cannot be "
        "estimated from these lives alone.",
    )


def refuse_constant(lives: Lives) -> Refusal | None:
    reach = np.abs(lives.X).max(axis=0)
    flat = tuple(
        name
        for name, column, size in zip(lives.names, lives.X.T, reach, strict=True)
        if np.ptp(column) <= max(1e-12 * size, LEAST_VARIATION)
    )
    if not flat:
        return None
    return Refusal(
        "constant_column",
        f"Column {listed(flat)} has the same value in every life that counts: its slope cannot be "
        "told from the intercept. Leave it out.",
        flat,
    )


def refuse_repeated(lives: Lives, design: np.ndarray) -> Refusal | None:
    """Columns are taken in file order; the first that adds nothing to those before it is named."""
    scaled = design * np.sqrt(lives.weight)[:, None]
    for j in range(1, design.shape[1]):
        fitted, *_ = np.linalg.lstsq(scaled[:, :j], scaled[:, j], rcond=None)
        left = np.linalg.norm(scaled[:, j] - scaled[:, :j] @ fitted)
        if left <= SAME * np.linalg.norm(scaled[:, j]):
            sources = [lives.names[i - 1] for i in range(1, j) if abs(fitted[i]) > 1e-6]
            them = "it" if len(sources) < 2 else "them"
            return Refusal(
                "repeated_column",
                f"Column {lives.names[j - 1]} repeats {listed(tuple(sources))}: it is a linear "
                f"combination of {them}, so the slopes cannot be told apart. Leave one out.",
                (lives.names[j - 1], *sources),
            )
    return None


def refuse_separation(lives: Lives, design: np.ndarray) -> Refusal | None:
    direction = separating_direction(lives, design)
    if direction is None:
        return None
    slopes = np.abs(direction[1:])
    columns = tuple(n for n, b in zip(lives.names, slopes, strict=True) if b > 1e-6 * slopes.max())
    if not slopes.any():
        return Refusal(
            "separation",
            "Separation: every part was already condemned at its first sight after entry, so life "
            "could be arbitrarily short and the intercept has no finite estimate.",
        )
    return Refusal(
        "separation",
        f"Separation: {listed(columns)} {'divides' if len(columns) < 2 else 'divide'} the parts "
        "that died from those that did not, so the slope has no finite estimate (it would grow "
        "without end). Leave the column out, or wait for more deaths.",
        columns,
    )


def separating_direction(lives: Lives, design: np.ndarray) -> np.ndarray | None:
    """A direction of (intercept, slopes) along which no life loses and some gain, or None.

    Longer life costs nothing to a part still alive; shorter life costs nothing to one that died
    before any sight; every other row pins its own location.
    """
    first_seen_dead = lives.between & (lives.good == lives.entry)
    free = first_seen_dead | ~lives.died
    pinned = design[~free]
    open_directions = _null_space(pinned.T @ pinned) if len(pinned) else np.eye(design.shape[1])
    if open_directions.shape[1] == 0:
        return None
    gain = np.where(lives.died, -1.0, 1.0)[free, None] * (design[free] @ open_directions)
    gain = np.unique(np.round(gain, 12), axis=0)
    found = scipy.optimize.linprog(
        -gain.mean(axis=0),
        A_ub=-gain,
        b_ub=np.zeros(len(gain)),
        bounds=(-1, 1),
        method="highs",
        options=STRICT,
    )
    if not found.success or (gain @ found.x).max() < 1e-7 or (gain @ found.x).min() < -1e-9:
        return None
    return open_directions @ found.x


def refuse_no_spread(lives: Lives, design: np.ndarray) -> Refusal | None:
    with np.errstate(divide="ignore"):
        lower = np.where(lives.good > lives.entry, np.log(lives.good), -np.inf)
        lower = np.where(lives.exact, np.log(lives.failed), lower)
        upper = np.where(lives.exact, lower, np.log(lives.condemned))
    deaths_first = np.argsort(~lives.died, kind="stable")[:FEW_ROWS]
    everything = np.arange(len(lives))
    for rows in (deaths_first, everything):
        if not _a_line_fits(design[rows], lower[rows], upper[rows]):
            return None
    return Refusal(
        "no_spread",
        "One and the same life fits every row: the deaths show no spread (all lives identical, or "
        "too few deaths for the columns), so sigma would shrink to 0. More deaths are needed.",
    )


def _a_line_fits(design: np.ndarray, lower: np.ndarray, upper: np.ndarray) -> bool:
    """Is there b with lower <= design b <= upper in every row?"""
    below, above = np.isfinite(lower), np.isfinite(upper)
    found = scipy.optimize.linprog(
        np.zeros(design.shape[1]),
        A_ub=np.vstack([-design[below], design[above]]),
        b_ub=np.concatenate([-lower[below], upper[above]]),
        bounds=(None, None),
        method="highs",
        options=STRICT,
    )
    return found.status == 0


def _null_space(gram: np.ndarray) -> np.ndarray:
    values, vectors = np.linalg.eigh(gram)
    return vectors[:, values <= 1e-12 * max(values[-1], 1e-300)]


def listed(names: tuple[str, ...]) -> str:
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + " and " + names[-1]

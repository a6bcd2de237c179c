"""One life per row: when it was first watched, when last seen good, and how it ended.

Ages share one unit (years in the product; whatever the file uses in `fit_lives`). Invariants,
checked at the door: 0 <= entry <= good < condemned, good <= failed, weight > 0, all finite.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

RESERVED = ("intercept", "log_sigma", "log_spread")


@dataclass(frozen=True)
class Life:
    """One spot of one part. Use the constructors, which name what is known of its end."""

    entry: float
    good: float
    condemned: float = np.inf
    failed: float = np.nan
    weight: float = 1.0
    cluster: Hashable = None
    covariates: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def good_until(cls, good: float, *, entry: float = 0.0, **rest: Any) -> "Life":
        """Seen good at that age and not since: alive there (right-censored)."""
        return cls(entry=entry, good=good, **rest)

    @classmethod
    def condemned_between(
        cls, good: float, condemned: float, *, entry: float = 0.0, **rest: Any
    ) -> "Life":
        """Good at the first age, found condemned at the second (interval-censored)."""
        return cls(entry=entry, good=good, condemned=condemned, **rest)

    @classmethod
    def failed_at(
        cls, failed: float, *, entry: float = 0.0, good: float | None = None, **rest: Any
    ) -> "Life":
        """Let go at exactly that age. good, its last sight, decides nothing and may be left out."""
        return cls(entry=entry, good=entry if good is None else good, failed=failed, **rest)


@dataclass(frozen=True, eq=False)
class Lives:
    """Many lives in columns, validated. n rows, p covariates.

    entry, good, condemned (inf if never condemned), failed (nan if it never let go), weight: (n,);
    cluster: (n,) integer codes of the boat (any labels are accepted and coded; default each row its
    own); X: (n, p) covariates named by names. Raises ValueError naming the first row at fault,
    counted from 0.
    """

    entry: np.ndarray
    good: np.ndarray
    condemned: np.ndarray | None = None
    failed: np.ndarray | None = None
    weight: np.ndarray | None = None
    cluster: np.ndarray | None = None
    X: np.ndarray | None = None
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        n = len(np.atleast_1d(self.good))
        columns = {
            "entry": _column(self.entry, n),
            "good": _column(self.good, n),
            "condemned": _column(np.inf if self.condemned is None else self.condemned, n),
            "failed": _column(np.nan if self.failed is None else self.failed, n),
            "weight": _column(1.0 if self.weight is None else self.weight, n),
            "cluster": _codes(self.cluster, n),
            "X": _matrix(self.X, n),
        }
        for name, values in columns.items():
            values.flags.writeable = False
            object.__setattr__(self, name, values)
        object.__setattr__(self, "names", tuple(self.names))
        _check_names(self)
        _check_rows(self)

    @classmethod
    def of(cls, lives: Sequence[Life], names: Iterable[str] | None = None) -> "Lives":
        """Columns from single lives. names default to the first life's covariates, in its order."""
        names = tuple(names if names is not None else (lives[0].covariates if lives else ()))
        rows = [[life.covariates[name] for name in names] for life in lives]
        owners = [
            ("row", i) if life.cluster is None else life.cluster for i, life in enumerate(lives)
        ]
        return cls(
            entry=np.array([life.entry for life in lives], dtype=float),
            good=np.array([life.good for life in lives], dtype=float),
            condemned=np.array([life.condemned for life in lives], dtype=float),
            failed=np.array([life.failed for life in lives], dtype=float),
            weight=np.array([life.weight for life in lives], dtype=float),
            cluster=_labels(owners),
            X=np.array(rows, dtype=float).reshape(len(lives), len(names)),
            names=names,
        )

    def __len__(self) -> int:
        return len(self.good)

    @property
    def exact(self) -> np.ndarray:
        """(n,) bool: let go at a known age."""
        return ~np.isnan(self.failed)

    @property
    def between(self) -> np.ndarray:
        """(n,) bool: condemned between two ages."""
        return np.isfinite(self.condemned)

    @property
    def died(self) -> np.ndarray:
        """(n,) bool: condemned or failed."""
        return self.exact | self.between

    @property
    def never_seen(self) -> np.ndarray:
        """(n,) bool: no sight since entry and no death, so nothing to learn from."""
        return ~self.died & (self.good == self.entry)

    @property
    def deaths(self) -> float:
        """Sum of the weights of the rows that died."""
        return float(self.weight[self.died].sum())

    def take(self, rows: np.ndarray) -> "Lives":
        """The rows of a boolean mask or an index."""
        parts = ("entry", "good", "condemned", "failed", "weight", "cluster", "X")
        return replace(self, **{part: getattr(self, part)[rows] for part in parts})

    def keep(self, names: Iterable[str]) -> "Lives":
        """The same rows with only those covariates, in that order."""
        names = tuple(names)
        where = [self.names.index(name) for name in names]
        return replace(self, X=self.X[:, where], names=names)

    def rescaled(self, factor: float | np.ndarray) -> "Lives":
        """Every age multiplied by factor, a scalar or (n,)."""
        ages = ("entry", "good", "condemned", "failed")
        return replace(self, **{age: getattr(self, age) * factor for age in ages})


def left_out(lives: Lives) -> dict[str, float]:
    """Reason -> weight of what says nothing: never seen since entry, log-likelihood exactly 0."""
    weight = float(lives.weight[lives.never_seen].sum())
    return {"never_seen_since_entry": weight} if weight else {}


def _column(values: Any, n: int) -> np.ndarray:
    return np.broadcast_to(np.asarray(values, dtype=float), (n,)).copy()


def _matrix(values: Any, n: int) -> np.ndarray:
    if values is None:
        return np.zeros((n, 0))
    matrix = np.array(values, dtype=float)
    return matrix.reshape(n, 1) if matrix.ndim == 1 else matrix


def _labels(owners: Sequence[Hashable]) -> np.ndarray:
    codes: dict[Hashable, int] = {}
    return np.array([codes.setdefault(owner, len(codes)) for owner in owners], dtype=np.int64)


def _codes(labels: Any, n: int) -> np.ndarray:
    if labels is None:
        return np.arange(n)
    labels = np.asarray(labels)
    if labels.dtype == object:
        labels = _labels(list(labels))
    if labels.shape != (n,):
        raise ValueError(f"cluster has {labels.shape} labels for {n} lives.")
    return np.unique(labels, return_inverse=True)[1].astype(np.int64).reshape(n)


def _check_names(lives: Lives) -> None:
    if lives.X.shape != (len(lives), len(lives.names)):
        raise ValueError(
            f"X has shape {lives.X.shape}; {len(lives)} lives and {len(lives.names)} names need "
            f"({len(lives)}, {len(lives.names)})."
        )
    if len(set(lives.names)) < len(lives.names):
        raise ValueError("Two covariates have the same name.")
    taken = [name for name in lives.names if name in RESERVED]
    if taken:
        raise ValueError(f"A covariate may not be called {taken[0]!r}: the model uses that name.")


def _check_rows(lives: Lives) -> None:
    entry, good, condemned, failed = lives.entry, lives.good, lives.condemned, lives.failed
    faults = (
        (~(np.isfinite(entry) & (entry >= 0)), "entry age must be a number of 0 or more"),
        (~(np.isfinite(good) & (good >= entry)), "seen good before its entry age"),
        (~(condemned > good), "condemned at or before the age it was last seen good"),
        (lives.exact & lives.between, "both condemned and failed"),
        (lives.exact & ((failed < good) | (failed <= 0)), "failed before it was last seen good"),
        (np.isinf(failed), "failed at an age that is not finite"),
        (~(np.isfinite(lives.weight) & (lives.weight > 0)), "weight must be above 0"),
        (~np.isfinite(lives.X).all(axis=1), "a covariate is blank or not finite"),
    )
    for wrong, sentence in faults:
        if wrong.any():
            raise ValueError(f"Life {int(np.flatnonzero(wrong)[0])} (counted from 0): {sentence}.")

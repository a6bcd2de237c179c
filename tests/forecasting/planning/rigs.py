"""Small rigs for the planning tests: life models without uncertainty, and tables of spots."""

import numpy as np

from forecasting.planning.spots import LEVELS, Standing
from forecasting.survival import LifeModel

SPOTS = ("lower", "run", "upper")
SEEN = {  # what a level sees: of a wire by spot, of a turnbuckle or chainplate as a whole
    "deck": {"lower", "turnbuckle"},
    "aloft": {"lower", "run", "upper", "turnbuckle"},
    "mast_down": {"lower", "run", "upper", "turnbuckle", "chainplate"},
}


def life(family="weibull", location=0.0, sigma=1.0, slopes=None, covariance=None):
    """A life model known exactly, or with this covariance."""
    slopes = slopes or {}
    names = ("intercept", *slopes, "log_sigma")
    k = len(names)
    estimate = np.array([location, *slopes.values(), np.log(sigma)])
    covariance = np.zeros((k, k)) if covariance is None else np.asarray(covariance)
    return LifeModel(family, names, estimate, covariance, np.full((k, k), np.nan))


def weibull(shape, scale, slopes=None, covariance=None):
    return life("weibull", np.log(scale), 1 / shape, slopes, covariance)


def wire(part=1, boat=1, age=10.0, since=(0.0, 0.0, 0.0), **more):
    """Rows of the three spots of one wire; since: years since each was last seen good."""
    return [
        {"part": part, "boat": boat, "spot": spot, "age": age, "since": s, **more}
        for spot, s in zip(SPOTS, since, strict=True)
    ]


def one(part=1, boat=1, age=10.0, since=0.0, spot="lower", **more):
    """The single row of a part with one spot."""
    return [{"part": part, "boat": boat, "spot": spot, "age": age, "since": since, **more}]


def table(rows, columns=("run", "upper")):
    """Standing from rows as `wire` and `one` give them."""

    def column(name, default, dtype=float):
        return np.array([row.get(name, default) for row in rows], dtype=dtype)

    spot = column("spot", "lower", object)
    X = [[row.get(c, float(row["spot"] == c)) for c in columns] for row in rows]
    boat = column("boat", 1, int)
    return Standing(
        part=column("part", 1, int),
        boat=boat,
        base=np.array([row.get("base", 1) for row in rows], dtype=int),
        kind=np.array([row.get("kind", "wire") for row in rows], dtype=str),
        age=column("age", 10.0),
        since_good=column("since", 0.0),
        age_spread=column("spread", 0.0),
        X=np.array(X, dtype=float).reshape(len(rows), len(columns)),
        columns=columns,
        seen_by={level: np.isin(spot.astype(str), list(SEEN[level])) for level in LEVELS},
        condemned=column("condemned", False, bool),
    )

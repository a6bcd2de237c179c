"""Lives from anywhere, with nothing but an age put to them: a rule of thumb in any unit."""

from dataclasses import replace

import numpy as np

from .by_deaths import LIKELIHOOD_FROM, model_by_deaths, reached
from .gates import listed
from .lives import Lives
from .model import LifeModel
from .prior import SPOTS, WEAK_SD, Prior
from .refusal import Refusal


def fit_with_rule(
    lives: Lives, b10: float, *, family: str = "weibull", boat_effect: bool = False
) -> LifeModel | Refusal:
    """The model the deaths allow, with a prior centred on b10, in the unit of the lives.

    Columns that common practice knows by name have its slopes; any other a weak one about 0, said
    in warnings. Raises ValueError unless b10 is above 0.
    """
    prior = Prior(b10=b10, source=f"rule of thumb given: B10 {b10:g}")
    unknown = tuple(n for n in lives.names if n not in prior.slopes and n not in SPOTS)
    prior = prior.with_weak_slopes(_spreads(lives.take(~lives.never_seen), unknown))
    chosen = model_by_deaths(lives, prior, family=family, boat_effect=boat_effect)
    model = chosen.outcome
    if isinstance(model, Refusal):
        return model
    said = [f"{name}: {why}" for name, why in chosen.held.items() if why]
    if unknown:
        said.append(
            f"Common practice knows nothing of {listed(unknown)}: slopes about 0, standard "
            f"deviation {WEAK_SD:g} per standard deviation of the column, and the rule of thumb "
            "speaks of their means."
        )
    if reached(model.deaths, LIKELIHOOD_FROM) and model.sample is None:
        said.append(
            f"{LIKELIHOOD_FROM} deaths or more: maximum likelihood; the rule of thumb only holds "
            "what these lives cannot tell."
        )
    return replace(model, warnings=(*model.warnings, *said))


def _spreads(lives: Lives, names: tuple[str, ...]) -> dict[str, tuple[float, float]]:
    """Column -> its weighted mean and standard deviation."""
    if not len(lives):
        return dict.fromkeys(names, (0.0, 0.0))
    found = {}
    for name in names:
        column = lives.X[:, lives.names.index(name)]
        mean = float(np.average(column, weights=lives.weight))
        spread = float(np.sqrt(np.average((column - mean) ** 2, weights=lives.weight)))
        found[name] = (mean, spread if spread > 1e-9 * abs(mean) else 0.0)
    return found

"""A fit that cannot honestly be given is refused by name, in a sentence a person can act on."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Refusal:
    """Why no model is given.

    reason_code is one of: nothing_left, no_deaths, constant_column, repeated_column, separation,
    no_spread, no_convergence, engines_disagree. columns names the covariates at fault, if any.
    """

    reason_code: str
    sentence: str
    columns: tuple[str, ...] = ()
    left_out: tuple[tuple[str, float], ...] = ()

"""A plan over several off seasons: jobs with their reasons, boats and bases with what they take."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class SeasonJob:
    """One part. season: None where it is left. cost: minor units of that season, set-up not in it.

    deferral: expected cost of sailing one season more without it, whether a rule lets it or not;
    None where it or its pair is condemned: its boat does not sail.
    chance: of being condemned in that season. For a part that is left both are of the first season.
    would_be: the season it were in if nothing were limited (None: in none).
    """

    part: int
    boat: int
    season: int | None
    mast_down: bool
    hours: float
    cost: int
    code: str
    sentence: str
    deferral: int | None
    chance: float
    would_be: int | None


@dataclass(frozen=True)
class BoatSeason:
    """The mast of a boat comes down in a season: its one set-up."""

    boat: int
    base: int
    season: int
    set_up_cost: int
    set_up_hours: float
    crane: float
    yard: float


@dataclass(frozen=True)
class Excess:
    """A limit that no plan keeps, and by how much; base is None for money."""

    kind: str
    base: int | None
    season: int
    limit: float
    over: float


@dataclass(frozen=True)
class Binding:
    """A limit that is used up and costs something: one unit more would save `worth` minor units."""

    kind: str
    base: int | None
    season: int
    limit: float
    worth: float


@dataclass(frozen=True, eq=False)
class SeasonPlan:
    """jobs by boat and part, one for every part; mast_down by boat and season.

    cost: what was minimised, worth today: work, expected cost of what is put off, less what is left
    of new parts. bound: no plan costs less; gap: (cost - bound) / cost. used (rows of
    `Limits.tables`): what the plan takes. condemned_wait: what is condemned could not all be
    renewed in the first season. excess: limits no plan keeps, with the cheapest way to exceed them;
    the plan is then the best with those limits raised so far.
    """

    jobs: tuple[SeasonJob, ...]
    mast_down: tuple[BoatSeason, ...]
    cost: int
    bound: int
    gap: float
    work: int
    put_off: int
    used: dict[str, np.ndarray]
    binding: tuple[Binding, ...]
    condemned_wait: bool
    excess: tuple[Excess, ...]

    @property
    def feasible(self) -> bool:
        return not self.excess

    def of_season(self, season: int) -> tuple[SeasonJob, ...]:
        return tuple(job for job in self.jobs if job.season == season)

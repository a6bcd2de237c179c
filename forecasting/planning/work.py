"""The work of a refit: jobs, the boats that get them, and totals that add to the cent."""

from collections import defaultdict
from dataclasses import dataclass


@dataclass(frozen=True)
class Job:
    """One part to renew. cost: minor units, set-up not in it. deferral: expected cost of putting it
    off one season, None where it may not be put off; chance: condemnable by the season's end."""

    part: int
    boat: int
    reason: str
    sentence: str
    mast_down: bool
    hours: float
    cost: int
    deferral: int | None
    chance: float


@dataclass(frozen=True)
class BoatRefit:
    """A boat's jobs, the weightiest first, with its one set-up and its totals."""

    boat: int
    base: int
    mast_down: bool
    jobs: tuple[Job, ...]
    set_up_hours: float
    set_up_cost: int

    @property
    def hours(self) -> float:
        return self.set_up_hours + sum(job.hours for job in self.jobs)

    @property
    def cost(self) -> int:
        return self.set_up_cost + sum(job.cost for job in self.jobs)

    @property
    def deferral(self) -> int:
        """Expected cost of putting off all that may be put off."""
        return sum(job.deferral or 0 for job in self.jobs)


@dataclass(frozen=True)
class BaseTotal:
    base: int
    boats: int
    jobs: int
    hours: float
    cost: int
    deferral: int


@dataclass(frozen=True)
class RefitList:
    boats: tuple[BoatRefit, ...]

    @property
    def jobs(self) -> tuple[Job, ...]:
        return tuple(job for boat in self.boats for job in boat.jobs)

    @property
    def bases(self) -> tuple[BaseTotal, ...]:
        """Totals of each base that has work, by code."""
        at_base = defaultdict(list)
        for boat in self.boats:
            at_base[boat.base].append(boat)
        return tuple(_base_total(base, at_base[base]) for base in sorted(at_base))

    @property
    def cost(self) -> int:
        return sum(boat.cost for boat in self.boats)

    @property
    def hours(self) -> float:
        return sum(boat.hours for boat in self.boats)


def _base_total(base: int, boats: list[BoatRefit]) -> BaseTotal:
    return BaseTotal(
        base,
        len(boats),
        sum(len(b.jobs) for b in boats),
        sum(b.hours for b in boats),
        sum(b.cost for b in boats),
        sum(b.deferral for b in boats),
    )

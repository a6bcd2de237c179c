"""The story from the top: two plans, their boats, each boat's years, and what the books show."""

from dataclasses import dataclass
from random import Random

from .boats import Boat, make_boats
from .career import Career
from .names import people
from .parts import Look, Part
from .plans import PLANS, SEED, Plan
from .truth import TRUTH, Truth
from .visits import hire


@dataclass(frozen=True)
class Record:
    """The recorded history of one boat."""

    boat: Boat
    parts: tuple[Part, ...]
    looks: tuple[Look, ...]


@dataclass(frozen=True)
class FleetRecord:
    """The recorded history of one fleet. ``seed`` and ``truth`` are what made it."""

    plan: Plan
    records: tuple[Record, ...]
    seed: int
    truth: Truth


def generate(
    seed: int = SEED, truth: Truth = TRUTH, plans: tuple[Plan, ...] = PLANS
) -> list[FleetRecord]:
    """Simulate each fleet. The same seed gives the same history, to the last row."""
    return [_fleet(plan, truth, seed) for plan in plans]


def _fleet(plan: Plan, truth: Truth, seed: int) -> FleetRecord:
    rng = Random(f"{seed}/{plan.slug}")
    persons = people(rng)
    crews = {base.name: hire(rng, persons) for base in plan.bases}
    boats = make_boats(plan, truth, rng, persons)
    return FleetRecord(
        plan, tuple(_record(boat, crews, truth, seed) for boat in boats), seed, truth
    )


def _record(boat: Boat, crews: dict, truth: Truth, seed: int) -> Record:
    own = Random(f"{seed}/{boat.base.name}/{boat.name}")  # no boat's luck moves another's
    parts, looks = Career(boat, crews[boat.base.name], truth, own).run().recorded()
    return Record(boat, tuple(parts), tuple(looks))

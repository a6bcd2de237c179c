"""Making the boats of a plan: design, dates, owners, and how each season was spent."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from random import Random

from .designs import Design
from .names import CLUB_BOATS, boat_names, email
from .plans import AS_OF, Base, Plan
from .truth import Truth
from .wear import Wear


@dataclass(frozen=True)
class Season:
    """One year of one boat. ``noted_miles``: as the log has it, None where nobody noted them."""

    base: Base
    miles: float
    noted_miles: int | None
    unstepped: bool
    service: str


@dataclass
class Boat:
    """One simulated boat. Days are ordinals; ``record_since`` is when its record is complete."""

    name: str
    base: Base
    design: Design
    built: int
    joined: int
    record_since: int
    left: int | None
    planned_exit: int | None
    surveyed: bool
    says_complete_since: bool
    service: str
    unstepped: bool
    owned_by: str
    paid_by: str
    owner: str
    email: str
    age_rule: float | None
    seasons: dict[int, Season] = field(default_factory=dict)
    wear: Wear | None = None

    @property
    def end(self) -> int:
        """The last day there is anything to tell."""
        return min(self.left or AS_OF.toordinal(), AS_OF.toordinal())


def make_boats(plan: Plan, truth: Truth, rng: Random, persons: Iterator[str]) -> list[Boat]:
    """All boats of a plan, base by base, with the seasons behind them and their wear."""
    boats, pools = [], {"club": iter(CLUB_BOATS)}
    for base in plan.bases:
        names = pools.setdefault(base.names, boat_names(rng, base.names))
        boats += [
            _boat(plan, base, design, next(names), rng, persons) for design in _mix(base, rng)
        ]
    _sell(boats, plan.sold, rng)
    for boat in boats:
        _sail(boat, plan, truth, rng)
    return boats


def _mix(base: Base, rng: Random) -> list[Design]:
    special = [design for design, count in base.special for _ in range(count)]
    usual = [base.designs[i % len(base.designs)] for i in range(base.boats - len(special))]
    mixed = special + usual
    rng.shuffle(mixed)
    return mixed


def _boat(
    plan: Plan, base: Base, design: Design, name: str, rng: Random, persons: Iterator[str]
) -> Boat:
    joined = _joined(plan, base, rng)
    built = _built(plan, base, design, joined, rng)
    record_since = max(joined, date(base.record_since, 1, 1).toordinal() + rng.randrange(60))
    record_since = joined if built == joined and joined == record_since else record_since
    service = "private" if rng.random() < base.private else plan.kind
    unstepped = rng.random() < base.unstepped
    return Boat(
        name, base, design, built, joined, record_since,
        left=None,
        planned_exit=_planned_exit(plan, joined, rng),
        surveyed=rng.random() < 0.7,
        says_complete_since=rng.random() < 0.8,
        service=service,
        unstepped=unstepped,
        age_rule=plan.age_rule and plan.age_rule + rng.choice((0, 0, 0, 1, 1, 2, 3)),
        **_parties(plan, service, rng, persons),
    )  # fmt: skip


def _joined(plan: Plan, base: Base, rng: Random) -> int:
    shares = [share for _, _, share in plan.joined]
    first, last, _ = rng.choices(plan.joined, shares)[0]
    year = rng.randint(max(first, base.record_since - 3), max(last, base.record_since - 2))
    joined = date(year, base.off_season[1] + 1, 1)
    joined = joined if joined < AS_OF else joined.replace(year=year - 1)
    return joined.toordinal() - rng.randrange(45)


def _built(plan: Plan, base: Base, design: Design, joined: int, rng: Random) -> int:
    old = design.wire == "galvanised"
    if not old and rng.random() > plan.used:
        return joined
    year = date.fromordinal(joined).year - rng.randint(
        25 if old else 2, 33 if old else plan.oldest_used
    )
    return date(year, rng.randint(2, 6), rng.randint(1, 28)).toordinal()


def _planned_exit(plan: Plan, joined: int, rng: Random) -> int | None:
    """Charter boats under management are due to leave; those due earlier stayed on."""
    if plan.kind != "charter" or rng.random() < 0.55:
        return None
    leaves = date(date.fromordinal(joined).year + rng.randint(10, 18), 10, 31)
    return leaves.toordinal() if leaves > AS_OF else None


def _parties(plan: Plan, service: str, rng: Random, persons: Iterator[str]) -> dict[str, str]:
    if plan.kind == "club" and service == "club":
        return {"owned_by": "operator", "paid_by": "operator", "owner": plan.name, "email": ""}
    if plan.kind == "club" or service == "private" or rng.random() < 0.35:
        owner = next(persons)
        payer = "owner" if plan.kind == "club" or rng.random() < 0.5 else "operator"
        return {"owned_by": "owner", "paid_by": payer, "owner": owner, "email": email(owner)}
    owned_by = "lessor" if rng.random() < 0.4 else "operator"
    owner = "Lantern Bay Boat Leasing" if owned_by == "lessor" else ""
    return {"owned_by": owned_by, "paid_by": "operator", "owner": owner, "email": ""}


def _sell(boats: list[Boat], count: int, rng: Random) -> None:
    """Let some boats go at the end of a season, five years or more after they joined."""
    before = AS_OF.toordinal() - 5 * 365
    for boat in rng.sample([boat for boat in boats if boat.record_since < before], count):
        first = date.fromordinal(boat.record_since).year + 4
        year = rng.randint(first, AS_OF.year - 1)
        boat.left = date(year, boat.base.off_season[0], 1).toordinal() + rng.randrange(25)
        boat.planned_exit = None


def _sail(boat: Boat, plan: Plan, truth: Truth, rng: Random) -> None:
    """Fill in the seasons from the building year on, and the wear that follows from them."""
    sailed, before = (_usual_miles(boat, rng) for _ in range(2))  # earlier people sailed otherwise
    moved_in = _moved_in(boat, plan, rng)
    elsewhere = rng.choice([base for base in plan.bases if base is not boat.base] or [boat.base])
    notes_miles = rng.random() < 0.96
    first, known, last = (
        date.fromordinal(day).year for day in (boat.built, boat.record_since, boat.end)
    )
    for year in range(first, last + 1):
        base = elsewhere if known <= year < moved_in else boat.base
        miles = (sailed if year >= known else before) * math.exp(rng.gauss(0, 0.18))
        noted = round(miles / 10) * 10 if notes_miles and rng.random() < 0.96 else None
        down = boat.unstepped and rng.random() < 0.95
        boat.seasons[year] = Season(base, miles, noted, down, boat.service)
    own = rng.gauss(0, truth.boat_spread) if truth.boat_spread else 0.0
    boat.wear = Wear({year: own + _factor(season, truth) for year, season in boat.seasons.items()})


def _usual_miles(boat: Boat, rng: Random) -> float:
    private = 0.7 if boat.service == "private" else 1.0
    return boat.base.miles * private * math.exp(rng.gauss(0, 0.38))


def _moved_in(boat: Boat, plan: Plan, rng: Random) -> int:
    """First year at the present base; 0 for the many that never moved."""
    years = range(date.fromordinal(boat.joined).year + 3, date.fromordinal(boat.end).year)
    moves = len(plan.bases) > 1 and len(years) > 2 and rng.random() < 0.07
    return rng.choice(years) if moves else 0


def _factor(season: Season, truth: Truth) -> float:
    return truth.boat_years(
        season.base.corrosivity,
        season.miles,
        unstepped=season.unstepped,
        charter=season.service == "charter",
    )

"""When a boat is looked at, decided before and without regard to what will be found."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from random import Random

from .boats import Boat
from .parts import Visit


@dataclass(frozen=True)
class Crew:
    """The people of one base who look at rigs."""

    riggers: tuple[str, ...]
    hands: tuple[str, ...]
    surveyor: str


def hire(rng: Random, persons: Iterator[str]) -> Crew:
    names = [next(persons) for _ in range(8)]
    return Crew(tuple(names[:3]), tuple(names[3:7]), names[7])


def planned(boat: Boat, crew: Crew, rng: Random) -> Iterator[tuple[int, Visit]]:
    """Yield (day, visit) for the routine of all years since the boat was built."""
    routine = _club_year if boat.base.names == "club" else _charter_year
    first, last = (date.fromordinal(day).year for day in (boat.built, boat.end))
    phase = rng.randrange(4)
    for year in range(first, last + 1):
        for day, visit in routine(boat, crew, rng, year, phase):
            if boat.built + 20 < day <= boat.end:
                yield day, visit


def _charter_year(
    boat: Boat, crew: Crew, rng: Random, year: int, phase: int
) -> Iterator[tuple[int, Visit]]:
    """Deck checks before and late in the season; after it, aloft or with the mast down."""
    begins, ends = boat.base.off_season
    opened = _near(rng, date(year, ends, 25), 12)
    if rng.random() < 0.93:
        yield opened, deck(crew, rng)
    if rng.random() < 0.75:
        yield opened + 168 + round(rng.gauss(0, 22)), deck(crew, rng)
    every = 2 if boat.unstepped else 4
    down = (year + phase) % every == 0
    if rng.random() < (0.94 if down else 0.92):
        over = date(year, begins, 20)
        yield _near(rng, over, 25), (mast_down if down else aloft)(crew, rng)


def _club_year(
    boat: Boat, crew: Crew, rng: Random, year: int, phase: int
) -> Iterator[tuple[int, Visit]]:
    """The owner looks in spring and sometimes in autumn; the mast is seen on its trestles."""
    if rng.random() < 0.8:
        yield _near(rng, date(year, 5, 12), 12), owner_look(boat, crew, rng)
    if rng.random() < 0.3:
        yield _near(rng, date(year, 8, 25), 15), owner_look(boat, crew, rng)
    if rng.random() < (0.45 if boat.unstepped else 0.3):
        yield _near(rng, date(year, 2, 20), 25), mast_down(crew, rng)
    elif rng.random() < 0.15:
        yield _near(rng, date(year, 6, 25), 20), aloft(crew, rng)


def _near(rng: Random, day: date, spread: float) -> int:
    return day.toordinal() + round(max(-3.0, min(3.0, rng.gauss(0, 1))) * spread)


def deck(crew: Crew, rng: Random) -> Visit:
    if rng.random() < 0.2:
        return Visit("deck", rng.choice(crew.riggers), "rigger", "eye")
    return Visit("deck", rng.choice(crew.hands), "crew", "eye")


def owner_look(boat: Boat, crew: Crew, rng: Random) -> Visit:
    owner = boat.owner if boat.service == "private" else ""
    return Visit("deck", owner or rng.choice(crew.hands), "crew", "eye")


def aloft(crew: Crew, rng: Random) -> Visit:
    return Visit("aloft", rng.choice(crew.riggers), "rigger", rng.choice(("eye", "loupe", "loupe")))


def mast_down(crew: Crew, rng: Random) -> Visit:
    method = rng.choice(("loupe", "loupe", "penetrant"))
    return Visit("mast_down", rng.choice(crew.riggers), "rigger", method)


def survey(crew: Crew, why: str, note: str) -> Visit:
    return Visit("mast_down", crew.surveyor, "surveyor", "penetrant", why=why, note=note)

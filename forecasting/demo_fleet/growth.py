"""A charter fleet of any size, for seeing what grows with a fleet: many bases on many grounds."""

from dataclasses import dataclass, replace

from .designs import BLUE_WATER, PERFORMANCE
from .plans import CHARTER_PLAN, Base, Plan

FEWEST, MOST = 10, 2_000  # beyond, the workbook would have more cells than are read
BOATS_A_BASE = 40  # of the bases opened one after the other, until all are open
LEFT = 0.08  # boats that have left, per boat in the fleet


@dataclass(frozen=True)
class Ground:
    """A cruising ground, the season when its boats lie ashore, and how far they sail in a year."""

    name: str
    corrosivity: str
    en_factor: int | None
    off_season: tuple[int, int]
    miles: float
    harbours: tuple[str, ...]
    unstepped: float = 0.0


# In the order in which a growing fleet goes there. Names are invented.
GROUNDS = (
    Ground("Thornquay Roads", "C4", -14, (11, 3), 2200,
           ("Thornquay", "Ember Haven", "Low Sallow"), unstepped=0.4),
    Ground("Brannel Reach", "C5", -21, (11, 3), 2900,
           ("Marina Brannel", "Port Essary", "Ottermouth")),
    Ground("Sabrel Cays", "CX", None, (6, 10), 3500,
           ("Sabrel Cay", "Windle Cay", "Port Amarisk")),
    Ground("Dorvik Skerries", "C3", -11, (10, 4), 1300,
           ("Dorvik", "Elskerhavn", "Nordre Kviteng"), unstepped=0.8),
    Ground("Gulf of Messara Vale", "C5", -20, (11, 3), 3000,
           ("Porto Levanta", "Marina Ostrale", "Cala Fennia")),
    Ground("Quarrin Sound", "C4", -16, (11, 3), 2400,
           ("Quarrin", "Ashmere Haven", "Port Tolver"), unstepped=0.3),
    Ground("Tamberi Islands", "CX", None, (5, 9), 3700,
           ("Tamberi Lagoon", "Coral Gate", "Mahulo Bay")),
    Ground("Hollin Lakes", "C2", None, (10, 4), 800,
           ("Hollin Foot", "Upper Hollin", "Staithe End"), unstepped=0.7),
)  # fmt: skip
THEMES = ("birds", "sky", "shore")


def plan_of(boats: int) -> Plan:
    """A plan of one fleet with so many boats in it, besides those that have left.

    Raises ValueError for a size outside FEWEST to MOST.
    """
    if not FEWEST <= boats <= MOST:
        raise ValueError(f"A fleet has from {FEWEST} to {MOST:,} boats.")
    sold = round(LEFT * boats)
    return replace(
        CHARTER_PLAN,
        name="Thornquay Charter Union",
        slug="thornquay",
        sold=sold,
        bases=tuple(_bases(boats + sold)),
    )


def _bases(boats: int) -> list[Base]:
    """The first bases to be opened, and an even share of the boats for each."""
    rounds = range(max(len(ground.harbours) for ground in GROUNDS))
    places = [(ground, ground.harbours[n]) for n in rounds for ground in GROUNDS]
    opened = places[: max(1, min(len(places), boats // BOATS_A_BASE))]
    share, over = divmod(boats, len(opened))
    return [
        _base(ground, harbour, share + (number < over), number)
        for number, (ground, harbour) in enumerate(opened)
    ]


def _base(ground: Ground, harbour: str, boats: int, number: int) -> Base:
    return Base(
        harbour,
        ground.name,
        ground.corrosivity,
        ground.en_factor,
        ground.off_season,
        rigger_hours=27 * boats,
        boats=boats,
        names=THEMES[number % len(THEMES)],
        record_since=2011 + 3 * number // len(GROUNDS),
        miles=ground.miles,
        designs=BLUE_WATER,
        special=((PERFORMANCE, boats // 25),),
        unstepped=ground.unstepped,
        mechanical=0.1 + 0.05 * (number % 4),
    )

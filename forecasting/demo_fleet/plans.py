"""The two invented fleets as planned: grounds, bases, rules. Luck comes later."""

from dataclasses import dataclass
from datetime import date

from .designs import CHARTER, CLUB, OLD_TIMER, PERFORMANCE, Design

AS_OF = date(2026, 10, 14)
SEED = 20  # a story with a boat held on every charter ground; any other seed is as true


@dataclass(frozen=True)
class Base:
    """A base and how boats are kept there.

    ``record_since``: year its books begin. ``unstepped``: share of boats whose mast comes down each
    off season. ``mechanical``: share of wires its riggers make up with mechanical lower terminals.
    ``miles``: median nautical miles a boat sails in a season.
    """

    name: str
    ground: str
    corrosivity: str
    en_factor: int | None
    off_season: tuple[int, int]
    rigger_hours: int
    boats: int
    names: str
    record_since: int
    miles: float
    designs: tuple[Design, ...]
    special: tuple[tuple[Design, int], ...] = ()
    unstepped: float = 0.0
    mechanical: float = 0.1
    private: float = 0.1


@dataclass(frozen=True)
class Plan:
    """One fleet: its settings as the program keeps them, its bases, and how its boats come and go.

    ``used``: share of boats that joined used. ``sold``: boats that have left by the as-of date.
    ``age_rule``: age in years at which wires are renewed whatever they look like, None for no rule.
    ``risk_limit``: the chance per boat that something stands condemned unseen at which it inspects.
    """

    name: str
    slug: str
    kind: str
    time_zone: str
    off_season: tuple[int, int]
    fiscal_year_start: int
    boats_owned_by: str
    rigging_paid_by: str
    deck_check_months: int
    aloft_months: int
    mast_down_months: int
    bases: tuple[Base, ...]
    age_rule: float | None
    risk_limit: float
    used: float
    sold: int
    joined: tuple[tuple[int, int, float], ...]  # first year, last year, share of the boats
    oldest_used: int


CHARTER_PLAN = Plan(
    name="Vessmark Charter",
    slug="vessmark",
    kind="charter",
    time_zone="Europe/Lisbon",
    off_season=(11, 3),
    fiscal_year_start=11,
    boats_owned_by="operator",
    rigging_paid_by="operator",
    deck_check_months=6,
    aloft_months=12,
    mast_down_months=48,
    age_rule=10.0,
    risk_limit=0.25,
    used=0.35,
    sold=11,
    joined=((2010, 2012, 0.40), (2013, 2018, 0.37), (2019, 2023, 0.18), (2024, 2026, 0.05)),
    oldest_used=9,
    bases=(
        Base(
            name="Port Carrow", ground="Carrow Sound", corrosivity="C4", en_factor=-15,
            off_season=(11, 3), rigger_hours=900, boats=38, names="birds", record_since=2011,
            miles=2300, designs=CHARTER, special=((PERFORMANCE, 4),), unstepped=0.4,
            mechanical=0.12, private=0.18,
        ),
        Base(
            name="Marina Velun", ground="Velun Channel", corrosivity="C5", en_factor=-22,
            off_season=(11, 3), rigger_hours=1000, boats=36, names="sky", record_since=2011,
            miles=3000, designs=CHARTER, special=((PERFORMANCE, 3),), mechanical=0.2,
        ),
        Base(
            name="Quill Cay", ground="Quill Cays", corrosivity="CX", en_factor=None,
            off_season=(6, 10), rigger_hours=700, boats=26, names="shore", record_since=2014,
            miles=3600, designs=CHARTER[2:], mechanical=0.3, private=0.08,
        ),
    ),
)  # fmt: skip
CLUB_PLAN = Plan(
    name="Lysnevik Sailing Club",
    slug="lysnevik",
    kind="club",
    time_zone="Europe/Oslo",
    off_season=(10, 4),
    fiscal_year_start=1,
    boats_owned_by="owner",
    rigging_paid_by="owner",
    deck_check_months=12,
    aloft_months=24,
    mast_down_months=36,
    age_rule=None,
    risk_limit=0.2,
    used=0.8,
    sold=2,
    joined=((2010, 2013, 0.6), (2014, 2020, 0.3), (2021, 2024, 0.1)),
    oldest_used=24,
    bases=(
        Base(
            name="Lysnevik", ground="Lysne Fjord", corrosivity="C3", en_factor=-10,
            off_season=(10, 4), rigger_hours=120, boats=22, names="club", record_since=2012,
            miles=800, designs=CLUB, special=((OLD_TIMER, 1),), unstepped=0.92, mechanical=0.25,
            private=0.82,
        ),
    ),
)  # fmt: skip
PLANS = (CHARTER_PLAN, CLUB_PLAN)


@dataclass(frozen=True)
class BadBatch:
    """Ends made up with one bad batch of terminals: where and when they were fitted."""

    base: str = "Marina Velun"
    since: date = date(2018, 10, 1)
    until: date = date(2019, 5, 31)


BAD_BATCH = BadBatch()

"""What the planner of several off seasons is asked: parts, boats, limits. Values only.

Season y is the y-th off season from now, followed by its sailing season y. A part renewed in off
season y sails the seasons before it as the old part. Money is in integer minor units of today.
"""

from dataclasses import dataclass

import numpy as np

FREE, NO_DUE = -1, -1
KINDS_OF_LIMIT = ("money", "hours", "crane", "yard")


@dataclass(frozen=True, eq=False)
class SeasonParts:
    """(P,) standing parts; (P, Y) by season.

    part, boat      int codes
    pair            int code shared by both sides of a pair (renewed together), -1 without one
    condemned       bool, judged *replace*: its boat does not sail until it is renewed
    due, due_code   last season in which a rule lets it be renewed, NO_DUE without; whose rule
    price           of the new part; up_price: what comes on top with the mast up
    hours_down, hours_up   to fit it with the mast down, up
    needs_mast_down bool, cannot be renewed with the mast up
    unplanned       cost of the same renewal when it comes unplanned
    failure         cost of a failure in service on top
    chance, failing (P, Y) of becoming condemnable, and of letting go, in each sailing season
    worth           (P, Y) what is left of the new part's value after the last season, by the
                    season in which it was fitted
    single          bool, one of the wires of which only so many are renewed one by one, mast up
    pinned          season it is held to by hand, Y for "not in these seasons", FREE
    """

    part: np.ndarray
    boat: np.ndarray
    pair: np.ndarray
    condemned: np.ndarray
    due: np.ndarray
    due_code: np.ndarray
    price: np.ndarray
    up_price: np.ndarray
    hours_down: np.ndarray
    hours_up: np.ndarray
    needs_mast_down: np.ndarray
    unplanned: np.ndarray
    failure: np.ndarray
    chance: np.ndarray
    failing: np.ndarray
    worth: np.ndarray
    single: np.ndarray
    pinned: np.ndarray

    @property
    def seasons(self) -> int:
        return self.chance.shape[1]


@dataclass(frozen=True, eq=False)
class SeasonBoats:
    """(B,) boats, one for every boat a part names.

    set_up_cost, set_up_hours   mast down and up again, once a season for all jobs of the boat
    crane, yard     what its mast-down season takes of the base's crane lifts and yard slots
    unstepped       bool, its mast comes down every off season anyway: set-up is not the plan's
    hour_rate       a rigger's hour; idle: cost of a season it may not sail
    leaves          number of seasons it is in the fleet; no part is renewed later, none put off
    """

    boat: np.ndarray
    base: np.ndarray
    set_up_cost: np.ndarray
    set_up_hours: np.ndarray
    crane: np.ndarray
    yard: np.ndarray
    unstepped: np.ndarray
    hour_rate: np.ndarray
    idle: np.ndarray
    leaves: np.ndarray


@dataclass(frozen=True, eq=False)
class Limits:
    """What there is: money (Y,) for all, the rest (K, Y) by base; inf where there is no limit.

    base (K,): codes, each base of a boat once. hours: riggers'; crane: lifts; yard: slots.
    """

    base: np.ndarray
    money: np.ndarray
    hours: np.ndarray
    crane: np.ndarray
    yard: np.ndarray

    def tables(self) -> dict[str, np.ndarray]:
        """(rows, Y) of each kind of limit, one row for the whole fleet's money."""
        return {"money": self.money[None, :], **{k: getattr(self, k) for k in KINDS_OF_LIMIT[1:]}}


@dataclass(frozen=True)
class MoneyRules:
    """discount, growth: a season's interest on money spent later, and growth of all prices.
    single_jobs: so many wires of a boat are renewed in one season with its mast up, at most.
    over: what one more hour, lift, slot would cost where a limit cannot be kept (minor units)."""

    discount: float = 0.0
    growth: float = 0.0
    single_jobs: float = np.inf
    over_hours: float = 8_000.0
    over_crane: float = 60_000.0
    over_yard: float = 40_000.0


@dataclass(frozen=True, eq=False)
class SeasonProblem:
    """One question to the planner. ValueError, in words, for what does not go together."""

    parts: SeasonParts
    boats: SeasonBoats
    limits: Limits
    money: MoneyRules = MoneyRules()

    def __post_init__(self) -> None:
        _known(self.parts.boat, self.boats.boat, "Boat {} carries parts but is not among the boats")
        _known(self.boats.base, self.limits.base, "Base {} has boats but is not among the limits")
        _once(self.boats.boat, "Boat {} is given twice")
        _once(self.parts.part, "Part {} is given twice")
        _pairs_on_one_boat(self.parts)
        _not_negative(self.parts, _PARTS)
        _not_negative(self.boats, _BOATS)
        _not_negative(self.limits, KINDS_OF_LIMIT)
        _shapes(self.parts, self.limits)


_PARTS = (
    "price",
    "up_price",
    "hours_down",
    "hours_up",
    "unplanned",
    "failure",
    "chance",
    "failing",
)
_BOATS = ("set_up_cost", "set_up_hours", "crane", "yard", "hour_rate", "idle")


def _known(codes: np.ndarray, among: np.ndarray, words: str) -> None:
    strangers = np.setdiff1d(codes, among)
    if strangers.size:
        raise ValueError(words.format(strangers[0]) + ".")


def _once(codes: np.ndarray, words: str) -> None:
    found, count = np.unique(codes, return_counts=True)
    if (count > 1).any():
        raise ValueError(words.format(found[count > 1][0]) + ".")


def _pairs_on_one_boat(parts: SeasonParts) -> None:
    paired = parts.pair >= 0
    ends = np.unique(np.column_stack((parts.pair[paired], parts.boat[paired])), axis=0)
    _once(ends[:, 0], "Pair {} is on two boats")


def _not_negative(table, names: tuple[str, ...]) -> None:
    for name in names:
        values = np.asarray(getattr(table, name), dtype=float)
        if not (values >= 0).all():
            raise ValueError(f"{name} must be 0 or more, and a number, everywhere.")


def _shapes(parts: SeasonParts, limits: Limits) -> None:
    seasons, bases = parts.seasons, limits.base.size
    if seasons < 1:
        raise ValueError("A plan needs at least one season.")
    for name, table in limits.tables().items():
        rows = 1 if name == "money" else bases
        if table.shape != (rows, seasons):
            raise ValueError(f"Limits of {name} are {table.shape}, not {(rows, seasons)}.")
    for name in ("pinned", "due"):
        values = getattr(parts, name)
        if not ((values >= FREE) & (values <= seasons)).all():
            raise ValueError(f"{name} names a season beyond the plan.")

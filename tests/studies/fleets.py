"""Invented fleets with a known truth, in columns, and the ways their record can be read.

``sail(world, seed)`` gives the log of a fleet: what was fitted, looked at, found and renewed.
``lives(log, READINGS["right"])`` gives the rows of a fit from it, rightly or as a shortcut would.
Written apart from ``forecasting.life_data``, so that neither can hide a fault of the other.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from forecasting.survival import Lives
from forecasting.survival.back_test import Trials

SPOTS = ("lower", "run", "upper")
COVARIATES = ("severity", "log2_miles", "rod", "mechanical", "unstepped", "charter")
SLOPES = {
    "severity": -0.19, "log2_miles": -0.10, "rod": 0.15, "mechanical": 0.0,
    "unstepped": 0.10, "charter": -0.10,
}  # fmt: skip
STANDING, CONDEMNED, AGE_RULE = 0, 1, 2


@dataclass(frozen=True)
class World:
    """The truth: how long wires last, and how the fleet is kept. Ages and times in years.

    years: how far back the oldest record reaches. late: share of boats that were built before their
    record starts. age_rule, ruled: the age at which wires are renewed unasked, at a look aloft, and
    the share of boats that keep to it. spread: sd of log life between boats. stops: a look ends at
    the first sign that condemns, bottom first. B10 is of a whole wire on the reference boat.
    """

    boats: int = 250
    wires: int = 8
    years: float = 20.0
    shape: float = 3.0
    b10: float = 9.0
    shares: tuple[float, float, float] = (0.60, 0.15, 0.25)
    slopes: Mapping[str, float] = field(default_factory=lambda: dict(SLOPES))
    spread: float = 0.0
    late: float = 0.7
    age_rule: float = 12.0
    ruled: float = 0.5
    deck_every: float = 0.5
    aloft_every: float = 2.0
    stops: bool = True

    @property
    def parameters(self) -> dict[str, float]:
        """The truth in the terms of a fit: intercept, run, upper, slopes, log_sigma."""
        sigma = 1 / self.shape
        log_eta = np.log(self.b10) - sigma * np.log(-np.log(0.9))
        log_shares = np.log(self.shares)
        return {
            "intercept": log_eta - sigma * log_shares[0],
            "run": sigma * (log_shares[0] - log_shares[1]),
            "upper": sigma * (log_shares[0] - log_shares[2]),
            **self.slopes,
            "log_sigma": np.log(sigma),
        }


@dataclass(frozen=True, eq=False)
class Log:
    """What was written down of a fleet. Times in years, 0 is the last day.

    Parts (P rows): boat, fitted, removed (inf: stands), reason, X (P, 6) named COVARIATES.
    Boats (B): starts, when the record begins; effect, on log life. Sights, in order of time (M):
    part, spot (0 lower, 1 run, 2 upper), at, good (else condemned).
    """

    world: World
    boat: np.ndarray
    fitted: np.ndarray
    removed: np.ndarray
    reason: np.ndarray
    X: np.ndarray
    starts: np.ndarray
    effect: np.ndarray
    sight_part: np.ndarray
    sight_spot: np.ndarray
    sight_at: np.ndarray
    sight_good: np.ndarray


@dataclass(frozen=True)
class Reading:
    """How a log becomes lives. All false is right; each flag is a shortcut somebody takes."""

    found_on_the_day: bool = False  # condemned: died on the day it was found
    alive_today: bool = False  # not condemned: alive today, or on the day it was renewed
    ignore_truncation: bool = False  # older than the record: entered new
    age_renewals_die: bool = False  # renewed by the age rule: dead that day
    midpoint: bool = False  # condemned: died midway between its last sight and that day
    whole_sights_only: bool = False  # one row a wire; a deck check counts for nothing
    deck_as_whole: bool = False  # one row a wire; a deck check has seen all of it


READINGS = {
    "right": Reading(),
    "found on the day": Reading(found_on_the_day=True),
    "alive today": Reading(alive_today=True),
    "found on the day, alive today": Reading(found_on_the_day=True, alive_today=True),
    "truncation ignored": Reading(ignore_truncation=True),
    "age renewals as deaths": Reading(age_renewals_die=True),
    "midpoint": Reading(midpoint=True),
    "whole sights only": Reading(whole_sights_only=True),
    "deck check as whole sight": Reading(deck_as_whole=True),
}


# -- the log


def sail(world: World, seed: int) -> Log:
    """Return the log of one fleet; the same seed gives the same fleet."""
    rng = np.random.default_rng(seed)
    boats = _boats(world, rng)
    wires = _Wires(world, boats, rng)
    wires.before_the_record()
    steps = round(world.years / world.deck_every)
    each = round(world.aloft_every / world.deck_every)
    phase = rng.random(world.boats) * world.deck_every
    turn = rng.integers(0, each, world.boats)
    for k in range(steps):
        at = boats["starts"] + phase + k * world.deck_every
        wires.look(at[wires.boat], ((k + turn) % each == 0)[wires.boat])
    return wires.log()


def _boats(world: World, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Boats built over thirty years; of the late ones the record starts some years after."""
    n = world.boats
    late = rng.random(n) < world.late
    built = np.where(late, rng.uniform(-30, -6, n), rng.uniform(-world.years, -1, n))
    starts = np.where(late, rng.uniform(np.clip(built, -world.years, -4), -3), built)
    X = np.column_stack(
        [
            rng.choice([-1.0, 0.0, 1.0, 2.0], n),
            rng.normal(0, 0.8, n).clip(-3, 2),
            rng.random(n) < 0.2,
            rng.random(n) < 0.25,
            rng.random(n) < 0.4,
            rng.random(n) < 0.5,
        ]
    ).astype(float)
    rule = np.where(rng.random(n) < world.ruled, world.age_rule, np.inf)
    effect = world.spread * rng.standard_normal(n)
    return {"built": built, "starts": starts, "X": X, "rule": rule, "effect": effect}


class _Wires:
    """What stands in each place now (boats x wires), and all that was written down so far."""

    def __init__(self, world: World, boats: dict[str, np.ndarray], rng: np.random.Generator):
        self.world, self.boats, self.rng = world, boats, rng
        self.boat = np.repeat(np.arange(world.boats), world.wires)
        self.rule = boats["rule"][self.boat]
        self.fitted = boats["built"][self.boat]
        self.dies = self.new_lives(np.arange(self.boat.size))
        self.part = np.arange(self.boat.size)
        self.places, self.fittings = [self.part], [self.fitted]
        self.ended: list[tuple[np.ndarray, ...]] = []
        self.sights: list[tuple[np.ndarray, ...]] = []
        self.count = self.boat.size

    def new_lives(self, places: np.ndarray) -> np.ndarray:
        """(n, 3) ages at which each spot of new wires becomes condemnable."""
        truth, boat = self.world.parameters, self.boat[places]
        slopes = np.array([truth[name] for name in COVARIATES])
        location = truth["intercept"] + self.boats["X"][boat] @ slopes + self.boats["effect"][boat]
        spots = np.array([0.0, truth["run"], truth["upper"]])
        noise = np.log(self.rng.exponential(size=(places.size, 3)))
        return np.exp(location[:, None] + spots + np.exp(truth["log_sigma"]) * noise)

    def before_the_record(self) -> None:
        """What died before the record starts was renewed then, and nobody wrote it down."""
        starts = self.boats["starts"][self.boat]
        while True:
            ends = self.fitted + np.minimum(self.dies.min(axis=1), self.rule)
            gone = np.flatnonzero(ends < starts)
            if not gone.size:
                break
            self.fitted[gone] = ends[gone]
            self.dies[gone] = self.new_lives(gone)
        self.fittings[0] = self.fitted.copy()

    def look(self, at: np.ndarray, aloft: np.ndarray) -> None:
        """One look at every place by its boat's calendar; what it condemns is renewed that day."""
        open_ = at <= 0
        age = at - self.fitted
        dead = self.dies < age[:, None]
        seen = np.column_stack([open_, open_ & aloft, open_ & aloft])
        if self.world.stops:
            seen[:, 1] &= ~dead[:, 0]
            seen[:, 2] &= ~dead[:, 0] & ~dead[:, 1]
        place, spot = np.nonzero(seen)
        self.sights.append((self.part[place], spot, at[place], ~dead[place, spot]))
        condemned = (seen & dead).any(axis=1)
        too_old = open_ & aloft & ~condemned & (age >= self.rule)
        gone = np.flatnonzero(condemned | too_old)
        self.renew(gone, at[gone], np.where(condemned[gone], CONDEMNED, AGE_RULE))

    def renew(self, places: np.ndarray, at: np.ndarray, reason: np.ndarray) -> None:
        self.ended.append((self.part[places], at, reason))
        self.part[places] = self.count + np.arange(places.size)
        self.count += places.size
        self.places.append(places)
        self.fittings.append(at)
        self.fitted[places] = at
        self.dies[places] = self.new_lives(places)

    def log(self) -> Log:
        boat = self.boat[np.concatenate([np.arange(self.boat.size), *self.places[1:]])]
        removed, reason = np.full(self.count, np.inf), np.zeros(self.count, int)
        part, at, why = (np.concatenate(column) for column in zip(*self.ended, strict=True))
        removed[part], reason[part] = at, why
        sights = [np.concatenate(column) for column in zip(*self.sights, strict=True)]
        order = np.argsort(sights[2], kind="stable")
        return Log(
            self.world, boat, np.concatenate(self.fittings), removed, reason,
            self.boats["X"][boat], self.boats["starts"], self.boats["effect"],
            *(column[order] for column in sights),
        )  # fmt: skip


# -- its readings


def lives(log: Log, reading: Reading | None = None, as_of: float = 0.0) -> Lives:
    """Return the rows of a fit as that reading takes the log on a day; clusters are boats.

    One row a spot with columns run, upper and COVARIATES; one row a wire, without the first two,
    where the reading knows no spots.
    """
    reading = reading or READINGS["right"]
    if reading.whole_sights_only or reading.deck_as_whole:
        return _whole_lives(log, reading, as_of)
    parts = np.repeat(np.flatnonzero(log.fitted <= as_of), 3)
    spot = np.tile(np.arange(3), parts.size // 3)
    good_at, dead_at = spot_days(log, as_of)
    X = np.column_stack([spot == 1, spot == 2, log.X[parts]])
    names = ("run", "upper", *COVARIATES)
    return _lives(log, reading, as_of, parts, good_at[parts, spot], dead_at[parts, spot],
                  spot == 0, X, names)  # fmt: skip


def spot_days(log: Log, as_of: float) -> tuple[np.ndarray, np.ndarray]:
    """(P, 3) the last day each spot was seen good (-inf: never) and was condemned (inf: not)."""
    known = log.sight_at <= as_of
    part, spot = log.sight_part[known], log.sight_spot[known]
    at, good = log.sight_at[known], log.sight_good[known]
    good_at = np.full((log.fitted.size, 3), -np.inf)
    dead_at = np.full((log.fitted.size, 3), np.inf)
    np.maximum.at(good_at, (part[good], spot[good]), at[good])
    dead_at[part[~good], spot[~good]] = at[~good]
    return good_at, dead_at


def _whole_lives(log: Log, reading: Reading, as_of: float) -> Lives:
    good_at, dead_at = spot_days(log, as_of)
    died = dead_at.min(axis=1)
    last = good_at[:, 0] if reading.deck_as_whole else good_at[:, 2]
    same_look = last >= died  # the lower end passed at the look that condemned the rest
    if same_look.any():
        last = np.where(same_look, _last_before(log, died), last)
    parts = np.flatnonzero(log.fitted <= as_of)
    return _lives(log, reading, as_of, parts, last[parts], died[parts],
                  np.ones(parts.size, bool), log.X[parts], COVARIATES)  # fmt: skip


def _last_before(log: Log, died: np.ndarray) -> np.ndarray:
    """(P,) the last look at each lower end before the day its wire was condemned."""
    counts = log.sight_good & (log.sight_spot == 0) & (log.sight_at < died[log.sight_part])
    last = np.full(died.size, -np.inf)
    np.maximum.at(last, log.sight_part[counts], log.sight_at[counts])
    return last


def _lives(
    log: Log,
    reading: Reading,
    as_of: float,
    parts: np.ndarray,
    good_at: np.ndarray,
    dead_at: np.ndarray,
    first: np.ndarray,
    X: np.ndarray,
    names: tuple[str, ...],
) -> Lives:
    """Days become ages; ``first`` marks the one row of a wire that a naive death is put to."""
    fitted, removed = log.fitted[parts], log.removed[parts]
    entry = np.maximum(log.starts[log.boat[parts]] - fitted, 0.0)
    entry = np.zeros_like(entry) if reading.ignore_truncation else entry
    good = np.maximum(good_at - fitted, entry)
    condemned = dead_at - fitted
    if reading.alive_today:
        until = np.minimum(removed, as_of) - fitted
        good = np.where(np.isinf(condemned), np.maximum(until, good), good)
    failed = np.full(parts.size, np.nan)
    dead = np.isfinite(condemned)
    if reading.age_renewals_die:
        by_rule = first & ~dead & (log.reason[parts] == AGE_RULE) & (removed <= as_of)
        failed[by_rule] = (removed - fitted)[by_rule]
    if reading.found_on_the_day:
        failed[dead] = condemned[dead]
    if reading.midpoint:
        failed[dead] = 0.5 * (good[dead] + condemned[dead])
    condemned = np.where(np.isnan(failed), condemned, np.inf)
    return Lives(entry=entry, good=good, condemned=condemned, failed=failed,
                 cluster=log.boat[parts], X=X, names=names)  # fmt: skip


# -- later looks


def trials(log: Log, after: float, until: float) -> Trials:
    """Return every look at a spot in (after, until] as a trial, from the sight before it."""
    key = log.sight_part * 3 + log.sight_spot
    order = np.lexsort((log.sight_at, key))
    key, at, good = key[order], log.sight_at[order], log.sight_good[order]
    part, spot = key // 3, key % 3
    entry = np.maximum(log.starts[log.boat[part]], log.fitted[part])
    before = np.where(np.diff(key, prepend=-1) == 0, np.append(-np.inf, at[:-1]), -np.inf)
    start = np.maximum(before, entry) - log.fitted[part]
    end = at - log.fitted[part]
    asked = (at > after) & (at <= until) & (end > start)
    part, spot = part[asked], spot[asked]
    return Trials(
        boat=log.boat[part],
        start=start[asked],
        end=end[asked],
        outcome=1.0 - good[asked],
        X=np.column_stack([spot == 1, spot == 2, log.X[part]]).astype(float),
        names=("run", "upper", *COVARIATES),
    )

"""One boat's years, day by day: what goes, who looks, what is found, what is renewed.

The truth draws the day each spot goes; nobody on board knows it. Looks are planned without it.
"""

import heapq
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from itertools import count
from random import Random

from . import renewals
from .boats import Boat
from .designs import Stay
from .making import make
from .parts import Look, Part, Visit, reach
from .sightings import Seen, sight
from .truth import Truth
from .visits import Crew, planned, survey


class Career:
    """Runs a boat from the day it was built; ``parts`` and ``looks`` then hold its history."""

    def __init__(self, boat: Boat, crew: Crew, truth: Truth, rng: Random) -> None:
        self.boat, self.crew, self.truth, self.rng = boat, crew, truth, rng
        self.parts: list[Part] = []
        self.up: dict[tuple, Part] = {}
        self.looks: list[Look] = []
        self.to_renew: list[Part] = []
        self.held_until = 0
        self._agenda: list[tuple[int, int, Callable, tuple]] = []
        self._order = count()

    def at(self, day: int, do: Callable, *what: object) -> None:
        """Put ``do(day, *what)`` on the agenda; what falls after the boat's last day never is."""
        if day <= self.boat.end:
            heapq.heappush(self._agenda, (day, next(self._order), do, what))

    def run(self) -> "Career":
        """Live through it all."""
        for stay in self.boat.design.stays():
            for kind in stay.kinds:
                self.fit(stay, kind, self.boat.built)
        self._plan()
        while self._agenda:
            day, _, do, what = heapq.heappop(self._agenda)
            do(day, *what)
        if self.boat.left:
            for part in list(self.up.values()):
                self.take_down(part, self.boat.left, "boat_left")
        return self

    def _plan(self) -> None:
        if self.boat.record_since > self.boat.built:
            self.at(self.boat.record_since, self.open_record)
        for day, visit in planned(self.boat, self.crew, self.rng):
            self.at(day, self.look, visit)
        for day, do in renewals.chances(self.boat, self.rng):
            self.at(day, partial(do, self))

    def fit(self, stay: Stay, kind: str, day: int) -> Part:
        """Fit a new part in that place."""
        fitter = self.rng.choice(self.crew.riggers)
        part = make(self.boat, stay, kind, day, self.truth, self.rng, fitter)
        return self.put_up(part)

    def put_up(self, part: Part) -> Part:
        """Set a part in its place; should nobody condemn it in time, it will let go one day."""
        self.parts.append(part)
        self.up[part.place] = part
        day, _ = part.breaks
        if day < self.boat.end:
            self.at(int(day) + 1, partial(renewals.let_go, self), part)
        return part

    def take_down(self, part: Part, day: int, reason: str, spot: str = "") -> None:
        part.remove(day, reason, spot)
        del self.up[part.place]

    def wires(self) -> list[Part]:
        """The wires that are up, condemned or not."""
        return [part for part in self.up.values() if part.kind == "wire"]

    def look(self, day: int, visit: Visit) -> None:
        """Look at the boat, unless she lies held in the yard and this was only routine."""
        routine = visit.why == "planned"
        if routine and day <= self.held_until:
            return
        if any(past.day == day for past in self.looks[-3:]):
            if not routine:
                self.at(day + 1, self.look, visit)
            return
        taken, seen = sight(self, day, visit)
        self.looks.append(taken)
        self._follow_up(day, visit, seen)

    def _follow_up(self, day: int, visit: Visit, seen: Seen) -> None:
        """Condemned parts are renewed, a rigger sees the doubtful, the watched are seen again."""
        for part, spot in seen.condemned:
            part.condemned, part.ended_at = day, spot
        if seen.condemned:
            renewals.plan(self, day, [part for part, _ in seen.condemned], visit)
        if seen.doubtful:
            rigger = Visit("deck", self.rng.choice(self.crew.riggers), "rigger", "loupe", "rigger")
            self.at(day + self.rng.randint(5, 14), self.look, rigger)
        if seen.watched and self.rng.random() < 0.9:
            self._look_again(day, visit, seen.watched)

    def _look_again(self, day: int, visit: Visit, watched: list[tuple[Part, str]]) -> None:
        """Four weeks on, see what was cleaned: from deck if that will do, else aloft."""
        level = "deck" if all(spot == "lower" for _, spot in watched) else "aloft"
        in_sight = [part for part, spot in watched if spot in reach(level, part)]
        if in_sight and (level == "deck" or not self.looks[-1].missed):
            only = frozenset(part.stay.key for part in in_sight)
            note = "Looked at again after cleaning"
            again = replace(visit, level=level, why="recheck", only=only, note=note)
            self.at(day + self.rng.randint(26, 42), self.look, again)

    def open_record(self, day: int) -> None:
        """The record begins with a rig made good: what had gone was renewed the week before."""
        for part in list(self.up.values()):
            if part.gone(day):
                self.take_down(part, day - 7, "condemned", part.gone(day)[0])
                while self.fit(part.stay, part.kind, day - 7).gone(day):
                    self.take_down(self.parts.pop(), day - 7, "unknown")
        for part in self.up.values():
            part.noted.clear()
            part.watched.clear()
        self.to_renew.clear()
        self.held_until = 0
        if self.boat.surveyed:
            joining = self.boat.record_since == self.boat.joined
            note = "Survey before joining the fleet" if joining else "Survey of the whole rig"
            self.look(day, survey(self.crew, "survey", note))

    def recorded(self) -> tuple[list[Part], list[Look]]:
        """What the books show: parts up since the record began or later, and looks since then."""
        since = self.boat.record_since
        parts = [part for part in self.parts if part.removed is None or part.removed >= since]
        return parts, [look for look in self.looks if look.day >= since]

"""Renewing parts: condemned ones, their pairs and sets, by age, after damage, after a break."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from copy import copy
from datetime import date
from functools import partial
from random import Random
from typing import TYPE_CHECKING

from .boats import Boat
from .making import draw_life
from .parts import Look, Noted, Part, Visit
from .truth import DAYS
from .visits import aloft, mast_down, survey

if TYPE_CHECKING:
    from .career import Career

# Days until a condemned part is renewed: while she should be sailing, and out of season.
SOON, IN_THE_YARD = (8, 30), (25, 80)


def chances(boat: Boat, rng: Random) -> Iterator[tuple[int, Callable]]:
    """Yield what comes up by itself in each year: yard time, a mishap, a new lower end."""
    first, last = (date.fromordinal(day).year for day in (boat.built, boat.end))
    for year in range(first, last + 1):
        begins = date(year, boat.base.off_season[0], 1).toordinal()
        if boat.age_rule:
            yield begins + rng.randrange(25, 110), renew_by_age
        if rng.random() < 0.004:
            yield begins - rng.randrange(40, 150), collision
        if rng.random() < 0.012:
            yield begins + rng.randrange(20, 100), new_lower_end


def plan(career: Career, day: int, parts: list[Part], visit: Visit) -> None:
    """Set a day for renewing condemned parts; while it is awaited the boat is held."""
    career.to_renew += parts
    if day <= career.held_until:
        return
    rng = career.rng
    career.held_until = day + rng.randint(*(SOON if _sailing(career.boat, day) else IN_THE_YARD))
    career.at(career.held_until, partial(renew_condemned, career))
    if visit.level != "mast_down" and rng.random() < 0.2:
        note = "Mast down to renew what was condemned"
        opened = dataclasses.replace(mast_down(career.crew, rng), why="yard", note=note)
        career.at(career.held_until - 2, career.look, opened)


def _sailing(boat: Boat, day: int) -> bool:
    """Whether guests wait for her; from six weeks before the off season on she waits for it."""
    begins, ends = boat.base.off_season
    month = date.fromordinal(day + 45).month
    return ends < month < begins if ends < begins else not begins <= month <= ends


def renew_condemned(career: Career, day: int) -> None:
    """Renew what was condemned, and with it the pair or the whole set."""
    parts = [part for part in career.to_renew if part.removed is None]
    career.to_renew = []
    for part in parts:
        replace(career, part, day, "condemned")
    wires = [part for part in parts if part.kind == "wire"]
    if wires:
        _renew_companions(career, day, wires)


def _renew_companions(career: Career, day: int, wires: list[Part]) -> None:
    rng = career.rng
    pairs = [pair for pair in (_pair(career, part) for part in wires) if pair]
    eldest = max(day - part.fitted for part in wires) / DAYS
    if eldest > 8.5 and rng.random() < 0.45:
        others = [part for part in career.wires() if day - part.fitted > 6 * DAYS]
        others += _turnbuckles(career, day, 0.3)
    else:
        chance = 0.75 if eldest > 3 else 0.3
        others = [pair for pair in pairs if day - pair.fitted > DAYS and rng.random() < chance]
    reason = "unknown" if rng.random() < 0.04 else "with_set"
    for part in dict.fromkeys(others):
        replace(career, part, day, *_poor_or(career, day, part, reason))
    if any(pair.removed is None and pair.fitted < day for pair in pairs):
        _look_at_pair(career, day)


def _look_at_pair(career: Career, day: int) -> None:
    """The wire opposite one that was condemned is not loaded before a rigger has been up there."""
    visit = aloft(career.crew, career.rng)
    note = "Rig set up again; the pair of what was condemned looked at"
    career.at(day + 1, career.look, dataclasses.replace(visit, why="yard", note=note))


def _turnbuckles(career: Career, day: int, chance: float) -> list[Part]:
    if career.rng.random() > chance:
        return []
    old = [part for part in career.up.values() if part.kind == "turnbuckle"]
    return [part for part in old if day - part.fitted > 6 * DAYS and part.condemned is None]


def _pair(career: Career, part: Part) -> Part | None:
    mast, name, side = part.stay.key
    other = {"port": "starboard", "starboard": "port"}.get(side)
    return career.up.get(((mast, name, other), part.kind))


def _poor_or(career: Career, day: int, part: Part, reason: str) -> tuple[str, str]:
    """On the bench one may be seen to have gone: then it was renewed because it looked poor."""
    gone = part.gone(day)
    looked = gone and career.rng.random() < 0.4
    return ("looked_poor", gone[0]) if looked else (reason, "")


def replace(career: Career, part: Part, day: int, reason: str, spot: str = "") -> None:
    """Take one part down and fit a new one in its place."""
    career.take_down(part, day, reason, spot)
    career.fit(part.stay, part.kind, day)


def renew_by_age(career: Career, day: int) -> None:
    """The fleet's age rule: wires that old go, and those nearly as old with them."""
    rule = career.boat.age_rule
    ages = {part: (day - part.fitted) / DAYS for part in career.wires() if not part.condemned}
    if day <= career.held_until or max(ages.values(), default=0) < rule:
        return
    reason = "unknown" if career.rng.random() < 0.03 else "age_rule"
    for part, age in ages.items():
        if age > rule - 2:
            replace(career, part, day, reason if age >= rule else "with_set")
    for part in _turnbuckles(career, day, 0.3):
        replace(career, part, day, "with_set")


def collision(career: Career, day: int) -> None:
    """Something touched the rig: earlier looks are void, a surveyor opens it, some wires go."""
    if day <= career.held_until or day < career.boat.record_since:
        return
    rng = career.rng
    what = rng.choice(("collision", "lightning", "knock_down"))
    done = day + rng.randint(12, 20)
    report = Visit("deck", rng.choice(career.crew.hands), "crew", "eye", why="event",
                   only=frozenset({("main", "forestay", "")}))  # fmt: skip
    row = Noted(what, "whole_rig", done=done, done_by=career.crew.surveyor)
    career.looks.append(Look(day, report, report.only, (row,)))
    career.held_until = max(career.held_until, done)
    career.at(
        done - 4, career.look, survey(career.crew, "event", "After the " + what.replace("_", "-"))
    )
    career.at(done, partial(renew_damaged, career))


def renew_damaged(career: Career, day: int) -> None:
    wires = [part for part in career.wires() if not part.condemned]
    for part in career.rng.sample(wires, min(len(wires), career.rng.randint(1, 3))):
        replace(career, part, day, "damage")
    renew_condemned(career, day)


def new_lower_end(career: Career, day: int) -> None:
    """Cut off a swaged lower end and put on a mechanical one: neither a death nor a new wire."""
    fit = [
        part
        for part in career.wires()
        if part.lower == "swaged" and part.fresh and 3 * DAYS < day - part.fitted < 9 * DAYS
    ]  # fmt: skip
    if day <= career.held_until or not fit:
        return
    old = career.rng.choice(fit)
    career.take_down(old, day, "re_terminated")
    new = copy(old)
    new.removed, new.reason, new.ended_at, new.noted, new.watched = None, "", "", set(), {}
    new.fitted, new.lower, new.fresh = day, "mechanical", False
    new.goes, new.begins = dict(old.goes), dict(old.begins)
    draw_life(new, career.boat, career.truth, career.rng, ("lower",))
    career.put_up(new)


def let_go(career: Career, day: int, part: Part) -> None:
    """A wire that had gone unseen breaks; a rigger opens the rig, and the pair goes with it."""
    if part.removed is not None or part.condemned is not None or day <= career.held_until:
        return
    rng = career.rng
    career.take_down(part, day, "failed_in_service", part.breaks[1])
    fitted = day + rng.randint(8, 24)
    career.held_until = max(career.held_until, fitted)
    after = f"After the {part.stay.name.replace('_', ' ')} let go"
    career.at(day + rng.randint(2, 5), career.look, survey(career.crew, "event", after))
    career.at(fitted, partial(renew_broken, career), part)


def renew_broken(career: Career, day: int, broken: Part) -> None:
    career.fit(broken.stay, "wire", day)
    pair = _pair(career, broken)
    if pair and pair.condemned is None:
        replace(career, pair, day, *_poor_or(career, day, pair, "with_set"))
    renew_condemned(career, day)

"""A look at a boat: what is seen of each part, what is noted, and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from . import signs
from .parts import Look, Noted, Part, Visit, reach

if TYPE_CHECKING:
    from .career import Career

TOPS = ("backstay", "cap_shroud")
WHY_NOT_SEEN = (
    "Too much wind at the masthead",
    "Chair would not go above the spreaders",
    "Light was going",
)


@dataclass
class Seen:
    """What one look leads to: (part, spot) condemned, parts a rigger must see, spots to watch."""

    condemned: list[tuple[Part, str]] = field(default_factory=list)
    doubtful: list[Part] = field(default_factory=list)
    watched: list[tuple[Part, str]] = field(default_factory=list)


def sight(career: Career, day: int, visit: Visit) -> tuple[Look, Seen]:
    """Look at every part in reach; return the look as it goes into the books, and what follows."""
    only = visit.only or _some_stays(career, visit)
    noted: list[Noted] = []
    result = Seen()
    missed = _not_seen(career, visit) if only is None else {}
    noted += [Noted("not_seen", spot, part, note=why) for (part, spot), why in missed.items()]
    for part in list(career.up.values()):
        if only is None or part.stay.key in only:
            spots = [spot for spot in reach(visit.level, part) if (part, spot) not in missed]
            noted += _look_at(career, day, visit, part, spots, result)
    noted += _around(career, day, visit)
    return Look(day, visit, only, tuple(noted)), result


def _look_at(
    career: Career, day: int, visit: Visit, part: Part, spots: list[str], result: Seen
) -> list[Noted]:
    """Findings at one part. A lower end that has gone decides the wire: its top is left unseen."""
    rng = career.rng
    if part.condemned is not None:
        return [row for row in part.condemning if row.place in spots]
    gone = [spot for spot in spots if part.goes[spot] <= day]
    if gone and visit.competence == "crew" and visit.level == "deck" and rng.random() < 0.08:
        result.doubtful.append(part)
        return [Noted("not_sure", gone[0], part, note="Looks wrong; asked for a rigger")]
    if gone:
        stops = visit.level == "aloft" and "lower" in gone and rng.random() < 0.6
        gone = ["lower"] if stops else gone
        result.condemned.append((part, gone[0]))
        part.condemning = [signs.condemning(rng, part, spot) for spot in gone]
        return part.condemning + (_left_unseen(part, spots) if stops else [])
    return _small_things(career, day, visit, part, spots, result)


def _left_unseen(part: Part, spots: list[str]) -> list[Noted]:
    rest = [spot for spot in spots if spot != "lower"]
    return [Noted("not_seen", spot, part, note="Condemned at the lower end") for spot in rest]


def _small_things(
    career: Career, day: int, visit: Visit, part: Part, spots: list[str], result: Seen
) -> list[Noted]:
    """What is noted of a part none of whose spots in sight has gone."""
    rng, rows = career.rng, []
    for spot in spots:
        sign = _watched(career, day, part, spot, result)
        if sign is not None:
            rows.append(sign)
        elif rng.random() < 0.016 and part.kind != "chainplate":
            rows.append(signs.harmless(rng, part, spot))
        elif rng.random() < 0.004 and part.kind != "chainplate" and spot != "run":
            row = signs.to_make_good(rng, part, spot, visit)
            rows.append(_put_right(career, day, row))
    return rows


def _watched(career: Career, day: int, part: Part, spot: str, result: Seen) -> Noted | None:
    """A sign to watch: noticed by chance once a defect has begun, rarely before.

    What was cleaned or polished does not show again until the spot goes; what can be measured is
    there to be seen again, no worse.
    """
    rng, truth = career.rng, career.truth
    begun = part.begins.get(spot, day + 1) <= day
    if rng.random() >= (truth.detection if begun else truth.false_watch):
        return None
    if spot in part.watched:
        before = part.watched[spot]
        return None if before.measure is None else before
    sign = signs.warning(rng, part, spot)
    if sign is not None:
        part.watched[spot] = sign
        result.watched.append((part, spot))
    return sign


def _put_right(career: Career, day: int, row: Noted) -> Noted:
    done = day + career.rng.choice((0, 0, 0, 1, 1, 2, 4, 9))
    if done > career.boat.end:
        return row
    return replace(row, done=done, done_by=career.rng.choice(career.crew.riggers))


def _around(career: Career, day: int, visit: Visit) -> list[Noted]:
    """Places of the boat that are no part."""
    rng = career.rng
    if visit.why in ("recheck", "rigger") or rng.random() > (
        0.05 if visit.level == "deck" else 0.14
    ):
        return []
    row = signs.about_boat(rng, visit.level)
    if row.place == "furler_foil" and not career.boat.design.furler:
        return []
    return [row] if row.place == "hanks" else [_put_right(career, day, row)]


def _some_stays(career: Career, visit: Visit) -> frozenset | None:
    """Now and then only part of the rig is looked at; never twice running."""
    rng = career.rng
    if visit.why != "planned" or visit.level == "mast_down" or rng.random() > 0.035:
        return None
    before = career.looks[-2:] + _alike(career, "aloft")
    if any(past.missed for past in before):
        return None
    keys = sorted({part.stay.key for part in career.up.values()})
    side = rng.choice(("port", "starboard", ""))
    return frozenset(key for key in keys if key[2] == side)


def _alike(career: Career, level: str) -> list[Look]:
    """The last look that reached at least as far as one of this level, if there was one."""
    levels = ("mast_down",) if level == "mast_down" else ("aloft", "mast_down")
    return [past for past in career.looks if past.visit.level in levels][-1:]


def _not_seen(career: Career, visit: Visit) -> dict[tuple[Part, str], str]:
    """Tops out of reach, chainplates not drawn; never twice running on one boat."""
    rng = career.rng
    if visit.level == "deck":
        return {}
    if visit.why != "planned" or any(past.missed for past in _alike(career, visit.level)):
        return {}
    if visit.level == "aloft" and rng.random() < 0.08:
        why = rng.choice(WHY_NOT_SEEN)
        tops = [part for part in career.wires() if part.stay.name in TOPS and not part.condemned]
        return {(part, "upper"): why for part in tops}
    if visit.level == "mast_down" and rng.random() < 0.2:
        plates = [part for part in career.up.values() if part.kind == "chainplate"]
        return {(part, "whole"): "Not drawn" for part in plates if not part.condemned}
    return {}

"""Which wires stand on a kind of rig, so that nobody types thirty parts for each boat.

The patterns are common practice, no source. A real rig may differ: what is more or less is added
or left out by hand, and a row for one stay always goes before the pattern.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Place = tuple[str, str, str]  # mast, stay, side

KINDS = ("wire", "turnbuckle", "chainplate")
SIDES = ("port", "starboard")
PAIRED = (
    "running_backstay",
    "cap_shroud",
    "intermediate",
    "lower_forward",
    "lower_aft",
    "diamond",
)
# A running backstay is set up by tackle or winch, so it has no turnbuckle.
WITHOUT_TURNBUCKLE = ("running_backstay",)


@dataclass(frozen=True)
class RigFacts:
    """What the pattern depends on; ``design`` tells sister boats."""

    boat: str
    rig: str
    fractional: bool
    spreader_pairs: int
    build_year: int
    design: str = ""


@dataclass(frozen=True)
class PatternPart:
    """One part of a pattern: its place, its kind and what is said about it."""

    boat: str
    place: Place
    kind: str
    said: Mapping[str, Any]


def stays(facts: RigFacts) -> list[Place]:
    """Return the places of the wires on such a rig, main mast first."""
    places = list(_on_mast("main", _main_mast(facts)))
    if facts.rig == "ketch":
        places += _on_mast("mizzen", ["cap_shroud", "lower_forward", "lower_aft"])
    return places


def _main_mast(facts: RigFacts) -> Iterator[str]:
    yield "forestay"
    if facts.rig == "cutter":
        yield "inner_forestay"
    yield "backstay"
    if facts.rig == "cutter":
        yield "running_backstay"
    yield "cap_shroud"
    if facts.spreader_pairs >= 2:
        yield "intermediate"
    if facts.spreader_pairs >= 1:
        # Swept spreaders of a fractional rig hold the mast forward; its lowers lead aft alone.
        if not facts.fractional:
            yield "lower_forward"
        yield "lower_aft"


def _on_mast(mast: str, names: Iterable[str]) -> Iterator[Place]:
    for name in names:
        for side in SIDES if name in PAIRED else ("",):
            yield mast, name, side


def expand(
    facts: RigFacts, said: Mapping[str, Any], kinds: Iterable[str] = KINDS
) -> list[PatternPart]:
    """Return the parts of "whole rig, 8 mm 1x19, 2016, invoice 123" on one boat.

    ``said`` holds ``fitted`` (date or None), ``certainty``, ``removed`` and whatever else each
    part shares. Chainplates are not renewed with the wires: on a boat older than the rig they are
    taken as those it was built with, their date estimated, and a removed rig leaves them standing.
    Said of chainplates alone, it is they that were fitted then.
    """
    shared = {kind: dict(said) for kind in kinds}
    if "chainplate" in shared and len(shared) > 1:
        shared["chainplate"] = _chainplate(facts, said)
    return [
        PatternPart(facts.boat, place, kind, what)
        for kind, what in shared.items()
        for place in stays(facts)
        if what and not (kind == "turnbuckle" and place[1] in WITHOUT_TURNBUCKLE)
    ]


def _chainplate(facts: RigFacts, said: Mapping[str, Any]) -> dict[str, Any] | None:
    if said.get("removed"):
        return None
    fitted = said.get("fitted")
    if fitted is None or fitted.year <= facts.build_year + 1:
        return dict(said)
    built = {"fitted": dt.date(facts.build_year, 7, 1), "certainty": "estimated"}
    return {**said, **built, "invoice": "", "batch": "", "fitter": ""}


def copy_to_sisters(
    design: str,
    fleet: Iterable[RigFacts],
    said: Mapping[str, Any],
    kinds: Iterable[str] = KINDS,
) -> list[PatternPart]:
    """Return the same rig for every boat of that design, each by its own rig facts."""
    wanted = " ".join(design.casefold().split())
    sisters = [facts for facts in fleet if " ".join(facts.design.casefold().split()) == wanted]
    return [part for facts in sisters for part in expand(facts, said, tuple(kinds))]

"""The rigging schedule of one boat with its cut sheet: what is up, how old, who says so."""

from fleet.models import Boat, Installation

from . import part_words
from .masthead import masthead
from .press import press

NOTE = (
    "Lengths are pin to pin, at the adjuster setting beside them. What is not on record says: "
    "measure before ordering. Check every size against the part that comes off."
)
NAMED = 3  # Condemned parts named in the answer; more are found in the table.
UNKNOWN = {
    Installation.Kind.TURNBUCKLE: "closed and open length, toggle and fork",
    Installation.Kind.CHAINPLATE: "length, width, bolt holes",
}


def rig_schedule(boat: Boat) -> bytes:
    """Return the PDF."""
    return press("rig-schedule", contents(boat), boat.fleet.today())


def contents(boat: Boat) -> dict:
    """Return what the paper says, as words."""
    parts = part_words.parts_of(boat)
    wires = [part for part in parts if part.kind == Installation.Kind.WIRE]
    return masthead(boat.fleet, f"Rigging schedule: {boat.name}", answer(parts)) | {
        "boat": facts(boat),
        "parts": [row(part, boat) for part in parts],
        "wires": [cut(part) for part in wires],
        "fittings": [cut(part) for part in parts if part not in wires],
        "note": NOTE,
        "measure": part_words.MEASURE,
    }


def answer(parts: list[Installation]) -> str:
    """Return how many parts are up, condemned, never seen good, and dated for certain."""
    if not parts:
        return "No part is on record as standing on this boat."
    condemned = [part for part in parts if part.condemned_on is not None]
    dated = sum(part.fitted_certainty == Installation.Certainty.DAY for part in parts)
    never = sum(not part.good for part in parts)
    named = "; ".join(part_words.name(part).lower() for part in condemned)
    which = f" ({named})" if 0 < len(condemned) <= NAMED and of_one_boat(parts) else ""
    return (
        f"{len(parts)} parts up: {len(condemned) or 'none'} condemned{which}, "
        f"{never or 'none'} never seen good. {dated} of them dated by invoice or log."
    )


def of_one_boat(parts: list[Installation]) -> bool:
    return len({part.stay.boat_id for part in parts}) == 1


def facts(boat: Boat) -> list[list[str]]:
    where = f"{boat.base.name}, {boat.base.ground.name}"
    rows = [
        ["Boat", boat.name],
        ["Design", boat.design or "not on record"],
        ["Rig", f"{boat.get_rig_display()}, {boat.length_m:.1f} m, built {boat.build_year}"],
        ["Base", where],
        ["Record complete since", part_words.day(boat.history_complete_since) or "not stated"],
    ]
    return rows + ([["Owner", boat.owner_name]] if boat.owner_name else [])


def row(part: Installation, boat: Boat) -> dict:
    return {
        "name": part_words.name(part),
        "what": part.description,
        "age": part_words.age_words(part, boat.fleet.today()),
        "fitted": part_words.fitted(part),
        "certainty": part.get_fitted_certainty_display(),
        "invoice": part.invoice or "none",
        "seen": part_words.seen_words(part),
        "verdict": part_words.verdict(part),
    }


def cut(part: Installation) -> dict:
    foil = part.stay.in_foil and part.kind == Installation.Kind.WIRE
    note = "inside the furler foil" if foil else ""
    unknown = UNKNOWN.get(part.kind, "")
    said = {
        "name": part_words.name(part),
        "note": note,
        "unknown": unknown,
        "screw": "",
        "open": "",
    }
    return said | part_words.size(part)

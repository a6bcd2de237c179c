"""Which sign is seen: at a spot that has gone, on the way there, and the small things of every day.

Codes are those of ``inspections.criteria``. Nothing here condemns a part that the truth has not:
a sign that condemns when it comes back is noted once at most on a spot that has not gone.
"""

from random import Random

from .parts import Noted, Part, Visit

LAID = ("1x19", "compacted")
# How often each sign is what shows that a spot has gone; only their ratios count.
END_SIGNS = {
    "swaged": {
        "barrel_crack_along": 35,
        "barrel_crack_across": 10,
        "broken_wire": 35,
        "rust_at_mouth": 20,
    },
    "mechanical": {"wire_drawn_out": 35, "broken_wire": 35, "rust_at_mouth": 30},
    "t_ball": {
        "neck_crack": 40,
        "end_unseated": 8,
        "barrel_crack_across": 12,
        "broken_wire": 25,
        "rust_at_mouth": 15,
    },
}
RUN_SIGNS = {
    "broken_wire": 30,
    "rust_between_wires": 25,
    "notch": 15,
    "spot_bands": 12,
    "wire_kink": 8,
    "dark_wire": 10,
}
OTHER_WIRES = {
    "rod": {"run": {"rod_score": 60, "rod_bend": 40}, "end": {"rod_head_crack": 100}},
    "fibre": {"run": {"fibre_core_cut": 100}, "end": {"fibre_core_cut": 100}},
    "galvanised": {
        "run": {"rust_between_wires": 80, "wire_kink": 20},
        "end": {"rust_at_mouth": 100},
    },
}
FITTING_SIGNS = {
    "turnbuckle": {
        "fitting_cracked": 40,
        "thread_stripped": 28,
        "fitting_bent": 20,
        "seized_off_axis": 12,
    },
    "chainplate": {"chainplate_crack": 50, "chainplate_hole": 28, "chainplate_movement": 22},
}
NOTCH_LIMIT = 0.1 / 5  # of the diameter: a tenth of a single wire of 1x19


def condemning(rng: Random, part: Part, spot: str) -> Noted:
    """The sign that shows a spot has gone; what was cleaned away before may have come back."""
    for sign in ("rust_at_mouth", "dark_wire"):
        if (sign, spot) in part.noted and rng.random() < 0.5:
            return Noted(sign, spot, part, cleaned=True, note="came back after cleaning")
    sign = _draw(rng, _signs_of(part, spot))
    measure = _beyond(rng, part, sign)
    cleaned = False if sign in ("rust_at_mouth", "dark_wire") else None
    return Noted(sign, spot, part, measure=measure, cleaned=cleaned)


def warning(rng: Random, part: Part, spot: str) -> Noted | None:
    """A sign to watch at a spot that has not gone; None where nothing can be seen coming."""
    sign = _warning_sign(rng, part, spot)
    if sign is None:
        return None
    part.noted.add((sign, spot))
    measure = _short_of(rng, part, sign)
    return Noted(sign, spot, part, measure=measure, cleaned=True if measure is None else None)


def harmless(rng: Random, part: Part, spot: str) -> Noted:
    """Something written down and kept: tea stain, tarnish, a pin worn within its limit."""
    if part.kind == "turnbuckle" and part.alloy == "bronze":
        return Noted("bronze_tarnish", spot, part)
    if part.kind != "wire":
        worn = round(rng.uniform(0.01, 0.04) * part.pin_mm, 1)
        return Noted("pin_worn", spot, part, measure=worn)
    if part.construction in (*LAID, "galvanised"):
        stain = rng.random() < 0.7
        return Noted("tea_stain" if stain else "dull_surface", spot, part, cleaned=stain or None)
    return Noted("pin_worn", spot, part, measure=0.1)


def to_make_good(rng: Random, part: Part, spot: str, visit: Visit) -> Noted:
    """A pin, lock or thread to be put right before the boat sails."""
    signs = {"split_pin_missing": 50}
    if part.kind == "turnbuckle":
        signs |= {"lock_missing": 35, "thread_engagement": 8, "bad_lead": 4, "pin_worn": 8}
    if part.kind == "wire" and part.upper == "t_ball" and spot == "upper":
        signs |= {"seat_plug_missing": 25}
    sign = _draw(rng, signs)
    measures = {
        "thread_engagement": round((part.mm or 0) * rng.uniform(1.0, 1.4)),
        "pin_worn": round(part.pin_mm * rng.uniform(0.055, 0.09), 1),
    }
    return Noted(sign, spot, part, measure=measures.get(sign))


def about_boat(rng: Random, level: str) -> Noted:
    """Something at a place of the boat that is no part."""
    signs = {"hanks_worn": 30, "lashings_worn": 20, "halyard_wrap": 12, "foil_jam": 8}
    if level != "deck":
        signs |= {"spreader_tip_loose": 30, "tang_hole": 2, "spreader_root_crack": 3}
    if level == "mast_down":
        signs |= {"bulkhead_soft": 6, "mast_wall_crack": 5}
    sign = _draw(rng, signs)
    measure = rng.randint(1, 6) if PLACES[sign] == "hanks" else None
    return Noted(sign, PLACES[sign], measure=measure)


PLACES = {
    "hanks_worn": "hanks",
    "lashings_worn": "hanks",
    "halyard_wrap": "furler_foil",
    "foil_jam": "furler_foil",
    "spreader_tip_loose": "spreader",
    "spreader_root_crack": "spreader",
    "tang_hole": "tang",
    "bulkhead_soft": "bulkhead",
    "mast_wall_crack": "mast_wall",
}


def _draw(rng: Random, weights: dict[str, int]) -> str:
    return rng.choices(list(weights), list(weights.values()))[0]


def _signs_of(part: Part, spot: str) -> dict[str, int]:
    if part.kind != "wire":
        zinc = {"zinc_lost": 60} if part.alloy == "bronze" else {}
        return FITTING_SIGNS[part.kind] | zinc
    if part.construction in OTHER_WIRES:
        return OTHER_WIRES[part.construction]["run" if spot == "run" else "end"]
    return RUN_SIGNS if spot == "run" else END_SIGNS[getattr(part, spot)]


def _beyond(rng: Random, part: Part, sign: str) -> float | None:
    """A measure at or past the limit, for the signs that are measured."""
    if sign == "broken_wire":
        return rng.choice((1, 1, 1, 2, 2, 3))
    if sign == "wire_drawn_out":
        return round(rng.uniform(1.0, 2.6), 1)
    if sign == "notch":
        return round(part.mm * NOTCH_LIMIT * rng.uniform(1.3, 2.8) + 0.05, 1)
    return None


def _warning_sign(rng: Random, part: Part, spot: str) -> str | None:
    if part.kind != "wire" or part.construction == "fibre":
        return None
    if spot == "run":
        return (
            None
            if part.construction == "rod"
            else rng.choice(("dark_wire", "small_spots", "notch"))
        )
    drawn = spot == "lower" and part.lower == "mechanical" and rng.random() < 0.4
    return "wire_drawn_out" if drawn else "rust_at_mouth"


def _short_of(rng: Random, part: Part, sign: str) -> float | None:
    """A measure short of the limit, for the signs that are measured."""
    if sign == "wire_drawn_out":
        return round(rng.uniform(0.3, 0.7), 1)
    if sign == "small_spots":
        return rng.randint(4, 25)
    return round(part.mm * NOTCH_LIMIT * rng.uniform(0.35, 0.8), 2) if sign == "notch" else None

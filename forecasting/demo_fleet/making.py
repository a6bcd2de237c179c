"""Making up and fitting parts, and drawing from the truth when each spot of them will go."""

import math
from datetime import date
from random import Random

from .boats import Boat
from .designs import PIN_MM, THREAD_MM, Stay
from .parts import Part
from .plans import BAD_BATCH
from .truth import DAYS, SPOTS, Truth

FLAW_SHOWS = (2.0, 6.0)  # years


def make(
    boat: Boat, stay: Stay, kind: str, day: int, truth: Truth, rng: Random, fitter: str
) -> Part:
    """A new part for that place, fitted that day, with the days on which its spots will go."""
    papers = {
        "fitter": fitter,
        "invoice": _invoice(boat, day),
        "batch": _batch(boat, stay, kind, day),
    }
    part = Part(stay, kind, day, **papers, **_MAKERS[kind](boat, stay, rng))
    part.flawed = kind == "wire" and _bad_batch(boat, part, rng, truth)
    draw_life(part, boat, truth, rng, SPOTS[kind])
    return part


def draw_life(part: Part, boat: Boat, truth: Truth, rng: Random, spots: tuple[str, ...]) -> None:
    """Draw the day each of these spots becomes condemnable, and the day the part would let go."""
    stretch = math.exp(truth.make(part.construction, part.lower))
    for spot in spots:
        used = rng.weibullvariate(truth.scale(part.kind, spot) * stretch, truth.shape)
        part.goes[spot] = boat.wear.reach(part.fitted, used)
    if part.flawed:
        spot = rng.choice(("lower", "upper"))
        part.goes[spot] = min(part.goes[spot], part.fitted + rng.uniform(*FLAW_SHOWS) * DAYS)
    if part.kind == "wire":
        _begin(part, truth, rng, spots)
    wait = DAYS / truth.breaks_a_year
    if part.kind == "wire":
        part.breaks = min(
            (max(day, part.fitted) + rng.expovariate(1 / wait), s) for s, day in part.goes.items()
        )


def _begin(part: Part, truth: Truth, rng: Random, spots: tuple[str, ...]) -> None:
    """Draw how long before it goes each defect begins; no sooner than the part is fitted."""
    for spot in spots:
        before = rng.expovariate(1 / (truth.delay * DAYS))
        part.begins[spot] = max(part.goes[spot] - before, part.fitted)


def _wire(boat: Boat, stay: Stay, rng: Random) -> dict:
    mechanical = stay.construction in ("1x19", "compacted") and rng.random() < boat.base.mechanical
    plain = {"rod": "other", "fibre": "eye", "galvanised": "eye"}.get(stay.construction, "swaged")
    alloys = {"rod": "Nitronic 50", "fibre": "", "galvanised": "steel"}
    return {
        "construction": stay.construction,
        "alloy": alloys.get(stay.construction, "316"),
        "mm": stay.mm,
        "length_mm": stay.length_mm + rng.randint(-8, 8),
        "lower": "mechanical" if mechanical else plain,
        "upper": stay.upper,
        "pin_mm": PIN_MM[stay.mm],
    }


def _turnbuckle(boat: Boat, stay: Stay, rng: Random) -> dict:
    alloy = "bronze" if boat.design.bronze or rng.random() < 0.15 else "316"
    return _fitting(alloy, THREAD_MM[stay.mm], PIN_MM[stay.mm])


def _chainplate(boat: Boat, stay: Stay, rng: Random) -> dict:
    return _fitting("316", None, PIN_MM[stay.mm])


def _fitting(alloy: str, mm: float | None, pin_mm: float) -> dict:
    none = {"construction": "", "length_mm": None, "lower": "", "upper": ""}
    return none | {"alloy": alloy, "mm": mm, "pin_mm": pin_mm}


_MAKERS = {"wire": _wire, "turnbuckle": _turnbuckle, "chainplate": _chainplate}


def _invoice(boat: Boat, day: int) -> str:
    """One invoice number per boat and day: the same for all that was fitted together."""
    initials = "".join(word[0] for word in boat.base.name.split())
    number = sum(ord(c) * (i + 3) for i, c in enumerate(boat.name)) + day
    return f"{initials}{date.fromordinal(day).year % 100:02d}-{number % 9000 + 1000}"


def _batch(boat: Boat, stay: Stay, kind: str, day: int) -> str:
    """The quarter's reel, or box of fittings, at that base."""
    if kind == "chainplate":
        return ""
    on = date.fromordinal(day)
    letter = "".join(word[0] for word in boat.base.name.split())
    what = f"{stay.mm:02d}" if kind == "wire" else "T"
    return f"{letter}{what}-{on.year % 100:02d}{'ABCD'[(on.month - 1) // 3]}"


def _bad_batch(boat: Boat, part: Part, rng: Random, truth: Truth) -> bool:
    """Whether this wire has a bad end. One draw for every wire, so that no other draw moves."""
    drawn = rng.random() < truth.flawed
    there = boat.base.name == BAD_BATCH.base and part.construction in ("1x19", "compacted")
    then = BAD_BATCH.since.toordinal() <= part.fitted <= BAD_BATCH.until.toordinal()
    return drawn and there and then and part.fitted >= boat.record_since

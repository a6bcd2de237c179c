"""Geometry of the rig drawing: one view from port, one from aft. Pure; units are SVG pixels.

The drawing is exact enough to point at, and no more: stays are shown where a rigger expects
them for the rig, not to the boat's measures.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

Point = tuple[float, float]

DECK, HEAD, MIZZEN_HEAD = 470.0, 40.0, 200.0
WIDTH, HEIGHT = 300, 560
LONGEST = 13  # Characters of a name in one line: there is no room for more beside a shroud.


@dataclass(frozen=True)
class RigStay:
    """One stay to draw. ``verdict`` is the verdict's code, ``words`` what to write beside it."""

    name: str
    side: str
    mast: str
    verdict: str
    words: str
    href: str
    label: str
    top_seen: bool = True


@dataclass(frozen=True)
class Line:
    """A drawn stay: ``points`` from the foot up, and where its label stands."""

    stay: RigStay
    points: tuple[Point, ...]
    label_at: Point
    anchor: str

    @property
    def path(self) -> str:
        return "M" + " L".join(f"{x:g} {y:g}" for x, y in self.points)

    @property
    def crosses(self) -> list[tuple[float, float, float, float]]:
        """Return two short strokes across the line near its foot: the mark of *replace*."""
        (x0, y0), (x1, y1) = self.points[0], self.points[1]
        marks = [(x0 + (x1 - x0) * t, y0 + (y1 - y0) * t) for t in (0.28, 0.34)]
        return [(x - 10, y + 5, x + 10, y - 5) for x, y in marks]

    @property
    def top(self) -> Point:
        return self.points[-1]

    @property
    def words(self) -> tuple[str, ...]:
        """Return the stay's name, with the side only where both are drawn in one view.

        One that would run off the edge of the drawing is written a word a line.
        """
        name = self.stay.name.replace("_", " ")
        if self.stay.name == "running_backstay":
            name = f"{name}, {self.stay.side}"
        return tuple(name.split()) if len(name) > LONGEST else (name,)

    @property
    def labelled(self) -> bool:
        return self.stay.verdict != "keep" or self.stay.name in ("forestay", "backstay")


@dataclass(frozen=True)
class View:
    """One elevation: caption, hull outline, spars and stays."""

    caption: str
    hull: str
    spars: tuple[str, ...]
    lines: list[Line] = field(default_factory=list)


def draw(
    stays: Sequence[RigStay], *, rig: str, fractional: bool, spreader_pairs: int
) -> tuple[View, View]:
    """Return the view from port and the view from aft. Each stay is in exactly one of them."""
    pairs = max(1, min(int(spreader_pairs), 3))
    side, aft = _from_port(rig), _from_aft(pairs)
    hounds = HEAD + (70 if fractional else 0)
    for stay in stays:
        if stay.side and stay.name != "running_backstay":
            aft.lines.append(_athwart(stay, hounds, pairs))
        else:
            side.lines.append(_fore_and_aft(stay, rig, hounds))
    return side, aft


def _mast_x(rig: str, mast: str) -> float:
    return 70.0 if mast == "mizzen" else (170.0 if rig == "ketch" else 150.0)


def _from_port(rig: str) -> View:
    hull = "M20 470 L286 470 L292 474 Q262 522 160 524 Q70 522 14 482 Z"
    main = _mast_x(rig, "main")
    spars = [f"M{main:g} {DECK:g} L{main:g} {HEAD:g}", f"M{main:g} 440 L{main - 98:g} 434"]
    if rig == "ketch":
        spars = [spars[0], f"M{main:g} 440 L{main - 80:g} 436"]
        spars.append(f"M70 {DECK:g} L70 {MIZZEN_HEAD:g}")
    return View("from port", hull, tuple(spars))


def _from_aft(pairs: int) -> View:
    hull = "M78 470 L222 470 Q226 520 150 526 Q74 520 78 470 Z"
    spars = [f"M150 {DECK:g} L150 {HEAD:g}"]
    for y, half in _spreaders(pairs):
        spars.append(f"M{150 - half:g} {y:g} L{150 + half:g} {y:g}")
    return View("from aft", hull, tuple(spars))


def _spreaders(pairs: int) -> list[tuple[float, float]]:
    """Return (height, half width) of each pair, lowest first."""
    step = (DECK - HEAD) / (pairs + 1)
    return [(DECK - step * (n + 1), 42 - 6 * n) for n in range(pairs)]


# How far up its line a stay's label stands, so that none covers another.
LABEL_UP = {
    ("forestay", ""): 0.45,
    ("inner_forestay", ""): 0.15,
    ("backstay", ""): 0.62,
    ("running_backstay", "port"): 0.5,
    ("running_backstay", "starboard"): 0.26,
}


def _fore_and_aft(stay: RigStay, rig: str, hounds: float) -> Line:
    mast = _mast_x(rig, stay.mast)
    head = MIZZEN_HEAD if stay.mast == "mizzen" else HEAD
    foot, top = {
        "forestay": ((284, DECK), (mast, hounds if stay.mast == "main" else head)),
        "inner_forestay": ((236, DECK), (mast, head + 110)),
        "backstay": ((26, DECK), (mast, head)),
        "running_backstay": ((52 if stay.side == "port" else 60, DECK), (mast, head + 80)),
    }.get(stay.name, ((mast + 20, DECK), (mast, head + 180)))
    if stay.mast == "mizzen" and stay.name == "backstay":
        foot = (18, DECK)
    at = LABEL_UP.get((stay.name, stay.side), 0.3)
    x, y = foot[0] + (top[0] - foot[0]) * at, foot[1] + (top[1] - foot[1]) * at
    # An inner forestay is named on the side of the mast: the forestay is close on the other.
    forward = foot[0] > mast and stay.name != "inner_forestay"
    return Line(stay, (foot, top), (x + (8 if forward else -8), y), "start" if forward else "end")


# Height of each shroud's label, so that none covers another.
SLOT = {
    "diamond": 120,
    "cap_shroud": 190,
    "intermediate": 260,
    "lower_forward": 330,
    "lower_aft": 395,
}


def _athwart(stay: RigStay, hounds: float, pairs: int) -> Line:
    sign = -1 if stay.side == "port" else 1
    spreaders = _spreaders(pairs)
    lowest, half = spreaders[0]
    points: list[Point]
    if stay.mast == "mizzen":
        points = [
            (150 + sign * 66, DECK),
            (150, MIZZEN_HEAD + (0 if stay.name == "cap_shroud" else 90)),
        ]
    elif stay.name == "cap_shroud":
        tips = [(150 + sign * reach, y) for y, reach in spreaders]
        points = [(150 + sign * 58, DECK), *tips, (150, hounds)]
    elif stay.name == "intermediate":
        tip = (150 + sign * (half - 3), lowest)
        points = [(150 + sign * 54, DECK), tip, (150, spreaders[min(1, pairs - 1)][0])]
    elif stay.name == "diamond":
        points = [(150, lowest + 60), (150 + sign * half, lowest), (150, hounds + 40)]
    else:
        reach = 30 if stay.name == "lower_forward" else 42
        points = [(150 + sign * reach, DECK), (150, lowest + 8)]
    where = (150 + sign * 56, SLOT.get(stay.name, 300) + (34 if stay.mast == "mizzen" else 0))
    return Line(stay, tuple(points), where, "end" if sign < 0 else "start")

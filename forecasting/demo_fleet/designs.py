"""Invented designs: which stays they carry, and what wire, terminals and pins."""

import math
from dataclasses import dataclass

KINDS = ("wire", "turnbuckle", "chainplate")
PAIR = ("port", "starboard")
# Pin (mm) and thread of the turnbuckle (mm) usual for a wire; pin about twice the wire.
PIN_MM = {4: 8.0, 5: 9.5, 6: 12.7, 7: 14.0, 8: 16.0, 10: 19.0}
THREAD_MM = {4: 8, 5: 10, 6: 12, 7: 14, 8: 16, 10: 20}
SIZES = (4, 5, 6, 7, 8, 10)
ADJUSTER_MM = 380  # turnbuckle and toggle between wire and chainplate


@dataclass(frozen=True)
class Stay:
    """One stay or shroud of a design, with the kinds of parts that stand there."""

    name: str
    side: str
    mast: str
    mm: int
    length_mm: int
    in_foil: bool = False
    construction: str = "1x19"
    upper: str = "swaged"
    kinds: tuple[str, ...] = KINDS

    @property
    def key(self) -> tuple[str, str, str]:
        return self.mast, self.name, self.side


@dataclass(frozen=True)
class Design:
    """A class of sister boats. Lengths in metres; ``wire``: the construction it was built with."""

    name: str
    length_m: float
    rig: str = "sloop"
    fractional: bool = False
    spreader_pairs: int = 1
    furler: bool = True
    wire: str = "1x19"
    ball_ends: bool = False
    bronze: bool = False

    def stays(self) -> list[Stay]:
        """All stays and shrouds, main mast first."""
        main = self._stays_ahead_and_aft() + self._shrouds()
        return main + (self._mizzen() if self.rig == "ketch" else [])

    @property
    def mast_m(self) -> float:
        return 1.27 * self.length_m + 0.4

    @property
    def mm(self) -> int:
        """Diameter of the cap shrouds."""
        limits = ((8.6, 5), (10.2, 6), (11.4, 7), (13.4, 8), (99, 10))
        return next(mm for length, mm in limits if self.length_m < length)

    def _stay(self, name: str, side: str, height: float, spread_m: float, **rest) -> Stay:
        mast_m = self.mast_m * (0.62 if rest.get("mast") == "mizzen" else 1)
        length = math.hypot(height * mast_m, spread_m) * 1000 - ADJUSTER_MM
        made = {"mast": "main", "mm": self.mm, "construction": self.wire} | rest
        return Stay(name, side, length_mm=round(length), **made)

    def _pair(self, name: str, height: float, spread_m: float, **rest) -> list[Stay]:
        upper = "t_ball" if self.ball_ends else "swaged"
        upper = "eye" if self.wire == "galvanised" else upper
        return [
            self._stay(name, side, height, spread_m, **{"upper": upper} | rest) for side in PAIR
        ]

    @property
    def _thinner(self) -> int:
        return SIZES[SIZES.index(self.mm) - 1]

    def _stays_ahead_and_aft(self) -> list[Stay]:
        top, ends = 0.88 if self.fractional else 1.0, {"upper": self._end}
        stays = [self._stay("forestay", "", top, 0.36 * self.length_m, in_foil=self.furler, **ends)]
        if self.rig == "cutter":
            thin = ends | {"mm": self._thinner}
            stays.append(self._stay("inner_forestay", "", 0.66, 0.25 * self.length_m, **thin))
        stays.append(self._stay("backstay", "", 1.0, 0.46 * self.length_m, **ends))
        return stays + self._runners()

    def _runners(self) -> list[Stay]:
        """Running backstays end in a tackle, so they have no turnbuckle."""
        if self.rig != "cutter" and self.wire != "rod":
            return []
        fibre = {"construction": "fibre", "upper": "eye"} if self.wire == "rod" else {}
        made = {"mm": self._thinner, "kinds": ("wire", "chainplate")} | fibre
        return self._pair("running_backstay", 0.68, 0.38 * self.length_m, **made)

    @property
    def _end(self) -> str:
        return {"rod": "other", "galvanised": "eye"}.get(self.wire, "swaged")

    def _shrouds(self) -> list[Stay]:
        beam = 0.15 * self.length_m
        top = 0.88 if self.fractional else 1.0
        shrouds = self._pair("cap_shroud", top, beam)
        if self.spreader_pairs > 1:
            shrouds += self._pair("intermediate", 0.64, beam, mm=self._thinner)
        lowers = 0.36 if self.spreader_pairs > 1 else 0.49
        if not self.fractional:
            shrouds += self._pair("lower_forward", lowers, beam)
        return shrouds + self._pair("lower_aft", lowers, beam)

    def _mizzen(self) -> list[Stay]:
        made = {"mast": "mizzen", "mm": self._thinner}
        caps = self._pair("cap_shroud", 1.0, 0.11 * self.length_m, **made)
        return caps + self._pair("lower_forward", 0.5, 0.11 * self.length_m, **made)


CHARTER = (
    Design("Merrin 34", 10.36),
    Design("Corvane 36", 10.95, fractional=True, spreader_pairs=2, ball_ends=True),
    Design("Merrin 39", 11.88),
    Design("Corvane 40", 12.24, fractional=True, spreader_pairs=2, ball_ends=True),
    Design("Orrest 42", 12.80, rig="cutter", spreader_pairs=2),
    Design(
        "Corvane 45", 13.72, fractional=True, spreader_pairs=2, wire="compacted", ball_ends=True
    ),
    Design("Orrest 48", 14.63, rig="ketch", spreader_pairs=2),
)
# The bigger boats of groups that sail further: more stays to a boat, about twelve.
BLUE_WATER = (
    CHARTER[4],
    CHARTER[6],
    Design("Merrin 46", 14.02, spreader_pairs=2),
    Design("Orrest 45", 13.56, rig="cutter", spreader_pairs=2),
    CHARTER[6],
    CHARTER[4],
    Design("Orrest 52", 15.85, rig="cutter", spreader_pairs=2, wire="compacted"),
    CHARTER[5],
)
PERFORMANCE = Design(
    "Corvane 40 R", 12.24, fractional=True, spreader_pairs=2, wire="rod", furler=False
)
CLUB = (
    Design("Lyngmo 26", 7.98, furler=False, bronze=True),
    Design("Lyngmo 31", 9.42, bronze=True),
    Design("Tindvik 29", 8.84, fractional=True),
    Design("Tindvik 33", 10.08, fractional=True, spreader_pairs=2),
    Design("Merrin 34", 10.36),
)
OLD_TIMER = Design("Grindholm 36", 10.97, rig="ketch", furler=False, wire="galvanised", bronze=True)

"""Small histories written by hand: one fleet, its boats, their parts and what was seen of them.

What inspections saw is written spot by spot, as recording an inspection leaves it.
"""

import datetime as dt

from fleet.models import Base, Boat, CruisingGround, Fleet, Installation, SeasonUse, Stay
from inspections.models import Inspection, PartVerdict

AS_OF = dt.date(2026, 11, 1)
WIRE = Installation.Kind.WIRE
ALL_GOOD = {"lower": "good", "run": "good", "upper": "good"}
STAYS = [(name, side) for name in Stay.Name.values for side in ("port", "starboard")]


def day(text: str | dt.date | None) -> dt.date | None:
    return dt.date.fromisoformat(text) if isinstance(text, str) else text


def age(start: str | dt.date, end: str | dt.date) -> float:
    """Years of 365.25 days between two dates."""
    return (day(end) - day(start)).days / 365.25


class History:
    """A fleet with one ground and one base; more boats, parts and looks on request."""

    def __init__(self, slug: str = "north", corrosivity: str = "C4", **rules):
        self.fleet = Fleet.objects.create(name=f"Fleet {slug}", slug=slug, **rules)
        self.ground = CruisingGround.objects.create(
            fleet=self.fleet, name="The Sound", corrosivity=corrosivity
        )
        self.base = Base.objects.create(fleet=self.fleet, name="Home", ground=self.ground)

    def boat(self, name: str = "Alder", complete_since: str | None = None, **fields) -> Boat:
        fields = {"build_year": 2005, "joined": dt.date(2005, 6, 1), "length_m": 10} | fields
        fields |= {"service": fields.get("service", "private")}
        return Boat.objects.create(
            fleet=self.fleet,
            base=fields.pop("base", self.base),
            name=name,
            history_complete_since=day(complete_since),
            **fields,
        )

    def part(
        self,
        boat: Boat,
        fitted: str | None = "2010-01-01",
        removed: str | None = None,
        reason: str = "",
        place: str = "",
        stay: str = "backstay",
        side: str = "",
        kind: str = WIRE,
        certainty: str = "day",
        in_foil: bool = False,
        **fields,
    ) -> Installation:
        where, _ = Stay.objects.get_or_create(
            boat=boat, name=stay, side=side, defaults={"in_foil": in_foil}
        )
        return Installation.objects.create(
            stay=where,
            kind=kind,
            fitted_on=day(fitted),
            fitted_certainty=certainty,
            removed_on=day(removed),
            removal_reason=reason,
            removal_spot=place,
            **fields,
        )

    def look(
        self, on: str, *seen: tuple[Installation, dict[str, str]], level: str = "aloft", boat=None
    ) -> Inspection:
        """Record a look: each part with the state of its spots; a spot not named is not seen."""
        boat = boat or seen[0][0].stay.boat
        look = Inspection.objects.create(
            boat=boat, on=day(on), level=level, person="Ada", competence="rigger"
        )
        for part, states in seen:
            self.verdict(look, part, states)
        return look

    def verdict(self, look: Inspection, part: Installation, states: dict[str, str]) -> PartVerdict:
        spots = ("lower", "run", "upper") if part.kind == WIRE else ("whole",)
        states = {spot: states.get(spot, "not_seen") for spot in spots}
        dead = [spot for spot in spots if states[spot] == "condemned"]
        if dead and part.condemned_on is None:
            part.condemned_on = look.on
            part.save()
        return PartVerdict.objects.create(
            inspection=look,
            installation=part,
            value="replace" if dead else "keep",
            spot=dead[0] if dead else "",
            **states,
        )

    def season(self, boat: Boat, year: int, **fields) -> SeasonUse:
        fields = {"ground": self.ground, "service": boat.service} | fields
        return SeasonUse.objects.create(boat=boat, year=year, **fields)

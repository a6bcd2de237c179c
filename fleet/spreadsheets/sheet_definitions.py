"""The sheets about the fleet itself: grounds, bases, boats, use and prices. Parts stand apart."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from ..importing import Sheet
from ..models import Base, Boat, CruisingGround, Fleet, Installation, Price, SeasonUse
from ..models.fleets import Party
from ..sheets import Choice, Column, Day, Email, Layout, Number, Row, Text, Whole, YesNo, folded
from ..templatetags.wording import WHOLE_UNITS
from .drafts import Draft, Problem

NAME = Text(80)
MONTH = Whole("a month number", 1, 12)
YEAR = Whole("a year", 1850, 2150)
PARTY = Choice(dict(Party.choices))
SERVICE = Choice(dict(Boat.Service.choices), blank=None)
CORROSIVITY = Choice(dict(CruisingGround.Corrosivity.choices))


class Grounds(Sheet):
    """Cruising grounds."""

    layout = Layout(
        "grounds",
        "The waters you sail. One row for each cruising ground.",
        (
            Column("ground", NAME, "Its name.", True, "Outer sound"),
            Column("corrosivity", CORROSIVITY, "Category after ISO 9223, C2 to CX.", True, "C4"),
            Column("EN factor", Whole("the factor", -60, 10), "Corrosion resistance factor after "
                   "EN 1993-1-4 Annex A, where known. Shown, not used.", example="-15"),
        ),
    )  # fmt: skip
    model = CruisingGround
    first = True

    def stored(self, fleet: Fleet) -> dict[str, CruisingGround]:
        return {folded(ground.name): ground for ground in CruisingGround.objects.of(fleet)}

    def key(self, row: Row) -> str:
        return folded(row["ground"])

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        return iter(())

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        names = {"ground": "name", "corrosivity": "corrosivity", "EN factor": "en_factor"}
        return {"fleet": draft.fleet, **said(row, names)}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for ground in CruisingGround.objects.of(fleet):
            yield {
                "ground": ground.name,
                "corrosivity": ground.corrosivity,
                "EN factor": ground.en_factor,
            }


class Bases(Sheet):
    """Bases."""

    layout = Layout(
        "bases",
        "Where boats are kept and worked on.",
        (
            Column("base", NAME, "Its name.", True, "North quay"),
            Column("ground", NAME, "Its home waters, as in the sheet grounds.", True,
                   "Outer sound"),
            Column("off season begins", MONTH, "Month, 1 to 12; blank: as the fleet.",
                   example="11"),
            Column("off season ends", MONTH, "Month, 1 to 12; blank: as the fleet.", example="3"),
            Column("rigger hours", Whole("hours", 0, 100_000),
                   "Hours of riggers this base has in one off season.", example="400"),
        ),
    )  # fmt: skip
    model = Base
    needs = ("grounds",)
    first = True
    fields = {
        "base": "name",
        "off season begins": "off_season_start",
        "off season ends": "off_season_end",
        "rigger hours": "rigger_hours",
    }

    def stored(self, fleet: Fleet) -> dict[str, Base]:
        return {folded(base.name): base for base in Base.objects.of(fleet).select_related("ground")}

    def key(self, row: Row) -> str:
        return folded(row["base"])

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        yield from draft.refers("grounds", "ground", row["ground"])

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        ground = draft.find("grounds", row["ground"])
        return {"fleet": draft.fleet, "ground": ground, **said(row, self.fields)}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for base in self.stored(fleet).values():
            yield {"ground": base.ground.name, **exported(base, self.fields)}


class Boats(Sheet):
    """Boats."""

    layout = Layout(
        "boats",
        "One row for each boat, also for those that have left: their record teaches.",
        (
            Column("boat", NAME, "Its name, once in the fleet.", True, "Guillemot"),
            Column("base", NAME, "As in the sheet bases.", True, "North quay"),
            Column("design", NAME, "Boats of the same design are sisters.", example="Sloop 38"),
            Column("rig", Choice(dict(Boat.Rig.choices), blank="sloop"), "Blank: sloop.",
                   example="sloop"),
            Column("fractional", YesNo(), "Forestay below the masthead.", example="no"),
            Column("spreader pairs", Whole("pairs", 0, 9, blank=1), "On the main mast; blank: 1.",
                   example="2"),
            Column("length m", Number("metres", 2, 99, places=2), "Length of the hull.", True,
                   "11.60"),
            Column("build year", YEAR, "Year the boat was built.", True, "2008"),
            Column("joined", Day(), "When it came into the fleet.", True, "2011-04-01"),
            Column("left", Day(), "When it left for good; blank while it is here."),
            Column("planned exit", Day(future=True), "When it is meant to leave.",
                   example="2031-10-31"),
            Column("history complete since", Day(), "Since when every part renewed or lost is in "
                   "these sheets. Blank: since the first inspection.", example="2012-01-01"),
            Column("service", Choice(dict(Boat.Service.choices), blank="charter"),
                   "Blank: charter.", example="charter"),
            Column("mast down in off season", YesNo(), "Whether it usually comes down.",
                   example="no"),
            Column("owned by", PARTY, "Blank: as the fleet.", example="owner"),
            Column("paid by", PARTY, "Who pays for rigging; blank: as the fleet.",
                   example="operator"),
            Column("owner", Text(120), "Name of the owner.", example="I. Example"),
            Column("owner email", Email(254), "For reminders.", example="owner@example.org"),
        ),
    )  # fmt: skip
    model = Boat
    needs = ("bases",)
    first = True
    fields = {
        "boat": "name",
        "design": "design",
        "rig": "rig",
        "fractional": "fractional",
        "spreader pairs": "spreader_pairs",
        "length m": "length_m",
        "build year": "build_year",
        "joined": "joined",
        "left": "left",
        "planned exit": "planned_exit",
        "history complete since": "history_complete_since",
        "service": "service",
        "mast down in off season": "mast_down_off_season",
        "owned by": "owned_by",
        "paid by": "paid_by",
        "owner": "owner_name",
        "owner email": "owner_email",
    }

    def stored(self, fleet: Fleet) -> dict[str, Boat]:
        boats = Boat.objects.of(fleet).select_related("base__ground")
        return {folded(boat.name): boat for boat in boats}

    def key(self, row: Row) -> str:
        return folded(row["boat"])

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        yield from draft.refers("bases", "base", row["base"])
        joined = row["joined"]
        if joined.year < row["build year"]:
            yield Problem("joined", f"It was built later, in {row['build year']}.", "Correct one.")
        for header in ("left", "planned exit"):
            if row.get(header) and row[header] < joined:
                wrong = f"This is before it joined, on {joined}."
                yield Problem(header, wrong, "Write a later day, or correct “joined”.")

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        base = draft.find("bases", row["base"])
        return {"fleet": draft.fleet, "base": base, **said(row, self.fields)}

    def noted(self, made: Boat, state: str, draft: Draft) -> None:
        if state != "same":
            draft.touch(made)

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for boat in self.stored(fleet).values():
            yield {"base": boat.base.name, **exported(boat, self.fields)}


class Use(Sheet):
    """Use of each boat, season by season."""

    layout = Layout(
        "use",
        "One number a season is enough; what is left blank is taken from the boat and its base.",
        (
            Column("boat", NAME, "As in the sheet boats.", True, "Guillemot"),
            Column("season", YEAR, "The year.", True, "2024"),
            Column("ground", NAME, "Where it sailed; blank: the waters of its base.",
                   example="Outer sound"),
            Column("miles", Whole("nautical miles", 0, 100_000), "Nautical miles sailed.",
                   example="2400"),
            Column("mast down", YesNo(blank=None), "Whether the mast came down in the off season "
                   "that followed; blank: as usual.", example="no"),
            Column("service", SERVICE, "Blank: as the boat.", example="charter"),
        ),
    )  # fmt: skip
    model = SeasonUse
    needs = ("grounds", "boats")

    def stored(self, fleet: Fleet) -> dict[tuple[str, int], SeasonUse]:
        seasons = SeasonUse.objects.of(fleet).select_related("boat", "ground")
        seasons = seasons.order_by("boat__name", "boat", "year")
        return {(folded(use.boat.name), use.year): use for use in seasons}

    def key(self, row: Row) -> tuple[str, int]:
        return folded(row["boat"]), row["season"]

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        unknown = list(draft.refers("boats", "boat", row["boat"]))
        yield from unknown
        if row.get("ground"):
            yield from draft.refers("grounds", "ground", row["ground"])
        if row["season"] > draft.today.year:
            yield Problem("season", "This season is still to come.", "Leave the row out.")
        elif not unknown and row["season"] < draft.find("boats", row["boat"]).build_year:
            yield Problem("season", "The boat was not yet built.", "Correct the year.")

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        boat = draft.find("boats", row["boat"])
        stored = draft.known[self.name].get(self.key(row))
        values = {"boat": boat, "year": row["season"], **said(row, {"miles": "miles"})}
        for header, name, usual in (
            ("ground", "ground", boat.base.ground),
            ("mast down", "mast_down", boat.mast_down_off_season),
            ("service", "service", boat.service),
        ):
            if header in row or stored is None:
                value = row.get(header)
                values[name] = usual if value in (None, "") else value
        if row.get("ground"):
            values["ground"] = draft.find("grounds", row["ground"])
        return values

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for use in self.stored(fleet).values():
            yield {
                "boat": use.boat.name,
                "season": use.year,
                "ground": use.ground.name,
                "miles": use.miles,
                "mast down": use.mast_down,
                "service": use.service,
            }


class Prices(Sheet):
    """The price list."""

    layout = Layout(
        "prices",
        "What work and material cost now, in the fleet's currency, and the rigger hours it takes.",
        (
            Column("item", Choice(dict(Price.Item.choices)), "What it is the price of.", True,
                   "wire, per metre"),
            Column("construction", Choice(dict(Installation.Construction.choices)),
                   "Of wire and terminals; blank: any.", example="1x19"),
            Column("diameter mm", Number("mm", 0.1, 200), "Of the wire; blank: any.", example="8"),
            Column("price", Number("the price", 0, 10_000_000, places=2, exact=True),
                   "In whole units of the currency, with decimals.", True, "14.50"),
            Column("hours", Number("hours", 0, 10_000, blank=0), "Rigger hours; blank: none.",
                   example="0.5"),
        ),
    )  # fmt: skip
    model = Price
    fields = {
        "item": "item",
        "construction": "construction",
        "diameter mm": "diameter_mm",
        "hours": "hours",
    }

    def stored(self, fleet: Fleet) -> dict[tuple, Price]:
        prices = Price.objects.of(fleet)
        return {(price.item, price.construction, price.diameter_mm): price for price in prices}

    def key(self, row: Row) -> tuple:
        return row["item"], row.get("construction", ""), row.get("diameter mm")

    def check(self, row: Row, draft: Draft) -> Iterator[Problem]:
        minor = row["price"] * per_unit(draft.fleet)
        if minor != minor.to_integral_value():
            wrong = f"The {draft.fleet.currency} has no such small unit."
            yield Problem("price", wrong, "Write whole units.")

    def values(self, row: Row, draft: Draft) -> dict[str, Any]:
        minor = int(row["price"] * per_unit(draft.fleet))
        return {"fleet": draft.fleet, "price_minor": minor, **said(row, self.fields)}

    def rows(self, fleet: Fleet) -> Iterator[dict[str, Any]]:
        for price in Price.objects.of(fleet):
            amount = Decimal(price.price_minor) / per_unit(fleet)
            yield {"price": amount, **exported(price, self.fields)}


def per_unit(fleet: Fleet) -> int:
    """Return how many minor units make one unit of the fleet's currency."""
    return 1 if fleet.currency in WHOLE_UNITS else 100


def said(row: Row, names: dict[str, str]) -> dict[str, Any]:
    """Return the fields whose columns the file has; the others keep what is stored."""
    return {name: row[header] for header, name in names.items() if header in row}


def exported(made: Any, names: dict[str, str]) -> dict[str, Any]:
    return {header: getattr(made, name) for header, name in names.items()}

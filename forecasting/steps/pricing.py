"""What it costs to renew each part of a fleet, in integer minor units.

A wire costs its length at the price per metre and two terminals; a turnbuckle or chainplate its own
price. The hours on those lines are those of fitting one with the mast down; price and hours of "one
wire renewed with the mast up" come on top. Terminals are listed by the size of their wire,
turnbuckles and chainplates by that of their pin.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from fleet.models import Fleet, Installation, Price

from .price_book import PriceBook

Item = Price.Item
Kind = Installation.Kind
TERMINALS_A_WIRE = 2
# Where nobody noted them, from the length of the boat; from memory, no source.
WIRE_MM_A_METRE = 0.7
WIRE_METRES_A_METRE = 1.1
PIN_MM_A_WIRE_MM = 2.0  # common practice, no source


@dataclass(frozen=True, eq=False)
class PartPrices:
    """Per part (P,) and per boat (B,), in the order given. Money in integer minor units.

    material   (P,) the new part
    hours      (P,) to fit it with the mast down
    up_price, up_hours  (P,) what comes on top with the mast up
    set_up_cost, set_up_hours  (B,) mast down and up again, rigger included
    hour, unplanned, failure   a rigger's hour; extra of an unplanned renewal; a failure in service
    warnings   what the price list does not say, in words
    """

    material: np.ndarray
    hours: np.ndarray
    up_price: np.ndarray
    up_hours: np.ndarray
    set_up_cost: np.ndarray
    set_up_hours: np.ndarray
    hour: int
    unplanned: int
    failure: int
    warnings: tuple[str, ...]

    def planned(self, mast_down: np.ndarray) -> np.ndarray:
        """Return (P,) cost of a planned renewal, set-up not in it; mast_down: (P,) bool."""
        hours = self.hours + np.where(mast_down, 0.0, self.up_hours)
        extra = np.where(mast_down, 0, self.up_price)
        return _minor(self.material + extra + hours * self.hour)

    def in_season(self) -> np.ndarray:
        """Return (P,) cost of the same renewal when it comes unplanned, with the mast up."""
        return self.planned(np.zeros(self.material.size, dtype=bool)) + self.unplanned

    def times(self, factor: float) -> "PartPrices":
        """Return the same with every price so many times as high, for tax that stays a cost."""
        if factor == 1:
            return self
        arrays = {name: _minor(getattr(self, name) * factor)
                  for name in ("material", "up_price", "set_up_cost")}  # fmt: skip
        single = {name: round(getattr(self, name) * factor)
                  for name in ("hour", "unplanned", "failure")}  # fmt: skip
        return replace(self, **arrays, **single)


def price(fleet: Fleet, parts: pd.DataFrame, boats: pd.DataFrame) -> PartPrices:
    """Return what renewing these parts costs, by the fleet's price list.

    parts: rows with boat, stay, kind, construction, diameter, pin and length (mm); boats: indexed
    by primary key, with length (m). Both as ``standing.afloat`` gives them.
    """
    book = PriceBook(fleet, Price.objects.of(fleet))
    parts = _with_sizes(parts, boats, book)
    material, hours = _materials(parts, book)
    hour, _ = book.single(Item.RIGGER_HOUR)
    up_price, up_hours = book.single(Item.MAST_UP_JOB)
    set_up, set_up_hours = book.mast_down(boats["length"].to_numpy())
    wire = (parts["kind"] == Kind.WIRE).to_numpy()
    return PartPrices(
        material=_minor(material),
        hours=hours,
        up_price=_minor(np.where(wire, up_price, 0.0)),
        up_hours=np.where(wire, up_hours, 0.0),
        set_up_cost=_minor(set_up + set_up_hours * hour),
        set_up_hours=set_up_hours,
        hour=round(hour),
        unplanned=_with_labour(*book.single(Item.UNPLANNED), hour),
        failure=_with_labour(*book.single(Item.FAILURE), hour),
        warnings=book.warnings,
    )


def _with_labour(price: float, hours: float, hour: float) -> int:
    return round(price + hours * hour)


def _minor(money: np.ndarray) -> np.ndarray:
    return np.rint(money).astype(np.int64)


def _with_sizes(parts: pd.DataFrame, boats: pd.DataFrame, book: PriceBook) -> pd.DataFrame:
    """Fill in what nobody noted: a wire that suits the boat, a pin that suits the wire."""
    wire = parts["kind"] == Kind.WIRE
    boat = parts["boat"].map(boats["length"])
    of_wire = parts["stay"].map(parts[wire].groupby("stay")["diameter"].max())
    of_wire = of_wire.fillna((boat * WIRE_MM_A_METRE).round())
    pin = parts["pin"].fillna(parts["diameter"]).fillna(of_wire * PIN_MM_A_WIRE_MM)
    metres = parts["length"] / 1000
    for column, what in (("diameter", "size"), ("length", "length")):
        if count := int(parts[wire][column].isna().sum()):
            book.say(f"{count} wires have no {what} on record: one that suits the boat is used.")
    return parts.assign(
        diameter=parts["diameter"].fillna(of_wire).where(wire, pin),
        metres=metres.fillna(boat * WIRE_METRES_A_METRE),
        construction=parts["construction"].where(wire, ""),
    )


def _materials(parts: pd.DataFrame, book: PriceBook) -> tuple[np.ndarray, np.ndarray]:
    """Return (P,) price and (P,) hours of each new part."""
    price, hours = np.zeros(len(parts)), np.zeros(len(parts))
    items = {
        Kind.WIRE: Item.WIRE,
        Kind.TURNBUCKLE: Item.TURNBUCKLE,
        Kind.CHAINPLATE: Item.CHAINPLATE,
    }
    for kind, item in items.items():
        rows = np.flatnonzero(parts["kind"] == kind)
        of_kind = parts.iloc[rows]
        if not len(rows):
            continue
        price[rows], hours[rows] = book.sized(item, of_kind)
        if kind == Kind.WIRE:
            ends, ends_hours = book.sized(Item.TERMINAL, of_kind)
            price[rows] = price[rows] * of_kind["metres"] + TERMINALS_A_WIRE * ends
            hours[rows] += TERMINALS_A_WIRE * ends_hours
    return price, hours

"""A fleet's price list, answering for every size, and saying what it had to fill in.

A size that is not listed takes the nearest of its construction. An item that is not listed at all
takes a figure of ours, from memory and without a source, so that a forecast of money can be made on
the first day; every fleet should put its own in its place.
"""

from collections.abc import Iterable

import numpy as np
import pandas as pd

from fleet.models import Fleet, Price
from fleet.templatetags.wording import WHOLE_UNITS

Item = Price.Item
# From memory, no source, in money units (euros of 2026) and hours. Wire a metre and terminals per
# square of the wire's diameter in mm, the others of their pin's; hours to fit one, mast down.
PER_SQUARE_MM = {Item.WIRE: 0.25, Item.TERMINAL: 1.2, Item.TURNBUCKLE: 0.85, Item.CHAINPLATE: 1.2}
DEARER_THAN_1X19 = {"compacted": 1.5, "rod": 3.0, "fibre": 2.0, "galvanised": 0.6}
HOURS_EACH = {Item.WIRE: 0.0, Item.TERMINAL: 0.5, Item.TURNBUCKLE: 0.5, Item.CHAINPLATE: 3.0}
SINGLE = {
    Item.RIGGER_HOUR: (70.0, 0.0),
    Item.MAST_UP_JOB: (60.0, 2.0),
    Item.UNPLANNED: (400.0, 0.0),
    Item.FAILURE: (20_000.0, 0.0),
}
MAST_DOWN_A_METRE = (80.0, 0.6)  # of boat


class PriceBook:
    """Prices in integer minor units, hours as listed; ``warnings`` grow with the answers."""

    def __init__(self, fleet: Fleet, rows: Iterable[Price]) -> None:
        self._minor = 1 if fleet.currency in WHOLE_UNITS else 100
        self._rows: dict[str, list[Price]] = {}
        for row in rows:
            self._rows.setdefault(row.item, []).append(row)
        self._said: dict[str, None] = {}

    @property
    def warnings(self) -> tuple[str, ...]:
        return tuple(self._said)

    def say(self, sentence: str) -> None:
        self._said[sentence] = None

    def sized(self, item: str, parts: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
        """Return price and hours of one ``item`` for each part, by its construction and diameter.

        parts: (n) rows with construction and diameter (mm, known). Both answers: (n,).
        """
        keys = pd.MultiIndex.from_frame(parts[["construction", "diameter"]])
        codes, distinct = keys.factorize()
        found = np.array([self._of_size(item, *key) for key in distinct]).reshape(-1, 2)
        return found[codes, 0], found[codes, 1]

    def single(self, item: str) -> tuple[float, float]:
        """Return price and hours of an item that has no size."""
        if item in self._rows:
            row = self._rows[item][0]
            return float(row.price_minor), row.hours
        price, hours = SINGLE[item]
        self._fill_in(item, price, hours)
        return price * self._minor, hours

    def mast_down(self, lengths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return price and hours of mast down and up again, for boats of these lengths (m)."""
        if Item.MAST_DOWN in self._rows:
            row = self._rows[Item.MAST_DOWN][0]
            return np.full(lengths.size, float(row.price_minor)), np.full(lengths.size, row.hours)
        price, hours = MAST_DOWN_A_METRE
        self._fill_in(Item.MAST_DOWN, price, hours, " a metre of boat")
        return lengths * price * self._minor, lengths * hours

    def _of_size(self, item: str, construction: str, diameter: float) -> tuple[float, float]:
        row = self._nearest(item, construction, diameter)
        if row is None:
            price = PER_SQUARE_MM[item] * DEARER_THAN_1X19.get(construction, 1.0) * diameter**2
            self._fill_in(item, PER_SQUARE_MM[item], HOURS_EACH[item], " times the mm squared")
            return price * self._minor, HOURS_EACH[item]
        return float(row.price_minor), row.hours

    def _nearest(self, item: str, construction: str, diameter: float) -> Price | None:
        """Return the line of that construction, else of any, and among those the nearest size."""
        rows = self._rows.get(item, [])
        own = [row for row in rows if row.construction == construction]
        rows = own or [row for row in rows if item != Item.WIRE or not row.construction]
        if not rows:
            return None
        row = min(rows, key=lambda row: (_gap(row, diameter), row.diameter_mm or 0))
        if 0 < _gap(row, diameter) < np.inf:
            what = f"{construction} {Item(item).label.split(',')[0]}".strip()
            self.say(f"No price for {what} of {diameter:g} mm: {row.diameter_mm:g} mm is used.")
        return row

    def _fill_in(self, item: str, price: float, hours: float, per: str = "") -> None:
        self.say(
            f"No price listed for {Item(item).label}: {price:g}{per} and {hours:g} hours are used, "
            "from memory. Put your own in the price list."
        )


def _gap(row: Price, diameter: float) -> float:
    return abs(row.diameter_mm - diameter) if row.diameter_mm else np.inf

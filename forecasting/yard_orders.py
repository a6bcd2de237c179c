"""What to order from whom by when, so that it is there on the Monday its boat comes in.

A part is to be ordered by the Monday of its boat's visit less the lead time of its supplier. Parts
of one description with one such day are one line. Prices are the price list's, material alone.
"""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import groupby

import pandas as pd

from fleet.models import Boat, Fleet, Installation
from fleet.templatetags.wording import day

from . import yard_reads
from .accounts.policy import tax_factor
from .models import LeadTime, YardPlan, YardVisit
from .orders.sources import on_order
from .papers import part_words
from .steps.pricing import price

MAIN = {"construction": "construction", "diameter": "diameter", "length": "pin to pin",
        "lower": "lower terminal", "upper": "upper terminal", "pin": "pin"}  # fmt: skip
NO_LEAD = "No lead time on record"
UNNAMED = "Supplier not named"
SIZES = ("construction", "diameter", "length", "lower", "upper", "pin", "screw", "mast_end",
         "adjuster")  # fmt: skip
NOT_KNOWN = dt.date.max  # Orders without a day come last.


@dataclass(frozen=True)
class Wanted:
    """One part to order. ``by``: latest day; None where lead time or week is not known.

    work_order: the number of the open work order it is on, blank where it is on none.
    """

    part: Installation
    boat: Boat
    monday: dt.date | None
    lead: LeadTime | None
    price_minor: int
    work_order: str = ""

    @property
    def by(self) -> dt.date | None:
        if self.monday is None or self.lead is None:
            return None
        return self.monday - dt.timedelta(days=math.ceil(7 * self.lead.weeks))

    @property
    def supplier(self) -> str:
        return NO_LEAD if self.lead is None else self.lead.supplier or UNNAMED

    @property
    def kind(self) -> str:
        return self.part.get_kind_display()

    @property
    def whose(self) -> str:
        """Return the boat it is for, and the work order on which it may be ordered already."""
        on = f" (on work order {self.work_order})" if self.work_order else ""
        return f"{self.boat.name}{on}"

    @property
    def description(self) -> tuple[str, ...]:
        """Return kind and sizes in the words of a cut sheet; blank where the kind has none."""
        size = part_words.size(self.part)
        return (self.kind, *(size.get(name, "") for name in SIZES))


@dataclass
class Line:
    """Parts of one description with one latest day."""

    wanted: list[Wanted]
    today: dt.date

    @property
    def first(self) -> Wanted:
        return self.wanted[0]

    @property
    def by(self) -> dt.date | None:
        return self.first.by

    @property
    def pieces(self) -> int:
        return len(self.wanted)

    @property
    def price_minor(self) -> int:
        return sum(each.price_minor for each in self.wanted)

    @property
    def size(self) -> dict[str, str]:
        """Return the sizes in the words of a cut sheet; fittings go by pin, not by diameter."""
        size = dict.fromkeys(SIZES, "") | part_words.size(self.first.part)
        return size if size["length"] else size | {"diameter": ""}

    @property
    def late(self) -> int:
        """Return by how many days it is too late to have it there in time; 0 where it is not."""
        return max(0, (self.today - self.by).days) if self.by else 0

    @property
    def boats(self) -> list[tuple[str, list[str]]]:
        """Return each boat, with its work order if any, and the stays the parts are for."""
        stays: dict[tuple[int, str], list[str]] = defaultdict(list)
        for each in self.wanted:
            stays[each.boat.pk, each.whose].append(each.part.stay.label)
        return [(whose, own) for (_, whose), own in stays.items()]

    @property
    def for_words(self) -> str:
        return " · ".join(for_boat(whose, stays) for whose, stays in self.boats)

    @property
    def measure(self) -> str:
        """Return what is to be measured first; blank where all one orders by is on record."""
        lacks = [words for name, words in MAIN.items() if self.size[name] == part_words.MEASURE]
        further = part_words.size(self.first.part).get("open", "")
        lacks += filter(None, [further.removeprefix(f"{part_words.MEASURE}: ")])
        return f"{part_words.MEASURE}: {', '.join(lacks)}" if lacks else ""

    @property
    def how(self) -> str:
        """Return what is noted of how or when to order it."""
        return self.first.lead.order_by if self.first.lead else ""

    @property
    def when(self) -> str:
        """Return by when to order it, or why that is not known, in words."""
        if self.by:
            return day(self.by)
        return "no week yet" if self.first.monday is None else "lead time not known"


class OfLines:
    """Pieces and price are those of its ``lines``."""

    @property
    def pieces(self) -> int:
        return sum(line.pieces for line in self.lines)

    @property
    def price_minor(self) -> int:
        return sum(line.price_minor for line in self.lines)


@dataclass
class Alike(OfLines):
    """Lines that differ in length alone: one material with its cuts."""

    lines: list[Line]

    @property
    def first(self) -> Line:
        return self.lines[0]

    @property
    def words(self) -> str:
        """Return kind, construction and diameter: ``Wire, 1x19, 316, 8 mm``."""
        size = self.first.size
        across = size["diameter"] if size["construction"] else ""
        across = f"{across} mm" if across and across != part_words.MEASURE else ""
        known = size["construction"].removesuffix(part_words.MEASURE)
        return ", ".join(filter(None, [self.first.first.kind.capitalize(), known, across]))

    @property
    def ends(self) -> str:
        """Return terminals, pin and thread as far as they are known, in words."""
        size = {name: "" if value == part_words.MEASURE else value
                for name, value in self.first.size.items()}  # fmt: skip
        said = (("lower", size["lower"]), ("upper", size["upper"]), ("thread", size["screw"]),
                ("mast end", size["mast_end"]), ("setting", size["adjuster"]),
                ("pin", size["pin"] and f"{size['pin']} mm"))  # fmt: skip
        return ", ".join(f"{name} {value}" for name, value in said if value)

    @property
    def unsized(self) -> bool:
        """Return whether one of the sizes an order cannot do without is not on record."""
        return part_words.MEASURE in self.first.size.values()

    @property
    def cuts(self) -> list[tuple[str, str, int]]:
        """Return length, boat with stays, and pieces; no length where the kind has none."""
        return [
            (length_words(line), for_boat(whose, stays), len(stays))
            for line in self.lines
            for whose, stays in line.boats
        ]


def for_boat(whose: str, stays: Sequence[str]) -> str:
    """Return which stays of a boat; names of stays hold commas, so semicolons part them."""
    return f"{whose}: {'; '.join(stays)}"


def _length(line: Line) -> float:
    return line.first.part.length_mm or 0


def length_words(line: Line) -> str:
    length = line.size["length"]
    return "" if length in ("", part_words.MEASURE) else f"{length} mm"


@dataclass
class Day(OfLines):
    """What one supplier is to be sent by one day, or without a day."""

    alike: list[Alike]

    @property
    def lines(self) -> list[Line]:
        return [line for each in self.alike for line in each.lines]

    @property
    def first(self) -> Line:
        return self.alike[0].first

    @property
    def words(self) -> str:
        """Return by when, and how late that is: ``Order by 12 Oct 2026, 2 days late``."""
        late = self.first.late
        when = f"Order by {self.first.when}" if self.first.by else self.first.when.capitalize()
        return f"{when}, {late} day{'' if late == 1 else 's'} late" if late else when


@dataclass
class Order(OfLines):
    """All lines for one supplier, the earliest first."""

    supplier: str
    lines: list[Line] = field(default_factory=list)

    @property
    def by(self) -> dt.date | None:
        return self.lines[0].by

    @property
    def days(self) -> list[Day]:
        """Return the lines by day, and in a day those alike but for their length together."""
        found = []
        for _, own in groupby(self.lines, key=lambda line: (line.by, line.when)):
            alike: dict[tuple, list[Line]] = defaultdict(list)
            for line in own:
                size = {name: value for name, value in line.size.items() if name != "length"}
                alike[line.first.kind, *size.values(), line.measure, line.how].append(line)
            found.append(Day([Alike(sorted(lines, key=_length)) for lines in alike.values()]))
        return found

    @property
    def late(self) -> int:
        """Return how many pieces are too late."""
        return sum(line.pieces for line in self.lines if line.late)


@dataclass(frozen=True)
class Total:
    """Of all orders: pieces, money, what is late or has no day, and is on a work order already."""

    pieces: int
    price_minor: int
    late: int
    undated: int
    first: dt.date | None
    on_order: int = 0

    @property
    def twice(self) -> str:
        """Return a warning where parts may be ordered already."""
        if not self.on_order:
            return ""
        are = "part is" if self.on_order == 1 else "parts are"
        return f"{self.on_order} {are} on a work order already: ask there before ordering again."


def orders(plan: YardPlan, today: dt.date) -> list[Order]:
    """Return an order a supplier, the one that is due soonest first."""
    return grouped(wanted(plan), today)


def wanted(plan: YardPlan) -> list[Wanted]:
    """Return every part of the plan's jobs with its visit, lead time and price."""
    rows = yard_reads.parts_wanted(plan)
    coming: dict[int, YardVisit] = {visit.boat_id: visit for visit in yard_reads.visits(plan)}
    prices = materials(plan.fleet, plan.as_of, {row.job.boat_id for row in rows})
    ordered = on_order(plan.fleet, {row.job.boat for row in rows})
    return [
        Wanted(row.job.installation, row.job.boat, _monday(plan, coming.get(row.job.boat_id)),
               row.lead, prices.get(row.job.installation_id, 0),
               str(ordered.get(row.job.boat_id, {}).get(str(row.job.installation_id), "")))
        for row in rows
    ]  # fmt: skip


def _monday(plan: YardPlan, visit: YardVisit | None) -> dt.date | None:
    placed = visit is not None and visit.first_week is not None
    return plan.monday(visit.first_week) if placed else None


def grouped(parts: Iterable[Wanted], today: dt.date) -> list[Order]:
    """Return the parts as lines of orders: late first, then by day, without a day last."""
    lines: dict[tuple, list[Wanted]] = defaultdict(list)
    for each in parts:
        lines[each.supplier, each.by, each.monday is None, each.description].append(each)
    found: dict[str, Order] = {}
    for key in sorted(lines, key=_turn):
        own = sorted(lines[key], key=lambda each: (each.boat.name, each.part.stay.label))
        found.setdefault(key[0], Order(key[0])).lines.append(Line(own, today))
    return sorted(found.values(), key=lambda order: (order.by or NOT_KNOWN, order.supplier))


def _turn(key: tuple) -> tuple:
    supplier, by, unplaced, description = key
    return by or NOT_KNOWN, unplaced, supplier, description


def total(found: Sequence[Order]) -> Total:
    whole = Order("", [line for order in found for line in order.lines])
    undated = sum(line.pieces for line in whole.lines if line.by is None)
    first = min((line.by for line in whole.lines if line.by), default=None)
    on_order = sum(bool(each.work_order) for line in whole.lines for each in line.wanted)
    return Total(whole.pieces, whole.price_minor, whole.late, undated, first, on_order)


def materials(fleet: Fleet, on: dt.date | None, boats: set[int]) -> dict[int, int]:
    """Return part -> price of a new one in minor units, as the refit list counts it."""
    rows = Installation.objects.filter(stay__boat__in=boats).standing().values_list(
        "pk", "stay__boat", "stay", "kind", "construction", "diameter_mm", "pin_mm", "length_mm"
    )  # fmt: skip
    names = ("part", "boat", "stay", "kind", "construction", "diameter", "pin", "length")
    parts = pd.DataFrame(rows.order_by("pk"), columns=names)
    if parts.empty:
        return {}
    sizes = ["diameter", "pin", "length"]
    parts[sizes] = parts[sizes].astype(float)
    lengths = dict(Boat.objects.filter(pk__in=boats).order_by("pk").values_list("pk", "length_m"))
    afloat = pd.DataFrame({"length": pd.Series(lengths, dtype=float)})
    found = price(fleet, parts, afloat).times(tax_factor(fleet, on or fleet.today()))
    return dict(zip(parts["part"].tolist(), found.material.tolist(), strict=True))

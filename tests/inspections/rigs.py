"""Parts, spots and days that the tests of the verdicts share."""

import datetime as dt

from inspections.criteria import DEFAULT, SPOTS, Criteria
from inspections.verdicts import FindingFacts, PartFacts, VerdictResult, judge

DAY = dt.date(2025, 4, 1)

SWAGED = PartFacts(
    "wire", "1x19", "swaged", "swaged", diameter_mm=8, pin_mm=16, stay="cap_shroud", side="port"
)
MECHANICAL = PartFacts("wire", "1x19", "mechanical", "mechanical", diameter_mm=8, pin_mm=16)
T_TOP = PartFacts("wire", "1x19", "swaged", "t_ball", diameter_mm=8, pin_mm=16)
ROD = PartFacts("wire", "rod", "other", "other", diameter_mm=8, pin_mm=16)
FIBRE = PartFacts("wire", "fibre", "eye", "eye", diameter_mm=10)
SEVEN = PartFacts("wire", "7x7", "swaged", "swaged", diameter_mm=6)
TURNBUCKLE = PartFacts("turnbuckle", pin_mm=16, thread_mm=16)
CHAINPLATE = PartFacts("chainplate", pin_mm=16)


def look(
    part: PartFacts,
    *findings: FindingFacts,
    seen: tuple[str, ...] | None = None,
    previous: tuple[FindingFacts, ...] = (),
    criteria: Criteria = DEFAULT,
    on: dt.date = DAY,
    missed: dict[str, int] | None = None,
) -> VerdictResult:
    """Judge a part of which every spot was seen, unless said otherwise."""
    spots = frozenset(SPOTS[part.kind] if seen is None else seen)
    return judge(part, spots, findings, previous, criteria, on, missed)


def before(sign: str, spot: str, days: int = 100, **facts: object) -> FindingFacts:
    """A finding so many days before the inspection."""
    return FindingFacts(sign, spot, on=DAY - dt.timedelta(days=days), **facts)

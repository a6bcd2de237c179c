"""The verdict on one part at one inspection, and what it means for its pair. Worst wins.

replace > make good > refer > watch > not assessed > not seen > keep. Every finding is read by its
own sign and none excuses another, so one more finding never makes a verdict better.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from inspections.criteria import HOLDS, RANK, Criteria, worst
from inspections.verdicts.facts import SPOT_WORDS, FindingFacts, PartFacts
from inspections.verdicts.reading import Reading, read

OTHER_SIDE = {"port": "starboard", "starboard": "port"}
HOLD_REASONS_SHOWN = 3

TOP_NEED_NOT_BE_SEEN = (
    "The lower end condemns the wire: its upper end need not be inspected to decide. The tang, pin "
    "and mast wall up there still are when someone goes aloft."
)


@dataclass(frozen=True)
class VerdictResult:
    """The verdict on one part.

    `spot`: the spot that condemns it, else blank. `spots`: good, condemned, unresolved (a rigger to
    look, or no criteria) or not_seen; only good and condemned move a bound of the statistics.
    `again_by`: the earliest date by which to look again. `hold_scope`: "sailing", or "offshore"
    where the boat may sail but not offshore. `version`: fingerprint of the criteria used.
    """

    value: str
    reasons: tuple[str, ...]
    spot: str = ""
    again_by: dt.date | None = None
    holds: bool = False
    hold_reason: str = ""
    hold_scope: str = ""
    spots: Mapping[str, str] = field(default_factory=dict)
    version: str = ""


@dataclass(frozen=True)
class Pair:
    """The stay on the other side, held until it is inspected."""

    stay: str
    side: str
    mast: str
    reason: str


def judge(
    part: PartFacts,
    seen: frozenset[str],
    findings: Sequence[FindingFacts],
    previous: Sequence[FindingFacts],
    criteria: Criteria,
    on: dt.date,
    missed_running: Mapping[str, int] | None = None,
) -> VerdictResult:
    """The verdict on one part at one inspection.

    `seen`: the spots seen well enough to be called good if nothing is found there. `previous`:
    findings on this same part at earlier inspections. `missed_running`: by spot, at how many
    comprehensive inspections running, this one included, it was within reach and not seen.

    Raises ValueError for a spot the part does not have, a sign that is not in the criteria, or one
    that belongs to the boat and not to a part (see `boat_level`).
    """
    _check_spots(part, [*seen, *(each.spot for each in findings)])
    readings = sorted(
        (read(part, each, previous, criteria, on) for each in set(findings)),
        key=lambda each: (-RANK[each.value], part.spots.index(each.spot), each.code, each.sentence),
    )
    assessed = criteria.assesses(part.kind, part.construction)
    base = "not_assessed" if not assessed else "keep" if seen else "not_seen"
    value = worst((base, *(each.value for each in readings)))
    spot = _decisive(part, readings)
    missed = [] if spot else _missed(part, seen, missed_running or {}, criteria.missed_limit)
    holds = [(each.hold, each.brief) for each in readings if each.hold]
    holds += [("sailing", each) for each in missed]
    return VerdictResult(
        value=value,
        reasons=(
            *(each.sentence for each in readings),
            *_on_the_whole(part, seen, readings, assessed, spot),
            *missed,
        ),
        spot=spot,
        again_by=None if spot else _earliest(readings),
        holds=bool(holds),
        hold_reason=_joined([brief for _, brief in holds]),
        hold_scope=max((scope for scope, _ in holds), key=HOLDS.index, default=""),
        spots={each: _state(each, seen, readings, assessed) for each in part.spots},
        version=criteria.version,
    )


def consequences(part: PartFacts, result: VerdictResult, failed: bool = False) -> Pair | None:
    """The pair to hold until inspected, when a wire is condemned or has failed; else None."""
    gone = failed or result.value == "replace"
    if part.kind != "wire" or not gone or part.side not in OTHER_SIDE:
        return None
    name = part.stay.replace("_", " ")
    what = "failed in service" if failed else "was condemned"
    return Pair(
        stay=part.stay,
        side=OTHER_SIDE[part.side],
        mast=part.mast,
        reason=f"Its pair, {name} {part.side}, {what}: held until inspected.",
    )


def _check_spots(part: PartFacts, spots: Iterable[str]) -> None:
    for spot in spots:
        if spot not in part.spots:
            raise ValueError(f"A {part.kind} has {', '.join(part.spots)}; it has no '{spot}'.")


def _decisive(part: PartFacts, readings: Sequence[Reading]) -> str:
    condemned = {each.spot for each in readings if each.value == "replace"}
    return next((spot for spot in part.spots if spot in condemned), "")


def _earliest(readings: Sequence[Reading]) -> dt.date | None:
    return min((each.again_by for each in readings if each.again_by), default=None)


def _joined(briefs: Sequence[str]) -> str:
    shown, rest = briefs[:HOLD_REASONS_SHOWN], len(briefs) - HOLD_REASONS_SHOWN
    return "; ".join(shown) + (f"; and {rest} more" if rest > 0 else "")


def _state(spot: str, seen: frozenset[str], readings: Sequence[Reading], assessed: bool) -> str:
    here = {each.value for each in readings if each.spot == spot}
    if "replace" in here:
        return "condemned"
    if "refer" in here:
        return "unresolved"
    if spot not in seen:
        return "not_seen"
    return "good" if assessed else "unresolved"


def _named(spots: Iterable[str]) -> str:
    return ", ".join(SPOT_WORDS[each] for each in spots)


def _on_the_whole(
    part: PartFacts, seen: frozenset[str], readings: Sequence[Reading], assessed: bool, spot: str
) -> list[str]:
    """What is said of the part besides its findings: no criteria, not seen, nothing found."""
    sentences = []
    if not assessed:
        kind = f"{part.construction} {part.kind}" if part.construction else f"a {part.kind}"
        why = "" if part.construction else " whose construction is not on record"
        sentences.append(f"No criteria for {kind}{why}: not assessed.")
    elif seen and not readings:
        looked = [each for each in part.spots if each in seen]
        sentences.append(f"Nothing found ({_named(looked)}).")
    at = {each.spot for each in readings}
    hidden = [each for each in part.spots if each not in seen and each not in at]
    if spot == "lower" and "upper" in hidden:
        sentences.append(TOP_NEED_NOT_BE_SEEN)
        hidden.remove("upper")
    if hidden:
        sentences.append(f"Not seen: {_named(hidden)}. Not seen is no evidence of health.")
    return sentences


def _missed(
    part: PartFacts, seen: frozenset[str], running: Mapping[str, int], limit: int
) -> list[str]:
    return [
        f"{SPOT_WORDS[each].capitalize()} not seen at {running[each]} comprehensive inspections "
        "running: held until opened."
        for each in part.spots
        if each not in seen and running.get(each, 0) >= limit
    ]

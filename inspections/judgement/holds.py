"""Which holds follow from a boat's record, since when, and what lifted each. Facts only.

There is no release by override: a hold ends when its part is renewed, its finding made good, or
the inspection it waits for has been made, and that is on record. Hence importing a history and
recording it day by day give the same holds.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from fleet.models import Installation

from ..models import Finding, Hold, Inspection, SpotState, VerdictValue
from ..verdicts import FindingFacts, Pair, VerdictResult, boat_level, consequences, reach
from ..verdicts.boat import BoatResult
from .history import BoatHistory, Span, is_part_finding, name_of
from .judging import QUALIFIED, Condemnation, Judged, Verdict

Removal = Installation.Removal
SOUND = (VerdictValue.KEEP, VerdictValue.WATCH, VerdictValue.MAKE_GOOD)
IN_DOUBT = (SpotState.CONDEMNED, SpotState.UNRESOLVED)
MAST_DOWN = Inspection.Level.MAST_DOWN
LENGTH = Hold._meta.get_field("reason").max_length


@dataclass(frozen=True)
class Lift:
    """What ended a hold: the day, who, and how in words."""

    on: dt.date
    by: str
    how: str


def project(judged: Judged) -> list[Hold]:
    """Return the boat's holds, past and standing, unsaved."""
    rules = (_of_condemned, _of_gone, _of_pairs, _of_part_findings, _of_boat_findings, _of_unseen)
    holds = [hold for rule in rules for hold in rule(judged)]
    left = judged.history.boat.left
    for hold in holds if left else []:
        if hold.lifted_on is None:
            _end(hold, Lift(left, "", "The boat left the fleet."))
    return holds


def _of_condemned(judged: Judged) -> Iterator[Hold]:
    """*Replace* holds the boat until another part is in its place, or a second judgement."""
    for pk, condemnations in judged.condemnations.items():
        span = judged.history.span_of[pk]
        for each in condemnations:
            row = each.first
            reason = f"{name_of(span.part)} condemned. {row.reasons[0]}"
            hold = _hold(judged, Hold.Cause.REPLACE, row.inspection.on, reason)
            hold.installation, hold.inspection = span.part, row.inspection
            yield _end(hold, _first([_renewal(span), _judged_again(each)]))


def _judged_again(condemnation: Condemnation) -> Lift | None:
    second = condemnation.ended
    if second is None:
        return None
    look, value = second.inspection, VerdictValue(second.value).label
    who = f"{look.person} ({look.get_competence_display()}, {look.get_level_display()})"
    return Lift(look.on, look.person, f"Judged again by {who}: {value}. {second.reasons[0]}")


def _of_gone(judged: Judged) -> Iterator[Hold]:
    """A part that let go, or was taken off as condemned, leaves its place empty."""
    for span in judged.history.spans:
        part, renewed = span.part, span.renewed_on()
        gone = part.removal_reason in (Removal.FAILED, Removal.CONDEMNED)
        if not gone or part.pk in judged.condemned or renewed == part.removed_on:
            continue
        reason = f"{name_of(part)}: {part.get_removal_reason_display()}, nothing fitted since."
        hold = _hold(judged, Hold.Cause.REPLACE, part.removed_on, reason)
        hold.installation = part
        yield _end(hold, _renewal(span))


def _renewal(span: Span) -> Lift | None:
    day = span.renewed_on()
    if day is None:
        return None
    new = span.successor.part
    proof = f", invoice {new.invoice}" if new.invoice else ""
    return Lift(day, new.fitter, f"{name_of(new)} renewed{proof}.")


def _of_pairs(judged: Judged) -> Iterator[Hold]:
    """The wire opposite one that was condemned or failed waits for a look where that one went."""
    rows = judged.by_part()
    for span in judged.history.spans:
        for death in _deaths(judged, span):
            pair, day = death.pair, death.on
            other = _opposite(judged.history, pair, day) if pair else None
            if other is None or judged.condemned.get(other.part.pk, dt.date.max) <= day:
                continue
            hold = _hold(judged, Hold.Cause.PAIR, day, f"{name_of(other.part)}: {pair.reason}")
            hold.installation = other.part
            hold.inspection = death.found.first.inspection if death.found else None
            own = judged.condemned.get(other.part.pk)
            seen = _pair_lift(other, rows.get(other.part.pk, []), day, death.spot, own)
            yield _end(hold, _first([seen, _taken_back(death.found)]))


@dataclass(frozen=True)
class _Death:
    """When and where a part was condemned or failed, and the pair that concerns."""

    on: dt.date
    spot: str
    pair: Pair | None
    found: Condemnation | None = None


def _deaths(judged: Judged, span: Span) -> Iterator[_Death]:
    part = span.part
    for each in judged.condemnations.get(part.pk, ()):
        row = each.first
        pair = consequences(span.facts, VerdictResult(row.value, tuple(row.reasons)))
        yield _Death(row.inspection.on, row.spot, pair, each)
    if part.pk in judged.condemned or part.removal_reason not in (
        Removal.FAILED, Removal.CONDEMNED
    ):  # fmt: skip
        return
    failed = part.removal_reason == Removal.FAILED
    found = VerdictResult(VerdictValue.REPLACE, ())
    spot = part.removal_spot or Installation.Spot.LOWER
    yield _Death(part.removed_on, spot, consequences(span.facts, found, failed=failed))


def _taken_back(found: Condemnation | None) -> Lift | None:
    """Return what ends a pair's hold without a look at it: the first was judged again."""
    lift = _judged_again(found) if found else None
    return lift and Lift(lift.on, lift.by, f"The other one did not stay condemned. {lift.how}")


def _opposite(history: BoatHistory, pair: Pair, day: dt.date) -> Span | None:
    """Return the wire on the other side that stays up after that day."""
    for span in history.spans:
        facts, removed = span.facts, span.part.removed_on
        if (facts.kind, facts.stay, facts.side, facts.mast) != (
            Installation.Kind.WIRE, pair.stay, pair.side, pair.mast
        ):  # fmt: skip
            continue
        if span.first_day <= day and (removed is None or removed > day):
            return span
    return None


def _pair_lift(
    other: Span, rows: list[Verdict], day: dt.date, spot: str, condemned: dt.date | None
) -> Lift | None:
    """Return what came first: seen good at that spot, condemned itself, or off the boat."""
    lifts = [
        Lift(row.inspection.on, row.inspection.person, f"Inspected: {_looked(row.inspection)}.")
        for row in rows
        if row.inspection.on > day and getattr(row, spot) == SpotState.GOOD
    ]
    if condemned:
        lifts.append(Lift(condemned, "", "Condemned itself: held for that."))
    if other.part.removed_on:
        lifts.append(Lift(other.part.removed_on, "", "Taken off the boat."))
    return min(lifts, key=lambda lift: lift.on, default=None)


def _looked(look: Inspection) -> str:
    return f"{look.get_level_display()} by {look.person} ({look.get_competence_display()})"


def _of_part_findings(judged: Judged) -> Iterator[Hold]:
    """*Make good* holds until done; a leak at a chainplate, from offshore, until it is drawn."""
    rows = judged.by_part()
    for look, finding in _all_findings(judged):
        reading = judged.readings.get(finding.pk)
        if reading is None or not reading.hold or reading.value == VerdictValue.REPLACE:
            continue
        span = judged.history.span_of[finding.installation_id]
        make_good = reading.value == VerdictValue.MAKE_GOOD
        cause = Hold.Cause.MAKE_GOOD if make_good else Hold.Cause.FINDING
        where = "Not offshore: " if reading.hold == "offshore" else ""
        hold = _hold(judged, cause, look.on, f"{where}{name_of(span.part)}. {reading.sentence}")
        hold.installation, hold.inspection, hold.finding = span.part, look, finding
        lifts = [_done(finding), _renewal(span)]
        lifts += [] if make_good else [_opened(rows[span.part.pk], look, finding.place)]
        yield _end(hold, _first(lifts))


def _of_boat_findings(judged: Judged) -> Iterator[Hold]:
    """A cracked tang or loose spreader holds until made good; an event until a rigger looked."""
    for look, finding in _all_findings(judged):
        result = _at_boat(judged, look, finding)
        if result is None or not result.holds:
            continue
        cause = Hold.Cause.EVENT if result.voids_earlier else Hold.Cause.FINDING
        reason = result.hold_reasons[0]
        hold = _hold(judged, cause, look.on, reason[:1].upper() + reason[1:])
        hold.inspection, hold.finding = look, finding
        lift = _cleared(judged, look) if result.voids_earlier else _done(finding)
        yield _end(hold, lift)


def _at_boat(judged: Judged, look: Inspection, finding: Finding) -> BoatResult | None:
    """Return what a finding at a place of the boat means; None for one on a part."""
    span = judged.history.span_of.get(finding.installation_id)
    part = span.part if span else None
    if finding.sign == "not_seen" or is_part_finding(finding, part):
        return None
    near = part.stay.label if part else finding.side
    where = " ".join(filter(None, [finding.place.replace("_", " "), near]))
    facts = FindingFacts(finding.sign, where, finding.measure, finding.cleaned, look.on)
    return boat_level([facts], judged.history.criteria_on(look.on)[1], look.on)


def _all_findings(judged: Judged) -> Iterator[tuple[Inspection, Finding]]:
    history = judged.history
    for look in history.inspections:
        for finding in history.findings.get(look.pk, ()):
            yield look, finding


def _done(finding: Finding) -> Lift | None:
    if finding.done_on is None:
        return None
    return Lift(finding.done_on, finding.done_by, "Made good.")


def _opened(rows: list[Verdict], look: Inspection, spot: str) -> Lift | None:
    """Return the first mast-down look afterwards that saw the spot good."""
    for row in rows:
        later = row.inspection.on > look.on and row.inspection.level == MAST_DOWN
        if later and getattr(row, spot) == SpotState.GOOD:
            how = f"Opened and seen good: {_looked(row.inspection)}."
            return Lift(row.inspection.on, row.inspection.person, how)
    return None


def _cleared(judged: Judged, event: Inspection) -> Lift | None:
    """Return the day by which a rigger or surveyor, aloft or mast-down on later days, had found
    every part sound that had been through the event, or it was off the boat."""
    looks = [
        look
        for look in judged.history.inspections
        if look.on > event.on
        and look.level != Inspection.Level.DECK
        and look.competence in QUALIFIED
    ]
    if not looks:
        return None
    rows, qualified = judged.by_part(), {look.pk for look in looks}
    days = [looks[0].on]
    for span in judged.history.spans:
        if span.up_on(event.on):
            own = [row for row in rows.get(span.part.pk, ()) if row.inspection_id in qualified]
            days.append(_sound_by(span, own))
    if None in days:
        return None
    last = [look for look in looks if look.on <= max(days)][-1]
    return Lift(max(days), last.person, f"Found sound: {_looked(last)}.")


def _sound_by(span: Span, rows: list[Verdict]) -> dt.date | None:
    """Return the day by which all that can be seen of the part from aloft was seen good, with
    nothing in doubt, or by which it was off the boat."""
    spots = reach(Inspection.Level.ALOFT, span.part.kind, span.part.stay.in_foil)
    if not spots:
        return dt.date.min
    off, seen = span.part.removed_on, set()
    for row in rows:
        seen -= {spot for spot in spots if getattr(row, spot) in IN_DOUBT}
        seen |= {spot for spot in spots if getattr(row, spot) == SpotState.GOOD}
        if row.value in SOUND and seen == spots:
            return min(row.inspection.on, off or dt.date.max)
    return off


def _of_unseen(judged: Judged) -> Iterator[Hold]:
    """A spot within reach, not seen at two comprehensive inspections running, must be opened.

    What a level cannot see by construction (chainplates from aloft, wire inside a furler foil) is
    no omission of that inspection: the fleet's mast-down interval sees to it.
    """
    for pk, rows in judged.by_part().items():
        span, held = judged.history.span_of[pk], None
        for row in rows:
            missed = judged.unseen[row.inspection_id, pk]
            if missed and held is None:
                held = _hold(judged, Hold.Cause.NOT_SEEN, row.inspection.on, _unseen(span, missed))
                held.installation, held.inspection = span.part, row.inspection
            elif held and not missed:
                seen = f"Seen: {_looked(row.inspection)}."
                yield _end(held, Lift(row.inspection.on, row.inspection.person, seen))
                held = None
        if held:
            yield _end(held, _renewal(span))


def _unseen(span: Span, spots: list[str]) -> str:
    named = " and ".join(Installation.Spot(spot).label for spot in spots)
    return f"{name_of(span.part)}: {named} not seen at two comprehensive inspections running."


def _hold(judged: Judged, cause: str, since: dt.date, reason: str) -> Hold:
    # Whose rule a limit is stands with the verdict; a hold says what to do.
    for source in {sign.source for sign in judged.history.criteria_on(since)[1].signs}:
        reason = reason.replace(f" ({source})", "")
    return Hold(boat=judged.history.boat, cause=cause, since=since, reason=reason[:LENGTH])


def _first(lifts: list[Lift | None]) -> Lift | None:
    return min((lift for lift in lifts if lift), key=lambda lift: lift.on, default=None)


def _end(hold: Hold, lift: Lift | None) -> Hold:
    if lift:
        hold.lifted_on, hold.lifted_by = max(lift.on, hold.since), lift.by
        hold.lifted_how = lift.how[:LENGTH]
    return hold

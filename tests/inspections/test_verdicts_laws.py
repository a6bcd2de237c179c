"""Laws that hold for every part, every set of findings and every history."""

import datetime as dt

from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.criteria import CONSTRUCTIONS, DEFAULT, KINDS, RANK, SPOTS, TERMINALS
from inspections.verdicts import FindingFacts, PartFacts, boat_level, judge
from tests.inspections.rigs import DAY

# The same examples every time, and no example database left in the working folder.
laws = settings(database=None, derandomize=True, max_examples=200, deadline=None)

SIZES = st.none() | st.sampled_from([4.0, 8.0, 12.7, 16.0])
PARTS = st.builds(
    PartFacts,
    kind=st.sampled_from(KINDS),
    construction=st.sampled_from(("", *CONSTRUCTIONS)),
    lower_terminal=st.sampled_from(("", *TERMINALS)),
    upper_terminal=st.sampled_from(("", *TERMINALS)),
    diameter_mm=SIZES,
    pin_mm=SIZES,
    thread_mm=SIZES,
)
ON_PARTS = sorted(code for code, sign in DEFAULT.items() if sign.kinds)
ON_BOAT = sorted(code for code, sign in DEFAULT.items() if sign.places)


def findings_at(spots: tuple[str, ...], codes: list[str] = ON_PARTS):
    """Any sign at any spot, measured or not, cleaned or not, on a day around the inspection."""
    return st.builds(
        FindingFacts,
        sign=st.sampled_from(codes),
        spot=st.sampled_from(spots),
        measure=st.none() | st.floats(0, 50),
        cleaned=st.none() | st.booleans(),
        on=st.none() | st.dates(DAY - dt.timedelta(days=900), DAY),
    )


@st.composite
def looks(draw):
    """A part, what was seen of it, what was found and what had been found before."""
    part = draw(PARTS)
    spots = SPOTS[part.kind]
    one = findings_at(spots)
    return (
        part,
        draw(st.frozensets(st.sampled_from(spots))),
        draw(st.lists(one, max_size=5)),
        draw(st.lists(one, max_size=5)),
        draw(one),
    )


@laws
@given(looks())
def test_one_more_finding_never_makes_a_verdict_better(case):
    part, seen, findings, previous, extra = case
    without = judge(part, seen, findings, previous, DEFAULT, DAY)
    with_it = judge(part, seen, [*findings, extra], previous, DEFAULT, DAY)
    assert RANK[with_it.value] >= RANK[without.value]
    assert with_it.holds >= without.holds
    for spot, state in without.spots.items():
        if state == "condemned":
            assert with_it.spots[spot] == "condemned"
        if state != "good":
            assert with_it.spots[spot] != "good"


@laws
@given(looks())
def test_a_longer_history_of_rust_or_dark_wire_never_makes_a_verdict_better(case):
    part, seen, findings, previous, extra = case
    if DEFAULT[extra.sign].rule == "growth":
        return  # a first count is no evidence of growth, whatever came before it
    without = judge(part, seen, findings, previous, DEFAULT, DAY)
    with_it = judge(part, seen, findings, [*previous, extra], DEFAULT, DAY)
    assert RANK[with_it.value] >= RANK[without.value]


@laws
@given(looks())
def test_what_was_not_seen_is_never_kept_nor_called_good(case):
    part, seen, findings, previous, _ = case
    unseen = judge(part, frozenset(), findings, previous, DEFAULT, DAY)
    assert unseen.value != "keep"
    assert "good" not in unseen.spots.values()
    result = judge(part, seen, findings, previous, DEFAULT, DAY)
    assert {spot for spot, state in result.spots.items() if state == "good"} <= seen


@laws
@given(looks(), st.randoms(use_true_random=False))
def test_the_order_of_the_findings_and_of_the_history_does_not_matter(case, shuffler):
    part, seen, findings, previous, _ = case
    result = judge(part, seen, findings, previous, DEFAULT, DAY)
    shuffled, history = list(findings), list(previous)
    shuffler.shuffle(shuffled)
    shuffler.shuffle(history)
    assert judge(part, seen, shuffled, history, DEFAULT, DAY) == result
    assert judge(part, seen, [*findings, *findings], previous, DEFAULT, DAY) == result


@laws
@given(looks())
def test_replace_and_make_good_hold_the_boat_and_only_replace_names_a_spot(case):
    part, seen, findings, previous, _ = case
    result = judge(part, seen, findings, previous, DEFAULT, DAY)
    if result.value in ("replace", "make_good"):
        assert (result.holds, result.hold_scope) == (True, "sailing")
    assert bool(result.spot) == (result.value == "replace")
    assert result.holds == bool(result.hold_reason) == bool(result.hold_scope)
    assert result.reasons
    if result.spot:
        assert result.spots[result.spot] == "condemned"
    if result.value in ("watch", "refer"):
        assert result.again_by > DAY


@laws
@given(looks())
def test_a_part_without_criteria_is_never_kept(case):
    part, seen, findings, previous, _ = case
    if not DEFAULT.assesses(part.kind, part.construction):
        result = judge(part, seen, findings, previous, DEFAULT, DAY)
        assert RANK[result.value] >= RANK["not_assessed"]
        assert "good" not in result.spots.values()


@laws
@given(looks(), st.floats(0.1, 1))
def test_a_stricter_limit_never_makes_a_verdict_better(case, share):
    part, seen, findings, previous, _ = case
    stricter = DEFAULT
    for code, sign in DEFAULT.items():
        if sign.rule == "measured" and sign.has_limit:
            factor = share if sign.measure.worse == "more" else 1 / share
            stricter = stricter.changed(code, limit=sign.measure.limit * factor)
    usual = judge(part, seen, findings, previous, DEFAULT, DAY)
    strict = judge(part, seen, findings, previous, stricter, DAY)
    assert RANK[strict.value] >= RANK[usual.value]


@laws
@given(
    st.lists(findings_at(("", "port", "upper starboard"), ON_BOAT), max_size=5),
    findings_at(("", "port"), ON_BOAT),
)
def test_one_more_finding_on_the_boat_never_frees_it(findings, extra):
    without = boat_level(findings, DEFAULT, DAY)
    with_it = boat_level([*findings, extra], DEFAULT, DAY)
    assert with_it.holds >= without.holds
    assert with_it.voids_earlier >= without.voids_earlier
    assert set(without.hold_reasons) <= set(with_it.hold_reasons)
    assert boat_level(findings[::-1], DEFAULT, DAY) == without

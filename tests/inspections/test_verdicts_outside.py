"""Our rule for 1x19 against published rules for ropes that carry people: at least as strict.

Two outside rules, both about ropes and neither about yachts, so they bound our limits from one side
only (condemn no later than they do):

- 30 CFR 56.19024, "Retirement criteria" (US mine safety, hoisting ropes; read at
  law.cornell.edu/cfr/text/30/56.19024): removed from service when the broken wires within a rope
  lay exceed 5 % of all wires or 15 % of those of a strand; a loss of more than one third of the
  original diameter of the outer wires; deterioration from corrosion; distortion of the structure.
- 30 CFR 77.1437, "End attachment retermination" (read in a published copy of the code): cut off
  and terminated again on more than one broken wire, slippage or corrosion at an attachment.
- Standing ropes of cranes: more than two broken wires in one lay beyond end connections, or more
  than one at an end connection (US Army TM 5-3810-302-10, quoting the national crane standard; the
  same wording is in 29 CFR 1926.1413, from memory).
"""

import pytest

from inspections.criteria import DEFAULT
from inspections.verdicts import FindingFacts as Finding
from tests.inspections.rigs import MECHANICAL, SWAGED, look

WIRES = 19


def retired_in_a_mine(broken: int) -> bool:
    return broken > 0.05 * WIRES or broken > 0.15 * WIRES


def retired_on_a_crane(broken: int, spot: str) -> bool:
    return broken > (2 if spot == "run" else 1)


@pytest.mark.parametrize("spot", ["lower", "run", "upper"])
@pytest.mark.parametrize("broken", range(1, WIRES + 1))
def test_1x19_is_condemned_whenever_a_hoisting_or_a_standing_rope_would_be(broken, spot):
    ours = look(SWAGED, Finding("broken_wire", spot, broken)).value == "replace"
    assert ours >= retired_in_a_mine(broken)
    assert ours >= retired_on_a_crane(broken, spot)


def test_a_single_broken_wire_of_nineteen_already_retires_a_hoisting_rope():
    assert retired_in_a_mine(1)
    assert DEFAULT["broken_wire"].measure.limit == 1


@pytest.mark.parametrize("diameter_mm", [4, 5, 6, 7, 8, 10, 12])
def test_a_notch_condemns_long_before_a_third_of_the_single_wire_is_gone(diameter_mm):
    single_wire = diameter_mm / 5
    part = type(SWAGED)("wire", "1x19", "swaged", "swaged", diameter_mm=diameter_mm)
    assert look(part, Finding("notch", "run", single_wire / 3)).value == "replace"
    assert DEFAULT["notch"].measure.limit < 1 / 3


def test_corrosion_and_distortion_retire_a_stay_as_they_retire_a_hoisting_rope():
    for sign in ("rust_between_wires", "spot_bands", "wire_kink", "wire_flattened"):
        assert look(SWAGED, Finding(sign, "run")).value == "replace"


def test_slippage_and_corrosion_at_the_end_retire_a_stay_as_they_retire_a_rope_end():
    slipped = look(MECHANICAL, Finding("wire_drawn_out", "lower", 1.0))
    corroded = look(SWAGED, Finding("rust_at_mouth", "lower", cleaned=False))
    assert slipped.value == corroded.value == "replace"

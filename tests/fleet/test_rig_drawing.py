"""The rig drawing: every stay drawn once, where a rigger would look for it."""

import itertools

import pytest

from fleet.rig_drawing import HEIGHT, WIDTH, RigStay, draw


def stay(name: str, side: str = "", mast: str = "main", verdict: str = "keep") -> RigStay:
    return RigStay(name, side, mast, verdict, verdict, "#", name)


SLOOP = [stay("forestay"), stay("backstay")] + [
    stay(name, side)
    for name in ("cap_shroud", "intermediate", "lower_forward", "lower_aft")
    for side in ("port", "starboard")
]


@pytest.mark.parametrize(
    ("rig", "fractional", "pairs"),
    list(itertools.product(("sloop", "cutter", "ketch"), (False, True), (0, 1, 2, 3))),
)
def test_every_stay_is_drawn_once_and_inside_the_picture(rig, fractional, pairs):
    stays = [
        *SLOOP,
        stay("inner_forestay"),
        stay("running_backstay", "port"),
        stay("diamond", "starboard"),
        stay("cap_shroud", "port", "mizzen"),
        stay("backstay", "", "mizzen"),
    ]
    views = draw(stays, rig=rig, fractional=fractional, spreader_pairs=pairs)
    lines = [line for view in views for line in view.lines]
    assert sorted(line.stay.name for line in lines) == sorted(s.name for s in stays)
    for x, y in (point for line in lines for point in (*line.points, line.label_at)):
        assert 0 <= x <= WIDTH
        assert 0 <= y <= HEIGHT


def test_port_is_on_the_left_and_starboard_on_the_right_seen_from_aft():
    _, aft = draw(SLOOP, rig="sloop", fractional=False, spreader_pairs=2)
    for line in aft.lines:
        foot = line.points[0][0]
        assert (foot < 150) == (line.stay.side == "port")


def test_a_cap_shroud_passes_every_spreader_tip():
    _, aft = draw([stay("cap_shroud", "port")], rig="sloop", fractional=False, spreader_pairs=2)
    assert len(aft.lines[0].points) == 4


def test_a_fractional_forestay_ends_below_the_masthead_and_the_backstay_at_it():
    side, _ = draw(SLOOP[:2], rig="sloop", fractional=True, spreader_pairs=1)
    forestay, backstay = side.lines
    assert forestay.top[1] > backstay.top[1]


def test_a_stay_to_keep_is_not_labelled_and_one_to_replace_always_is():
    _, aft = draw(
        [stay("lower_aft", "port"), stay("lower_aft", "starboard", verdict="replace")],
        rig="sloop", fractional=False, spreader_pairs=1,
    )  # fmt: skip
    assert [line.labelled for line in aft.lines] == [False, True]


def test_the_labels_of_one_side_do_not_cover_each_other():
    stays = [stay(name, "port", verdict="watch") for name in
             ("cap_shroud", "intermediate", "lower_forward", "lower_aft", "diamond")]  # fmt: skip
    side, aft = draw(
        [*stays, stay("backstay"), stay("running_backstay", "port"),
         stay("running_backstay", "starboard")],
        rig="sloop", fractional=False, spreader_pairs=2,
    )  # fmt: skip
    for view in (side, aft):
        heights = sorted(line.label_at[1] for line in view.lines)
        assert min(b - a for a, b in itertools.pairwise(heights)) >= 32


def test_the_name_of_no_stay_runs_off_the_edge_of_the_drawing():
    a_character = 7.2  # Wide on average in the drawing's type, in the drawing's own units.
    runners = [stay("running_backstay", side) for side in ("port", "starboard")]
    for rig in ("sloop", "cutter", "ketch"):
        stays = [*SLOOP, stay("inner_forestay"), *runners]
        views = draw(stays, rig=rig, fractional=False, spreader_pairs=2)
        for line in (line for view in views for line in view.lines):
            room = line.label_at[0] if line.anchor == "end" else WIDTH - line.label_at[0]
            assert room >= a_character * max(map(len, line.words)), line.words

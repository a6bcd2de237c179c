"""Signs at the two ends of a stay or shroud: where most wires go, the lower end first."""

from inspections.criteria.sign import LAID, Measure, Sign

ENDS = {"kinds": ("wire",), "spots": ("lower", "upper")}
# A T- or ball-end is most often swaged on too: its barrel cracks like any other.
SWAGED = {**ENDS, "where": "swaged terminal", "terminals": ("swaged", "t_ball")}
T_OR_BALL = {**ENDS, "where": "T- or ball-end", "terminals": ("t_ball",)}

SIGNS = (
    Sign(
        code="barrel_crack_along",
        label="Crack along the barrel of the terminal",
        look="All round the barrel, from the mouth down: clean it, then a light along it and a "
        "loupe; corrosion inside swells the barrel and splits it lengthwise.",
        outcome="replace",
        **SWAGED,
    ),
    Sign(
        code="barrel_crack_across",
        label="Crack across the barrel or the shank of the terminal",
        look="Round the barrel and where the shank meets eye, fork or stud: clean, light, loupe; "
        "penetrant where a line is in doubt.",
        outcome="replace",
        **SWAGED,
    ),
    Sign(
        code="barrel_bent",
        label="Barrel or shank of the terminal bent",
        look="Sight along the wire into the barrel from two sides; a straight edge along it.",
        outcome="replace",
        **SWAGED,
    ),
    Sign(
        code="wire_drawn_out",
        where="mechanical terminal",
        label="Wire drawn out of the body of the terminal",
        look="Where the wire enters the body: a ring of old dirt or of clean metal shows how far "
        "it has come. Measure the ring along the wire.",
        outcome="replace",
        rule="measured",
        milder="watch",
        unknown="replace",
        measure=Measure("length of wire drawn out", "mm", 1.0),
        terminals=("mechanical",),
        again_days=28,
        action="Mark the wire at the body so that the next look can measure from it.",
        **ENDS,
    ),
    Sign(
        code="rust_at_mouth",
        where="any terminal",
        label="Rust at the mouth of the terminal or between the wires where they enter",
        look="The ring where the wires enter, and between them where they spread: rag, soft "
        "brush, light and mirror. Clean it before judging it.",
        outcome="replace",
        rule="remedy",
        milder="watch",
        unknown="refer",
        again_days=28,
        action="Clean it and look again.",
        constructions=(*LAID, "rod"),
        **ENDS,
    ),
    Sign(
        code="neck_crack",
        label="Crack in the neck of the T- or ball-end",
        look="The bend of the neck just outside the mast plate: take the load off, turn the end "
        "out, clean, light, loupe; penetrant where a line is in doubt.",
        outcome="replace",
        **T_OR_BALL,
    ),
    Sign(
        code="end_unseated",
        label="T- or ball-end not seated in its mast plate",
        look="The end must sit square and all round in the plate; one that bears on its edge has "
        "been bending its neck at every tack.",
        outcome="replace",
        **T_OR_BALL,
    ),
    Sign(
        code="seat_plug_missing",
        label="Plug that keeps the T- or ball-end seated is missing",
        look="The plug in the slot of the mast plate above the end.",
        outcome="make_good",
        action="See that the end is seated, and fit a plug.",
        **T_OR_BALL,
    ),
)

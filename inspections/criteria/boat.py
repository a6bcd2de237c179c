"""Signs at places of the boat that are no part with a life of its own, and events."""

from inspections.criteria.sign import KINDS, PLACES, Measure, Sign

EVENT = {"where": "whole rig", "places": ("whole_rig",), "hold": "sailing", "voids": True}
EVENT_LOOK = "Everything, as after a first fitting: earlier results no longer count."

STRUCTURE = tuple(
    Sign(code=code, where=where, label=label, look=look, outcome="refer", again_days=14,
         places=(place,), hold="sailing")
    for place, where, code, label, look in (
        ("mast_wall", "mast plate", "mast_wall_crack", "Crack in the wall of the mast",
         "Round mast plates, tangs and cut-outs: clean, loupe, penetrant."),
        ("bulkhead", "behind the chainplate", "bulkhead_soft",
         "Bulkhead or knee behind the chainplate wet or soft",
         "Tap it, probe it with a spike; stains, swollen ply, tabbing that has let go."),
        ("bulkhead", "behind the chainplate", "tie_rod_weld_crack",
         "Weld cracked at the tie rod or knee behind the chainplate", "Clean, loupe, penetrant."),
        ("tang", "tang", "tang_crack", "Tang cracked",
         "Round the pin hole and at the bends: clean, loupe, penetrant."),
        ("tang", "tang", "tang_hole", "Pin hole of the tang elongated",
         "Callipers along the pull and across it."),
        ("spreader", "spreader", "spreader_root_crack", "Crack at the spreader root",
         "Root fitting and the mast wall round it; move the spreader by hand, up and aft."),
        ("spreader", "spreader", "spreader_tip_loose", "Spreader tip not seized to its shroud",
         "Take the boot off; the seizing must hold the tip where it is."),
        ("spreader", "spreader", "spreader_not_bisecting",
         "Spreader does not halve the angle of its shroud",
         "Sight from ahead or astern: the angles above and below the tip must be equal."),
    )
)  # fmt: skip

FURLER = tuple(
    Sign(
        code=code,
        where="furler foil",
        label=label,
        look=look,
        outcome="refer",
        again_days=14,
        places=("furler_foil",),
        hold="sailing",
        action="Open the top swivel. The forestay inside counts as not seen.",
    )
    for code, label, look in (
        ("foil_jam", "Furler jams", "It must turn freely by hand, sail off."),
        ("halyard_wrap", "Halyard wraps round the foil", "Lead of the halyard at the swivel."),
    )
)

CONSUMABLES = tuple(
    Sign(
        code=code,
        where="hanks, lashings",
        label=label,
        look="Each of them; count those to be renewed.",
        outcome="keep",
        measure=Measure("pieces to renew", "pieces", None),
        places=("hanks",),
        consumable=True,
        action=action,
    )
    for code, label, action in (
        ("hanks_worn", "Hanks worn", "Replace the hank, not the stay."),
        ("lashings_worn", "Lashings worn", "Replace the lashing."),
    )
)

EVENTS = tuple(
    Sign(code=code, label=label, look=EVENT_LOOK, outcome="refer", again_days=14, **EVENT)
    for code, label in (
        ("lightning", "Lightning struck the boat, or close to it"),
        ("collision", "Collision that touched mast or rig"),
        ("knock_down", "Knock-down: mast in the water"),
        ("hard_grounding", "Hard grounding"),
        ("regatta_accident", "Accident in a race that touched mast or rig"),
    )
)

ANYWHERE = (
    Sign(
        code="not_sure",
        where="any part or place",
        label="Not sure what this is",
        look="Anything that looks wrong and is in no list. A photo helps the rigger.",
        outcome="refer",
        again_days=14,
        kinds=KINDS,
        places=PLACES,
    ),
)

SIGNS = (*STRUCTURE, *FURLER, *CONSUMABLES, *EVENTS, *ANYWHERE)

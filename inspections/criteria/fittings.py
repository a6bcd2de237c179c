"""Signs on turnbuckles and toggles, pins, bronze fittings and chainplates."""

from inspections.criteria.sign import KINDS, Measure, Sign

TURNBUCKLE = {"kinds": ("turnbuckle",), "where": "turnbuckle (rigging screw), toggle"}
PIN = {"kinds": KINDS, "where": "clevis pin, split pin (cotter pin)"}
BRONZE = {"kinds": KINDS, "where": "bronze or brass fittings"}
CHAINPLATE = {"kinds": ("chainplate",), "where": "chainplate"}

TURNBUCKLES = (
    Sign(
        code="fitting_cracked",
        label="Turnbuckle or toggle cracked",
        look="Clean; light and loupe on the jaws, the ends of the body and the roots of threads.",
        outcome="replace",
        **TURNBUCKLE,
    ),
    Sign(
        code="fitting_bent",
        label="Turnbuckle or toggle bent",
        look="Sight along the screws from two sides; a straight edge along the body.",
        outcome="replace",
        **TURNBUCKLE,
    ),
    Sign(
        code="seized_off_axis",
        label="Turnbuckle or toggle seized out of line with the stay",
        look="Move the toggle by hand, both ways, with the stay slacked off under a stand-in.",
        outcome="replace",
        **TURNBUCKLE,
    ),
    Sign(
        code="thread_stripped",
        label="Thread stripped or galled",
        look="Turn it: rough, jumping or loose threads; filings in the grease.",
        outcome="replace",
        **TURNBUCKLE,
    ),
    Sign(
        code="lock_missing",
        label="Turnbuckle not locked",
        look="Split pins, lock nuts or locking wire on both screws.",
        outcome="make_good",
        **TURNBUCKLE,
    ),
    Sign(
        code="thread_engagement",
        label="Too little thread engaged in the body",
        look="Length of screw inside the body, at both ends; through the slot, or measured and "
        "taken off the length of the screw.",
        outcome="make_good",
        rule="measured",
        milder="keep",
        unknown="make_good",
        measure=Measure(
            "length of thread engaged", "mm", 1.5, of="thread", worse="less", at_limit=False
        ),
        **TURNBUCKLE,
    ),
    Sign(
        code="toggle_missing",
        label="No toggle, so that the stay cannot swing both ways",
        look="Lower end of every stay and shroud; both ends where a sail is set on it.",
        outcome="make_good",
        **TURNBUCKLE,
    ),
    Sign(
        code="bad_lead",
        label="Turnbuckle does not lead in line with the stay",
        look="Sight up the stay from abeam and from ahead or astern.",
        outcome="make_good",
        **TURNBUCKLE,
    ),
)

PINS = (
    Sign(
        code="pin_worn",
        label="Clevis pin worn",
        look="Draw the pin under a stand-in. Callipers: diameter at the shoulder less the smallest "
        "diameter is the wear.",
        outcome="make_good",
        rule="measured",
        milder="keep",
        unknown="make_good",
        measure=Measure("wear of the pin", "mm", 0.05, of="pin", at_limit=False),
        **PIN,
    ),
    Sign(
        code="pin_bent",
        label="Clevis pin bent",
        look="It turns hard or will not draw; roll it on a flat plate.",
        outcome="make_good",
        **PIN,
    ),
    Sign(
        code="pin_undersized",
        label="Clevis pin too small for its hole",
        look="Rattle it in the hole; about twice the diameter of 1x19 wire is usual.",
        outcome="make_good",
        **PIN,
    ),
    Sign(
        code="split_pin_missing",
        label="Clevis or split pin missing or worn",
        look="Every pin: split pin in, legs opened, taped.",
        outcome="make_good",
        **PIN,
    ),
    Sign(
        code="tape_missing",
        label="Split pin not taped, or its tape worn through",
        look="Legs of split pins and ends of locking wire: nothing that cuts a sail or a hand.",
        outcome="make_good",
        **PIN,
    ),
)

BRONZES = (
    Sign(
        code="zinc_lost",
        label="Pink, crumbly metal: the zinc has gone out of it",
        look="Scrape a hidden spot: sound bronze is yellow and hard. Bronze has no crevice "
        "corrosion: look for wear and cracks.",
        outcome="replace",
        **BRONZE,
    ),
    Sign(
        code="bronze_tarnish",
        label="Plain brown or green tarnish on bronze",
        look="Scrape a spot: yellow and hard underneath. Bronze has no crevice corrosion: look for "
        "wear and cracks.",
        outcome="keep",
        **BRONZE,
    ),
)

CHAINPLATES = (
    Sign(
        code="chainplate_crack",
        label="Chainplate cracked",
        look="Round the pin hole, at the deck and at the bolts: clean, loupe, penetrant; drawn.",
        outcome="replace",
        **CHAINPLATE,
    ),
    Sign(
        code="chainplate_hole",
        label="Pin hole of the chainplate elongated",
        look="Callipers along the pull and across it.",
        outcome="replace",
        **CHAINPLATE,
    ),
    Sign(
        code="chainplate_movement",
        label="Chainplate moves",
        look="Under load, from below: cracked sealant, fresh metal, bolts that have worked.",
        outcome="replace",
        **CHAINPLATE,
    ),
    Sign(
        code="chainplate_leak",
        label="Leak or rust where the chainplate passes the deck",
        look="Stains below deck, sealant at deck. What hides in the deck cannot be seen in place.",
        outcome="refer",
        again_days=90,
        hold="offshore",
        action="Not offshore until the chainplate is drawn and seen.",
        **CHAINPLATE,
    ),
)

SIGNS = (*TURNBUCKLES, *PINS, *BRONZES, *CHAINPLATES)

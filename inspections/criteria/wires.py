"""Signs along the stay itself: laid wire, rod and fibre."""

from inspections.criteria.sign import LAID, Measure, Sign

OF_19 = ("1x19", "compacted")
WIRE = {"kinds": ("wire",), "where": "wire", "constructions": LAID}
ROD = {"kinds": ("wire",), "where": "rod", "constructions": ("rod",)}
FIBRE = {"kinds": ("wire",), "where": "fibre", "constructions": ("fibre",)}

# 0.1 of a 1.6 mm wire (8 mm 1x19) is 0.16 mm, about what a finger nail begins to catch on.
NOTCH_SHARE_OF_A_WIRE = 0.1

LAID_WIRE = (
    Sign(
        code="broken_wire",
        where="1x19 wire",
        label="A wire broken, lifted or cracked across",
        look="Run a rag along the whole length, gloves on: it snags on a broken wire. Cracks run "
        "across the single wire, most often at the mouth of a terminal: loupe.",
        outcome="replace",
        rule="measured",
        milder="refer",
        unknown="replace",
        measure=Measure("wires broken, lifted or cracked", "wires", 1),
        kinds=("wire",),
        constructions=OF_19,
        again_days=14,
        essential=True,
    ),
    Sign(
        code="rust_between_wires",
        label="Rust coming out from between the wires, away from the ends",
        look="Along the run, the grooves between the wires: rag and light; it comes from inside "
        "and comes back.",
        outcome="replace",
        **WIRE,
    ),
    Sign(
        code="dark_wire",
        label="One wire markedly darker than its neighbours, running up the lay",
        look="Follow the dark wire round and up from the lower end. Polish it by hand and look for "
        "pits with a loupe.",
        outcome="replace",
        rule="remedy",
        milder="watch",
        unknown="refer",
        again_days=28,
        action="Polish it: it must come clean, without pits, and stay clean.",
        **WIRE,
    ),
    Sign(
        code="small_spots",
        label="Many small rust spots",
        look="Count the spots on the worst 100 mm, so that the next look can tell whether they "
        "grow.",
        outcome="replace",
        rule="growth",
        milder="watch",
        unknown="refer",
        measure=Measure("spots on the worst 100 mm", "spots", None),
        again_days=90,
        action="Polish, and count again.",
        **WIRE,
    ),
    Sign(
        code="spot_bands",
        label="Rust spots that have joined into bands",
        look="Rings or bands of spots round the wire, often where a cover or a lashing keeps wet.",
        outcome="replace",
        **WIRE,
    ),
    Sign(
        code="notch",
        label="Notches cut across the face of the wire",
        look="Where hanks, halyards or guard wires rub. Draw a nail along the wire: one that "
        "catches is too deep. Judge the depth against the single wire, a fifth of the diameter "
        "of 1x19. Bronze hanks do not cut them: bronze is softer and wears first.",
        outcome="replace",
        rule="measured",
        milder="watch",
        unknown="replace",
        measure=Measure("depth of the deepest notch", "mm", NOTCH_SHARE_OF_A_WIRE, of="wire"),
        again_days=180,
        action="Stop what rubs.",
        **WIRE,
    ),
    Sign(
        code="tea_stain",
        label="Even tea stain that polishes off",
        look="Light brown film all over, smooth under the nail; try a patch with polish.",
        outcome="refer",
        rule="remedy",
        milder="keep",
        unknown="keep",
        returns=False,
        again_days=14,
        **WIRE,
    ),
    Sign(
        code="dull_surface",
        label="Slight loss of gloss",
        look="Even and smooth, without spots or lines.",
        outcome="keep",
        **WIRE,
    ),
    Sign(
        code="wire_kink",
        label="Kink or permanent bend",
        look="Sight along the slack wire, above the terminals and at spreader tips.",
        outcome="replace",
        **WIRE,
    ),
    Sign(
        code="wire_flattened",
        label="Wire flattened or out of round",
        look="Callipers at two right angles; where it lay over a spreader tip or was clamped.",
        outcome="replace",
        **WIRE,
    ),
)


def _broken_wires(construction: str) -> Sign:
    """The sign that waits for a fleet's own limit: strand laid of strands has none by default."""
    return Sign(
        code=f"broken_wires_{construction}",
        where=f"{construction} wire",
        label=f"Wires broken in {construction}",
        look="Rag along the whole length, gloves on; count the broken wires in one lay length.",
        outcome="replace",
        rule="measured",
        milder="watch",
        unknown="replace",
        measure=Measure("broken wires in one lay length", "wires", None),
        kinds=("wire",),
        constructions=(construction,),
        again_days=28,
        essential=True,
        source="no limit set: the fleet's rigger or the maker of the wire sets it",
    )


STRANDED = tuple(_broken_wires(each) for each in ("7x7", "7x19", "galvanised"))

RODS = (
    Sign(
        code="rod_head_crack",
        label="Crack in the head of the rod",
        look="Head out of its seat, cleaned, loupe; penetrant where a line is in doubt.",
        outcome="replace",
        spots=("lower", "upper"),
        essential=True,
        **ROD,
    ),
    Sign(
        code="rod_score",
        label="Score in the rod",
        look="Draw a nail along the rod where halyards, spreaders and guard wires touch it.",
        outcome="replace",
        **ROD,
    ),
    Sign(
        code="rod_bend",
        label="Permanent bend in the rod",
        look="Sight along the slack rod, at spreader bends and just outside the heads.",
        outcome="replace",
        **ROD,
    ),
    Sign(
        code="rod_heads_not_opened",
        label="Rod heads not opened for years",
        look="The log or the last rigger's invoice: when were the heads last out of their seats?",
        outcome="refer",
        rule="measured",
        milder="keep",
        unknown="refer",
        measure=Measure("years since the heads were opened", "years", 5),
        spots=("lower", "upper"),
        again_days=90,
        action="Have the heads opened every 5 to 7 years.",
        **ROD,
    ),
)

FIBRES = (
    Sign(
        code="fibre_core_cut",
        label="Load-bearing core cut",
        look="Open the cover where it is damaged: any cut yarn of the core counts.",
        outcome="replace",
        essential=True,
        **FIBRE,
    ),
    *(
        Sign(code=code, label=label, look=look, outcome="refer", again_days=14, **FIBRE)
        for code, label, look in (
            ("fibre_cut", "Cover or outer strands cut", "Where sails, spreaders and lashings rub."),
            ("fibre_glazed", "Glazed surface", "Shiny, hard patches, where it has been hot."),
            ("fibre_stiff", "Stiff length", "Bend it by hand, slack, along the whole length."),
            ("fibre_cover_gone", "Cover gone", "Ends, eyes and where it passes the spreaders."),
        )
    ),
)

SIGNS = (*LAID_WIRE, *STRANDED, *RODS, *FIBRES)

"""A plausible price list in euro, with the hours a rigger takes. Invented; no dealer's list."""

from .designs import PIN_MM

# Per metre and per terminal by diameter, turnbuckles by their pin (mm). A whole new rig for a 12 m
# boat comes to 500-1,200 a metre of boat.
WIRE = {4: 4.9, 5: 6.8, 6: 9.4, 7: 12.9, 8: 16.5, 10: 25.8}
TERMINAL = {4: 29.0, 5: 34.0, 6: 42.0, 7: 58.0, 8: 76.0, 10: 122.0}
TURNBUCKLE = {8.0: 78.0, 9.5: 96.0, 12.7: 128.0, 14.0: 169.0, 16.0: 214.0, 19.0: 345.0}
DEARER = {"1x19": 1.0, "compacted": 1.35, "rod": 2.9, "fibre": 1.9, "galvanised": 0.55}

Row = tuple[str, str, float | None, float, float]


def rows(dearer: float, constructions: tuple[str, ...]) -> list[Row]:
    """Item, construction, diameter (mm), price, hours; all prices times ``dearer``."""
    wires = [
        ("wire", made, mm, WIRE[mm] * DEARER[made], 0.0) for made in constructions for mm in PIN_MM
    ]
    ends = [
        ("terminal", made, mm, TERMINAL[mm] * (1.0 if made == "galvanised" else DEARER[made]), 0.5)
        for made in constructions
        for mm in PIN_MM
    ]
    fittings = [("turnbuckle", "", mm, price, 0.4) for mm, price in TURNBUCKLE.items()]
    rest = [
        ("turnbuckle", "", None, 190.0, 0.4),
        ("chainplate", "", None, 240.0, 3.0),
        ("rigger_hour", "", None, 64.0, 0.0),
        ("mast_down", "", None, 1480.0, 9.0),
        ("mast_up_job", "", None, 60.0, 2.5),
        ("unplanned", "", None, 420.0, 1.0),
        ("failure", "", None, 14500.0, 24.0),
    ]
    listed = wires + ends + fittings + rest
    return [
        (item, made, mm, round(price * dearer, 2), hours) for item, made, mm, price, hours in listed
    ]


ITEMS = {
    "wire": "wire, per metre",
    "terminal": "terminal, each",
    "turnbuckle": "turnbuckle, each",
    "chainplate": "chainplate, each",
    "rigger_hour": "rigger, per hour",
    "mast_down": "mast down and up again, per boat",
    "mast_up_job": "one wire renewed with the mast up, extra",
    "unplanned": "unplanned renewal in the season, extra",
    "failure": "a stay failing in service",
}

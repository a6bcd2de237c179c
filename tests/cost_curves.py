"""A group of parts with its cost curve, and an interval of looks with its own, as rows."""

from fleet.models import Boat
from forecasting.models import AgeGroup, LookCurve


def cost_curves(boat: Boat, **facts) -> tuple[AgeGroup, LookCurve]:
    """Return the wires of a boat's base as a group, and looks aloft there."""
    by_cost = [
        {"failure": failure, "age": age, "flat_from": age - 1, "flat_until": age + 1.5,
         "least": least, "keep": round(1.4 * least), "rule": round(1.05 * least)}
        for failure, age, least in ((5_000_00, 10.5, 55_00), (15_000_00, 10.0, 58_00),
                                    (45_000_00, 9.0, 66_00))
    ]  # fmt: skip
    usual = {
        "kind": "wire", "construction": "1x19", "service": boat.service, "boats": 1, "parts": 8,
        "by_thumb": False, "oldest": 14.0, "rule_age": 12.0, "planned_minor": 400_00,
        "late_minor": 1_100_00, "breaks": 0.0136, "by_cost": by_cost,
        "curve": [[3.0, 140_00, 140_00, 145_00], [10.0, 55_10, 58_00, 67_00],
                  [18.0, 70_00, 78_00, 100_00]],
    }  # fmt: skip
    group = AgeGroup.objects.create(fleet=boat.fleet, base=boat.base, **(usual | facts))
    every = {"best": 20.0, "low": 15.0, "high": 30.0, "flat_from": 16.2, "flat_until": 27.6}
    costs = [
        {"failure": failure, "cost": cost, "rule": round(1.1 * cost), "bounded": True, **every}
        for failure, cost in ((5_000_00, 270_00), (15_000_00, 300_00), (45_000_00, 360_00))
    ]
    look = LookCurve.objects.create(
        fleet=boat.fleet, base=boat.base, level="aloft", boats=1, rule_months=12, defects=0.19,
        look_minor=160_00, by_cost=costs,
        curve=[[3.0, 640_00, 40_00, 10_00, 1_00], [20.0, 96_00, 60_00, 100_00, 44_00],
               [40.0, 48_00, 40_00, 130_00, 110_00]],
    )  # fmt: skip
    return group, look

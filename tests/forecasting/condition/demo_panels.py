"""Panels read straight from the simulated record, without a database: for trying many seeds.

A second reading, written apart from ``forecasting.steps.condition``.
"""

import math

import numpy as np

from forecasting.condition.panel import Law, Panel, panel
from forecasting.demo_fleet.generate import FleetRecord, Record
from forecasting.demo_fleet.parts import Part
from forecasting.demo_fleet.truth import DAYS, Truth
from tests.forecasting.demo_fleet import reading

WATCH = ("rust_at_mouth", "dark_wire", "small_spots", "notch", "wire_drawn_out")
NO_WATCH = ("fibre", "galvanised")


def panel_of(fleet: FleetRecord, truth: Truth) -> Panel:
    return panel_and_lives(fleet, truth)[0]


def panel_and_lives(fleet: FleetRecord, truth: Truth) -> tuple[Panel, np.ndarray]:
    """Panel of all spots of wires, and the ages at which they go or would go.

    The law of each spot is the truth's for its make, ground and use.
    """
    good, condemned, location, reports, goes = [], [], [], [], []
    for record in fleet.records:
        for part in record.parts:
            usual = part.kind == "wire" and part.fresh and part.construction not in NO_WATCH
            if not usual or part.fitted < record.boat.record_since - 7:
                continue
            for spot in part.goes:
                if part.construction == "rod" and spot == "run":
                    continue
                seen, died, said = _spot(record, part, spot)
                if seen > 0 or died < math.inf:
                    reports += [(len(good), age, watch) for age, watch in said]
                    good.append(seen)
                    condemned.append(died)
                    location.append(_location(record, part, spot, truth))
                    goes.append((part.goes[spot] - part.fitted) / DAYS)
    columns = [np.array(column) for column in zip(*reports, strict=True)]
    law = Law("weibull", np.array(location), 1 / truth.shape)
    return panel(good, condemned, tuple(columns), law), np.array(goes)


def _spot(record: Record, part: Part, spot: str) -> tuple[float, float, list]:
    good, died, said = 0.0, math.inf, []
    for look in reading._looks(record, part):
        if spot not in reading._seen(look, part):
            continue
        age = (look.day - part.fitted) / DAYS
        if part.condemned == look.day:
            if part.goes[spot] <= look.day:
                died = age
                break
            good = age
            continue
        good = age
        signs = {row.sign for row in look.noted if row.part is part and row.place == spot}
        said.append((age, bool(signs & set(WATCH))))
    return good, died, said


def _location(record: Record, part: Part, spot: str, truth: Truth) -> float:
    x = reading._covariates(record, part, spot)
    use = sum(getattr(truth, name) * x[name] for name in ("severity", "log2_miles", "unstepped"))
    made = truth.make(part.construction, part.lower)
    return math.log(truth.scale("wire", spot)) + use + truth.charter * x["charter"] + made

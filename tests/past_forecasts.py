"""What a test of past forecasts found, as its row keeps it."""


def tested_past(**total: float) -> dict:
    """Return what a test of one year of forecasts leaves behind, by hand."""
    count = {"looks": 120, "boats": 12, "expected": 4.2, "observed": 5.0, "error": 2.1, "z": 0.38,
             "power": 0.07, "low": 1.0, "high": 8.0}  # fmt: skip
    score = {"expected": 4.2, "log_score": -0.17, "brier": 0.04}
    beside = {"gain": 0.8, "error": 1.1, "verdict": "no telling"}
    return {
        "years": [{"year": 2025, "known": 9.0, "standing": "posterior", **count}],
        "total": count | total,
        "groups": {"age": [{"name": "under 5 years", **count}, {"name": "5 to 10 years", **count}]},
        "rivals": [{"name": "model", **score}, {"name": "age_rule", **score, **beside}],
    }


def seen_curves() -> dict:
    """Return a curve beside what was seen, by hand."""
    curve = {"steps": [[0, 100.0], [5.5, 96.0], [12, 80.0]], "curve": [[0, 100.0], [12, 83.0]],
             "gap": 0.034, "at": 11.0, "above": True, "error": 0.03, "lives": 60.0, "deaths": 9.0,
             "start": 0.0, "end": 12.0}  # fmt: skip
    ends = [{"name": "lower end", **curve}, {"name": "upper end", **curve}]
    return {"groups": {"spot": ends, "mast": ends}, "residuals": curve}

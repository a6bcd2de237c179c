"""Which model is in force after a refresh: what the deaths allow, who decided, what stays."""

import datetime as dt

import numpy as np
import pytest

from forecasting.models import ForecastPractice, ModelRun, PartOutlook
from forecasting.survival import LifeModel, importance
from inspections.models import PartVerdict

from .history import ALL_GOOD, History
from .test_refresh import STAYS, one_boat, run, watched

# Statistics of many fits: no database makes a difference to them, so they run on one.
pytestmark = [pytest.mark.django_db, pytest.mark.only_on("sqlite")]


def test_from_five_deaths_the_record_is_weighed_together_with_common_practice():
    history = History()
    watched(history, 3)
    wires = run(history).runs["wire"]
    assert 5 <= wires.deaths < 30
    assert wires.state == "posterior"
    assert "is shown from 30 on" in wires.sentence
    model = LifeModel.from_dict(wires.model)
    assert model.sample.shape == (600, len(model.names) + 1)
    assert model.coefficients["severity"] == pytest.approx(-0.19, abs=0.05)
    low, _, high = model.evidence.b10
    assert low < 11 * (-np.log(0.9)) ** (1 / 3) < high
    assert 0.3 < model.evidence.own_share < 1
    assert "severity" in wires.inputs["held"]
    assert any(w.startswith("severity keeps common practice's slope") for w in wires.warnings)


def test_good_wires_move_the_forecast_before_anything_was_condemned():
    history = History()
    for n in range(15):
        boat = history.boat(f"Boat {n}", complete_since="2005-01-01")
        wires = [history.part(boat, "2012-01-01", stay=stay) for stay in STAYS]
        history.look("2024-05-01", *((wire, ALL_GOOD) for wire in wires))
    wires = run(history).runs["wire"]
    assert (wires.state, wires.deaths) == ("rule_of_thumb", 0)
    assert wires.sentence.startswith("Your boats so far: 0 of 180 spots")
    model = LifeModel.from_dict(wires.model)
    assert model.standing == "rule of thumb, your boats so far"
    assert model.part_age(0.1) > 14
    assert set(model.fixed) == {"severity", "log2_miles", "rod", "mechanical", "unstepped",
                                "charter"}  # fmt: skip


def test_a_kind_with_few_deaths_takes_the_slopes_of_the_wires():
    history = History()
    watched(history, 3)
    boat = history.boat("Sloe", complete_since="2005-01-01")
    chainplates = [history.part(boat, "2012-01-01", stay=stay, kind="chainplate") for stay in STAYS]
    history.look("2026-05-01", *((part, {"whole": "good"}) for part in chainplates))
    runs = run(history).runs
    wires, chainplate = (LifeModel.from_dict(runs[k].model) for k in ("wire", "chainplate"))
    assert "taken from the wires" in runs["chainplate"].sentence
    for name in ("severity", "log2_miles", "unstepped"):
        assert chainplate.coefficients[name] == pytest.approx(wires.coefficients[name], abs=1e-6)


def test_from_a_hundred_and_fifty_deaths_the_record_decides_alone():
    history = History()
    watched(history, 45)
    fitted = run(history).runs["wire"]
    assert fitted.deaths >= 150
    assert fitted.state == "fitted"
    assert {"severity", "rod"} <= set(fitted.inputs["held"])
    assert any(w.startswith("severity is held at common practice") for w in fitted.warnings)
    model = LifeModel.from_dict(fitted.model)
    assert 1 / model.sigma == pytest.approx(3, abs=0.5)
    assert model.part_age(0.1) == pytest.approx(11 * (-np.log(0.9)) ** (1 / 3), rel=0.12)


def test_a_refused_fit_leaves_the_last_good_model_in_force(monkeypatch):
    history = History()
    watched(history, 3)
    good = run(history, dt.date(2025, 6, 1)).runs["wire"]
    make_unfittable(monkeypatch)
    result = run(history)
    assert result.runs["wire"].pk == good.pk
    assert result.runs["wire"].as_of == dt.date(2025, 6, 1)
    newest = ModelRun.objects.of(history.fleet).filter(kind="wire").first()
    assert (newest.state, newest.in_force) == ("refused", False)
    assert newest.sentence
    assert set(PartOutlook.objects.of(history.fleet).values_list("run", flat=True)) == {good.pk}


def test_a_refused_fit_without_a_good_one_before_gets_the_rule_of_thumb(monkeypatch):
    history = History()
    watched(history, 3)
    make_unfittable(monkeypatch)
    wires = run(history).runs["wire"]
    assert (wires.state, wires.in_force) == ("rule_of_thumb", True)
    newest = ModelRun.objects.of(history.fleet).filter(kind="wire").first()
    assert newest.state == "refused"
    assert newest.sentence in wires.sentence


def make_unfittable(monkeypatch) -> None:
    """Ask of the draws more than any can give: no record with known dates is refused otherwise."""
    monkeypatch.setattr(importance, "POOR", 2.0)
    for name, short in (("SETTLING", 20), ("BLOCK", 50), ("BLOCKS", 1)):
        monkeypatch.setattr(f"forecasting.survival.chain.{name}", short)


def test_a_record_of_nothing_but_first_sights_is_still_fitted():
    """Whatever died was dead when first looked at: there is no maximum, but common practice."""
    history = History()
    watched(history, 3)
    PartVerdict.objects.filter(inspection__boat__fleet=history.fleet, value="keep").delete()
    for spot in ALL_GOOD:
        seen = PartVerdict.objects.filter(inspection__boat__fleet=history.fleet, **{spot: "good"})
        seen.update(**{spot: "not_seen"})
    wires = run(history).runs["wire"]
    assert wires.state == "posterior"
    assert LifeModel.from_dict(wires.model).part_age(0.1) < 9


def test_at_most_one_model_of_a_kind_is_in_force():
    history = History()
    watched(history, 2)
    for day in ("2023-06-01", "2026-06-01"):
        run(history, dt.date.fromisoformat(day))
    in_force = ModelRun.objects.of(history.fleet).in_force()
    assert sorted(in_force.values_list("kind", flat=True)) == ["chainplate", "turnbuckle", "wire"]
    assert set(in_force.values_list("as_of", flat=True)) == {dt.date(2026, 6, 1)}
    assert ModelRun.objects.of(history.fleet).count() == 6


def test_the_fleets_own_rule_of_thumb_is_used():
    short, long = History("short", rule_of_thumb_years=6), History("long", rule_of_thumb_years=15)
    for history in (short, long):
        one_boat(history)
    models = [LifeModel.from_dict(run(h).runs["wire"].model) for h in (short, long)]
    assert [m.evidence.prior_b10[1] for m in models] == [6, 15]
    ages = [model.part_age(0.1) for model in models]
    assert ages[0] > 6  # one wire good at sixteen speaks against it
    assert ages[1] > 1.3 * ages[0]


def test_a_decision_takes_over_from_its_day_on():
    history = History()
    one_boat(history)
    ForecastPractice.objects.create(
        fleet=history.fleet, kind="wire", since=dt.date(2026, 7, 1), reason="Riggers' own books",
        decided_by="Maren", data={"b10": 12.0, "slopes": {"severity": -0.3}},
    )  # fmt: skip
    before = run(history, dt.date(2026, 6, 1)).runs["wire"]
    after = run(history).runs["wire"]
    assert LifeModel.from_dict(before.model).evidence.prior_b10[1] == 9
    model = LifeModel.from_dict(after.model)
    assert model.evidence.prior_b10[1] == 12
    assert model.coefficients["severity"] == pytest.approx(-0.3)
    assert model.coefficients["rod"] == pytest.approx(0.15)
    assert "Riggers' own books" in after.inputs["common_practice"]["source"]


def test_what_was_left_out_is_kept_with_the_run():
    history = History()
    boat = history.boat(complete_since="2005-01-01")
    wire = history.part(boat, "2010-01-01", "2019-07-10", "failed_in_service", place="lower")
    history.look("2018-05-01", (wire, {"lower": "good"}), level="deck")
    run_kept = run(history).runs["wire"]
    assert run_kept.left_out == {
        "never_seen_since_entry": 2.0,
        "broke_after_the_last_inspection": 1.0,
    }
    assert len(run_kept.fingerprint) == len(run_kept.code_version) == 64

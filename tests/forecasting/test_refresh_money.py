"""What a refresh says of work and money: prices, the refit list, and a budget that adds."""

import datetime as dt

import pytest
from django.db.models import Sum

from fleet.models import Base, Price
from forecasting import budget_sheet, refresh
from forecasting.accounts import versions
from forecasting.models import (
    BudgetDraws,
    BudgetFigure,
    PartMoney,
    PartOutlook,
    PolicyCost,
    RefitJob,
)

from .history import ALL_GOOD, AS_OF, WIRE, History

pytestmark = pytest.mark.django_db
EUROS = 100


def listed(history: History, item: str, price: float, hours: float = 0, **size) -> None:
    Price.objects.create(
        fleet=history.fleet, item=item, price_minor=round(price * EUROS), hours=hours, **size
    )


def price_list(history: History) -> None:
    listed(history, "wire", 16, construction="1x19", diameter_mm=8)
    listed(history, "terminal", 70, 0.5, construction="1x19", diameter_mm=8)
    listed(history, "turnbuckle", 200, 0.4)
    listed(history, "chainplate", 240, 3)
    listed(history, "rigger_hour", 60)
    listed(history, "mast_down", 900, 6)
    listed(history, "mast_up_job", 50, 2)
    listed(history, "unplanned", 500)
    listed(history, "failure", 15000)


def eight_mm(history: History, boat, fitted="2010-01-01", stay="backstay", **fields):
    usual = {
        "construction": "1x19",
        "diameter_mm": 8,
        "length_mm": 12500,
        "lower_terminal": "swaged",
    }
    return history.part(boat, fitted, stay=stay, **(usual | fields))


def jobs(history: History) -> dict[str, RefitJob]:
    """Stay, or set-up, -> its job."""
    found = RefitJob.objects.of(history.fleet).select_related("installation__stay")
    return {job.installation.stay.label if job.installation else "set-up": job for job in found}


def run(history: History, as_of: dt.date = AS_OF) -> refresh.RefreshResult:
    history.fleet.refresh_from_db()
    return refresh.run(history.fleet, as_of)


@pytest.fixture
def history() -> History:
    history = History(age_rule_years=10)
    price_list(history)
    return history


# -- prices


def test_a_wire_costs_its_length_two_terminals_and_the_hours_mast_up(history):
    """12.5 m x 16 + 2 x 70 + 50 on top, and (2 x .5 + 2) h at 60."""
    wire = eight_mm(history, history.boat())
    history.look("2026-05-01", (wire, ALL_GOOD))
    run(history)
    job = jobs(history)["Backstay"]
    assert (job.cost_minor, job.hours) == ((200 + 140 + 50 + 180) * EUROS, 3)


def test_with_the_mast_down_wires_share_one_set_up(history):
    boat = history.boat()
    stays = ["forestay", "backstay", "inner_forestay", "running_backstay", "diamond"]
    wires = [eight_mm(history, boat, stay=stay) for stay in stays]
    history.look("2026-05-01", *((wire, ALL_GOOD) for wire in wires))
    run(history)
    found = jobs(history)
    assert found["set-up"].cost_minor == (900 + 6 * 60) * EUROS
    assert found["Backstay"].cost_minor == (200 + 140 + 60) * EUROS
    assert len(found) == 6


def test_a_boat_whose_mast_comes_down_anyway_pays_no_set_up(history):
    boat = history.boat(mast_down_off_season=True)
    wire = eight_mm(history, boat)
    history.look("2026-05-01", (wire, ALL_GOOD))
    run(history)
    assert set(jobs(history)) == {"Backstay"}
    assert jobs(history)["Backstay"].cost_minor == (200 + 140 + 60) * EUROS


def test_a_size_not_listed_takes_the_nearest_and_says_so(history):
    wire = eight_mm(history, history.boat(), diameter_mm=7)
    history.look("2026-05-01", (wire, ALL_GOOD))
    result = run(history)
    assert jobs(history)["Backstay"].cost_minor == (200 + 140 + 50 + 180) * EUROS
    assert any("of 7 mm: 8 mm is used" in warning for warning in result.warnings)


def test_without_a_price_list_every_figure_from_memory_is_named():
    history = History()
    boat = history.boat()
    for stay, kind in (("backstay", WIRE), ("backstay", "turnbuckle"), ("backstay", "chainplate")):
        history.part(boat, "2010-01-01", stay=stay, kind=kind)
    warnings = " ".join(run(history).warnings)
    for item in (
        "wire",
        "terminal",
        "turnbuckle",
        "chainplate",
        "rigger",
        "mast down",
        "unplanned",
    ):
        assert f"No price listed for {item}" in warnings
    assert "from memory" in warnings
    assert "no length on record" in warnings


# -- the refit list


def test_the_age_rule_asks_for_a_wire_that_passes_it_before_the_next_off_season(history):
    boat = history.boat()
    parts = [
        eight_mm(history, boat, "2017-09-01"),
        eight_mm(history, boat, "2017-12-01", "forestay"),
    ]
    history.look("2026-10-01", *((part, ALL_GOOD) for part in parts))
    run(history)
    assert jobs(history)["Backstay"].code == "rule_age"
    assert "Forestay" not in jobs(history)
    assert jobs(history)["Backstay"].season == "2026/27"


def test_both_sides_of_a_pair_are_renewed_together(history):
    boat = history.boat()
    port = eight_mm(history, boat, "2013-01-01", "cap_shroud", side="port")
    starboard = eight_mm(history, boat, "2025-01-01", "cap_shroud", side="starboard")
    history.look("2026-10-01", (port, ALL_GOOD), (starboard, ALL_GOOD))
    run(history)
    codes = {stay: job.code for stay, job in jobs(history).items()}
    assert codes == {"Cap shroud, port": "rule_age", "Cap shroud, starboard": "pair"}


def test_what_putting_it_off_costs_grows_with_the_chance(history):
    fresh, stale = history.boat("Alder"), history.boat("Birch")
    parts = [eight_mm(history, boat) for boat in (fresh, stale)]
    history.look("2026-10-01", (parts[0], ALL_GOOD))
    history.look("2019-10-01", (parts[1], ALL_GOOD), level="deck")
    run(history, dt.date(2026, 11, 1))
    by_boat = {job.boat_id: job for job in RefitJob.objects.of(history.fleet)}
    assert by_boat[fresh.pk].chance < by_boat[stale.pk].chance
    assert by_boat[fresh.pk].put_off_minor > 0
    assert not by_boat[fresh.pk].must


def test_a_boat_about_to_leave_is_not_renewed_for_age(history):
    wire = eight_mm(history, history.boat(planned_exit=dt.date(2027, 4, 1)))
    history.look("2026-10-01", (wire, ALL_GOOD))
    run(history)
    assert jobs(history) == {}


def test_a_new_rig_has_an_empty_list_and_a_budget(history):
    wire = eight_mm(history, history.boat(), "2026-04-01")
    history.look("2026-10-01", (wire, ALL_GOOD))
    result = run(history)
    assert result.jobs == 0
    assert BudgetFigure.objects.of(history.fleet).filter(base=None, mean_minor__gt=0).exists()


def test_a_rule_of_thumb_says_where_to_look_and_renews_nothing_for_its_cost():
    """An old wire is listed for its cost where the fleet's own record says how long they last."""
    history = History()
    price_list(history)
    old = eight_mm(history, history.boat("Old"), "2008-01-01")
    history.look("2026-10-01", (old, ALL_GOOD))
    assert run(history).runs["wire"].state == "rule_of_thumb"
    assert jobs(history) == {}
    outlook = PartOutlook.objects.get(installation=old)
    assert outlook.chance_1y > 0.05
    assert outlook.renew_by is None

    for n in range(12):
        boat = history.boat(f"Boat {n}", complete_since="2008-01-01")
        wire = eight_mm(history, boat, f"{2008 + n}-01-01")
        history.look(f"{2013 + n // 2}-05-01", (wire, ALL_GOOD))
        if n % 2:
            history.look(f"{2021 + n // 3}-05-01", (wire, ALL_GOOD | {"lower": "condemned"}))
    assert run(history).runs["wire"].state == "posterior"
    assert jobs(history)["Backstay"].code == "cost_age"


# -- the budget


def three_bases(history: History) -> None:
    for n in range(6):
        base = history.base
        if n % 3:
            base, _ = Base.objects.get_or_create(
                fleet=history.fleet, name=f"Base {n % 3}", ground=history.ground
            )
        boat = history.boat(f"Boat {n}", base=base)
        wires = [
            eight_mm(history, boat, f"{2012 + n}-03-01", stay)
            for stay in ("forestay", "backstay", "inner_forestay")
        ]
        history.look("2026-05-01", *((wire, ALL_GOOD) for wire in wires))


def test_means_add_from_boats_to_bases_to_the_fleet_to_the_cent(history):
    three_bases(history)
    run(history)
    figures = BudgetFigure.objects.of(history.fleet)
    scopes = {
        "boats": figures.filter(boat__isnull=False),
        "bases": figures.filter(boat=None, base__isnull=False),
        "fleet": figures.filter(boat=None, base=None),
    }
    sums = {
        scope: list(rows.order_by("year").values_list("year")
                    .annotate(Sum("mean_minor"), Sum("planned_minor")))
        for scope, rows in scopes.items()
    }  # fmt: skip
    assert len(sums["fleet"]) == 10
    assert sums["boats"] == sums["bases"] == sums["fleet"]
    by_base = scopes["boats"].order_by("base", "year").values_list("base", "year")
    own = scopes["bases"].order_by("base", "year").values_list("base", "year", "mean_minor")
    assert list(by_base.annotate(Sum("mean_minor"))) == list(own)


def test_percentiles_are_in_order_and_do_not_simply_add(history):
    three_bases(history)
    run(history)
    figures = BudgetFigure.objects.of(history.fleet)
    for figure in figures:
        assert 0 <= figure.p10_minor <= figure.p50_minor <= figure.p90_minor
        assert 0 <= figure.planned_minor <= figure.mean_minor
    boats = figures.filter(boat__isnull=False).aggregate(total=Sum("p90_minor"))["total"]
    fleet = figures.filter(base=None).aggregate(total=Sum("p90_minor"))["total"]
    assert fleet != boats  # above or below: a boat that renews in one of eleven draws has 0


def test_the_coming_refit_is_in_the_first_year_of_the_budget(history):
    three_bases(history)
    run(history)
    first = BudgetFigure.objects.of(history.fleet).filter(base=None).order_by("year").first()
    listed_now = RefitJob.objects.of(history.fleet).aggregate(total=Sum("cost_minor"))["total"]
    assert first.year == 2027  # two months of 2026 are left: their work is asked for in 2027
    assert first.mean_minor >= listed_now > 0


def test_nothing_is_budgeted_for_a_boat_after_it_has_left(history):
    wire = eight_mm(history, history.boat(planned_exit=dt.date(2029, 1, 1)), "2022-01-01")
    history.look("2026-10-01", (wire, ALL_GOOD))
    run(history)
    after = BudgetFigure.objects.of(history.fleet).filter(year__gte=2030)
    assert after.aggregate(total=Sum("mean_minor"))["total"] == 0


def test_the_budget_looks_ahead_for_as_many_years_as_the_fleet_set(history):
    three_bases(history)
    run(history)
    ten = list(BudgetFigure.objects.of(history.fleet).filter(base=None).values_list("year"))
    history.fleet.budget_years = 15
    history.fleet.save()
    refresh.plan(history.fleet, AS_OF)
    figures = BudgetFigure.objects.of(history.fleet)
    fleet = list(figures.filter(base=None).order_by("year"))
    assert [figure.year for figure in fleet] == list(range(ten[0][0], ten[0][0] + 15))
    assert {len(part.means) for part in PartMoney.objects.all()} == {15}
    assert {len(row.by_year) for row in PolicyCost.objects.of(history.fleet)} == {15}
    assert all(len(future) == 15 for payer in BudgetDraws.objects.all() for future in payer.draws)
    frozen = versions.freeze(history.fleet, "Board", None, "")
    assert len(versions.by_year(frozen, AS_OF)) == 15
    assert sum(line[3] == "fleet" for line in budget_sheet.rows(history.fleet) if line[3:]) == 15
    history.fleet.budget_years = 10
    history.fleet.save()
    refresh.plan(history.fleet, AS_OF)
    again = BudgetFigure.objects.of(history.fleet).filter(base=None)
    assert list(again.values_list("year")) == ten

"""The report to the board of directors, with pictures: rigs, plan, budget, reserve, what waits."""

from collections import Counter
from collections.abc import Sequence

from fleet import chart_picture
from fleet.models import Fleet, Installation
from fleet.templatetags.wording import (
    about,
    about_figure,
    day,
    exact_money,
    money,
    one_in,
    percent,
)
from inspections.models import Hold

from .. import budget_sheet, reads, season_charts, season_reads
from ..accounts import behind, versions
from ..accounts import reserve as reserves
from ..models import (
    BudgetFigure,
    BudgetVersion,
    PartOutlook,
    PlanBasis,
    RefitJob,
    SeasonScenario,
    WorkOrder,
)
from ..orders.reading import is_late
from . import budget_paper, part_words
from .masthead import SHORT, WORK, masthead
from .press import press
from .season_paper import MAP_NOTE, picture, season_map, short
from .season_sheet import limits_words, plan_of

WIRE = Installation.Kind.WIRE
HALF, WHOLE, HEIGHT = 400, 690, 150
LOW, LOWER = 140, 70  # px of the charts of money, so that each page holds
MOST_PUT_OFF = 12
NO_FORECAST = "No forecast has been made yet: there is nothing to report."
NO_PLAN = "No plan of the coming off seasons is worked out: what follows is the refit list alone."


def board_paper(fleet: Fleet, plans: Sequence[SeasonScenario]) -> bytes:
    """Return the PDF. plans: the plan it tells, then those it is compared with; may be none."""
    return press("board", contents(fleet, plans), fleet.today())


def contents(fleet: Fleet, plans: Sequence[SeasonScenario]) -> dict:
    """Return what the report says, as words, and its charts as SVG."""
    title = f"The rigs of {fleet.name}: report to the board of directors"
    if not reads.has_outlook(fleet):
        return masthead(fleet, title, NO_FORECAST) | {"forecast": False}
    figures = list(reads.budget(fleet, "fleet"))
    return masthead(fleet, title, answer(fleet, figures)) | {
        "forecast": True,
        "numbers": numbers(fleet),
        "held": held(fleet),
        **ages(fleet),
        **planned(fleet, plans),
        **budgeted(fleet, figures),
        **kept(fleet),
        **put_off(fleet, plans),
        **compared(plans),
        "cautions": list(WORK),
        "prints": prints(fleet, plans),
    }


def answer(fleet: Fleet, figures: list[BudgetFigure]) -> str:
    jobs = RefitJob.objects.of(fleet)
    parts = jobs.exclude(installation=None)
    cost = sum(jobs.values_list("cost_minor", flat=True))
    must = parts.filter(must=True).count()
    boats = parts.values("boat").distinct().count()
    said = [f"The refit list asks for {parts.count()} parts on {boats} boats this off season, for "
            f"{about(cost, fleet.currency) or 'nothing'}; {must} of them cannot wait."]  # fmt: skip
    if figures:
        said.append(budget_paper.answer(fleet, figures))
    return " ".join(said)


# -- how the rigs stand


def numbers(fleet: Fleet) -> list[list[str]]:
    """Return the fleet in numbers, each with its words."""
    today = fleet.today()
    boats = reads.boats(fleet, today)
    standing = Hold.objects.of(fleet).standing().values("boat").distinct().count()
    late = boats.filter(inspect_by__date__lte=today).count()
    now = sum(row["now"] for row in reads.expected_in_a_year(fleet).values())
    orders = list(WorkOrder.objects.of(fleet).open())
    return [
        [str(boats.count()), "boats in the fleet"],
        [str(standing), "held: they do not sail"],
        [str(late), "to be looked at now, deck checks by rule aside"],
        [f"{now:.0f}", "parts expected to stand condemned, unseen"],
        [str(len(orders)), "work orders open"],
        [str(sum(is_late(order, today) for order in orders)), "of them late"],
    ]


def held(fleet: Fleet) -> list[str]:
    """Return boat by boat why it is held: the first sentence of its first reason."""
    rows = Hold.objects.of(fleet).standing().select_related("boat").order_by("boat__name", "pk")
    first = {hold.boat_id: hold for hold in reversed(rows)}
    found = sorted(first.values(), key=lambda hold: hold.boat.name)
    return [
        f"{hold.boat.name}, since {day(hold.since)}: {hold.reason.split('. ')[0].rstrip('.')}"
        for hold in found
    ]


def ages(fleet: Fleet) -> dict:
    """Return the chart of the wires' ages, with what of them is on the refit list."""
    rows = PartOutlook.objects.of(fleet).filter(installation__kind=WIRE, age__isnull=False)
    years = dict(rows.values_list("installation", "age"))
    listed = set(RefitJob.objects.of(fleet).values_list("installation", flat=True))
    every = Counter(int(age) for age in years.values())
    renew = Counter(int(age) for part, age in years.items() if part in listed)
    found = [{"age": age, "wires": every[age], "renew": renew[age]}
             for age in range(max(every, default=-1) + 1)]  # fmt: skip
    title = ages_title(sorted(years.values()), sum(renew.values()))
    spec = season_charts.ages(found, title)
    drawn = chart_picture.svg(spec, HALF, HEIGHT) if spec else ""
    return {"age_chart": drawn, "age_title": title}


def ages_title(years: list[float], renewed: int) -> str:
    if not years:
        return "No wire is on record"
    middle = years[len(years) // 2]
    return f"Half of the {len(years):,} wires are older than {middle:.0f} years; {renewed} are on \
the refit list"


# -- what is renewed when


def planned(fleet: Fleet, plans: Sequence[SeasonScenario]) -> dict:
    """Return the plan: its chart, its map, its limits; without one the refit list by base."""
    by_base = [
        [base["boat__base__name"], str(base["boats"]), str(base["parts"]), str(base["must"]),
         f"{base['hours']:.0f}", exact_money(base["cost"], fleet.currency)]
        for base in reads.refit_totals(fleet)
    ]  # fmt: skip
    if not plans:
        return {"plan": "", "plan_said": NO_PLAN, "by_base": by_base, "season_chart": ""}
    plan, found = plan_of(plans[0]), plans[0].found
    work, waits = (about(found[name], fleet.currency) for name in ("work", "put_off"))
    return {
        "plan": plan.scenario.name,
        "plan_said": f"Worked out as of {day(plan.scenario.as_of)}: {work} of work over five off "
        f"seasons; what waits is expected to cost {waits or 'nothing'} meanwhile. "
        + " ".join(limits_words(plan)),
        "by_base": by_base,
        "labels": short(plan.labels),
        "map": season_map(plan),
        "map_note": MAP_NOTE,
        **picture(season_reads.by_season(plan.scenario), fleet, HALF, HEIGHT),
    }


# -- money


def budgeted(fleet: Fleet, figures: list[BudgetFigure]) -> dict:
    if not figures:
        return {"years": []}
    spec = budget_sheet.chart(figures, fleet)
    return {
        "years": [budget_sheet.year_label(figure.year, fleet) for figure in figures],
        "budget_chart": chart_picture.svg(spec, WHOLE, LOW),
        "budget_title": spec["description"],
        "budget_rows": budget_paper.rows(figures, fleet),
        "budget_note": budget_paper.NOTE,
        "spent": spent(fleet),
        **budget_paper.ways(fleet),
    }


def spent(fleet: Fleet) -> str:
    """Return how the year under way stands against the version frozen last; blank without one."""
    version = BudgetVersion.objects.of(fleet).select_related("fleet").first()
    if version is None:
        return "No budget has been frozen to hold the invoices against."
    first = versions.by_year(version, fleet.today())[0]
    head = f"Version {version.number}, {version.name}, frozen on {day(version.on)}"
    if first.actual is None:
        return f"{head}: its first year, {first.of}, has not begun."
    return (
        f"{head}: {exact_money(first.actual, version.currency)} {version.currency} invoiced of "
        f"{exact_money(first.budget, version.currency)} budgeted for {first.of}, {first.within}."
    )


def kept(fleet: Fleet) -> dict:
    """Return the reserve's chart and what it is; words alone before its questions are answered."""
    found = reserves.reserve_of(fleet)
    if found is None:
        why = "Who owns the boats and who pays has to be answered first."
        return {"reserve_chart": "", "reserve_title": "No reserve is planned",
                "reserve_said": [why]}  # fmt: skip
    spec = reserves.chart(found)
    return {
        "reserve_chart": chart_picture.svg(spec, HALF, LOWER),
        "reserve_title": spec["description"],
        "reserve_said": [f"{found.answer}.", reserves.funded_words(found), found.liability],
    }


# -- what waits


def put_off(fleet: Fleet, plans: Sequence[SeasonScenario]) -> dict:
    """Return what is put off, the dearest to put off first, with the chance it runs.

    Of the plan, what waits beyond its seasons; without one, or where nothing does, what of the
    refit list could wait, if it did.
    """
    rows = list(season_reads.put_off(plans[0]).order_by("-put_off_minor", "pk")) if plans else []
    title = "Put off beyond the five off seasons"
    if not rows:
        rows = list(reads.refit_jobs(fleet).filter(must=False, installation__isnull=False)
                    .order_by("-put_off_minor", "pk"))  # fmt: skip
        title = "What could be put off a season, and what that would risk"
    total = sum(row.put_off_minor or 0 for row in rows)
    return {
        "put_off_title": title if rows else "Nothing is put off that should not be",
        "put_off": [
            [row.boat.name, part_words.name(row.installation), one_in(row.chance),
             percent(row.chance), exact_money(row.put_off_minor or 0, fleet.currency)]
            for row in rows[:MOST_PUT_OFF]
        ],
        "put_off_said": _said(len(rows), total, fleet),
    }  # fmt: skip


def _said(count: int, total: int, fleet: Fleet) -> str:
    more = f" The {MOST_PUT_OFF} dearest to put off are shown." if count > MOST_PUT_OFF else ""
    return (
        f"{count} parts; a season later is expected to cost {about(total, fleet.currency) or '0'} "
        f"in unplanned work and rigs that let go.{more} A chance is of being condemned within the "
        "season, seen or not. What waits is still inspected when it is due."
    )


def compared(plans: Sequence[SeasonScenario]) -> dict:
    """Return plans side by side, as words; nothing where there are not two."""
    if len(plans) < 2:
        return {"compared": [], "names": []}
    currency = plans[0].fleet.currency
    rows = [
        [row["what"] + (f", {currency}" if row["money"] else ""),
         *(about_figure(value, currency) or "0" if row["money"] else value
           for value in row["values"])]
        for row in season_reads.compared(list(plans))
    ]  # fmt: skip
    return {"compared": rows, "names": [plan.name for plan in plans]}


def prints(fleet: Fleet, plans: Sequence[SeasonScenario]) -> list[str]:
    """Return the fingerprints by which the same numbers can be found again."""
    basis = PlanBasis.objects.of(fleet).first()
    version = BudgetVersion.objects.of(fleet).defer("figures").first()
    said = [f"Rules and prices {basis.digest[:SHORT]}, of {day(basis.as_of)}."] if basis else []
    if version:
        figures, data = version.figures_mark[:SHORT], version.data_mark[:SHORT]
        said.append(f"Frozen budget version {version.number}: figures {figures}, data and models "
                    f"{data}.")  # fmt: skip
    said += [f"Plan {plan.name}: limits and moves {plan.asked[:SHORT]}, as of {day(plan.as_of)}."
             for plan in plans]  # fmt: skip
    payers = behind.by_payer(fleet)
    if len(payers) > 1:
        total = ", ".join(f"{row.name} {money(row.total, fleet.currency)}" for row in payers)
        said.append(f"Who pays, all years: {total}.")
    return said

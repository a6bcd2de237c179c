"""The answer to a demand as one paper: letter, schedules, inspections, reports, invoices.

Reports of others are bound in page by page where their PDF can be read; one that cannot is named
on the letter and lies beside the pack in the ZIP. The forecast goes with it only if chosen.
"""

import datetime as dt
import io
import zipfile
from dataclasses import dataclass, field

from django.utils.text import slugify

from fleet.models import Boat
from fleet.templatetags.wording import day, one_in, percent
from inspections.aftermath import report_files
from inspections.demands.evidence import Answer, of_demand
from inspections.followups import Report
from inspections.models import Demand

from ..models import BoatOutlook
from . import part_words
from .binding import Unbound, bind, readable
from .inspection_report import inspection_report
from .masthead import CAUTION, rests_on
from .press import press
from .rig_schedule import contents as schedule

MOST_BOATS = 60  # Beyond it the page would be waited for too long.
MOST_BOUND = 60 * 1024 * 1024
RECORD = (
    "This is the fleet's own record. A crew check is a visual check in place by a lay person, not "
    "a survey; a date of fitting is as certain as the schedule says."
)
# In place of what the forecast rests on: there is none in a schedule.
ALONE = {"standing": "What stands here is the fleet's record alone, no forecast.", "models": ""}
CHOSEN = "The forecast was chosen to go with this answer. It never clears a part."


class TooLong(Exception):
    """An answer about too many boats, in words."""


@dataclass
class Originals:
    """The reports of others that go with an answer: those bound in, and those that are not."""

    bound: list[tuple[Report, bytes]] = field(default_factory=list)
    beside: list[tuple[Report, str]] = field(default_factory=list)


def reply_pack(demand: Demand, *, forecast: bool = False) -> bytes:
    """Return the PDF, its parts as bookmarks. Raises TooLong beyond sixty boats."""
    answers = of_demand(demand)
    if len(answers) > MOST_BOATS:
        raise TooLong(
            f"An answer about more than {MOST_BOATS} boats is too long to print: enter the demand "
            "once a base."
        )
    originals = sorted_out(answers)
    today = demand.fleet.today()
    letter = press("reply-letter", contents(demand, answers, originals, forecast), today)
    parts = [("Letter", letter)]
    for boat, answer in answers:
        paper = press("rig-schedule", schedule(boat) | ALONE, today)
        parts.append((f"Rigging schedule: {boat.name}", paper))
        for look in answer.looks:
            words = f"Inspection of {boat.name}, {day(look.on)}"
            parts.append((words, inspection_report(look)))
    parts += [(name_of(report), content) for report, content in originals.bound]
    if forecast:
        paper = press("reply-forecast", forecast_contents(demand, answers), today)
        parts.append(("Forecast", paper))
    return bind(f"Answer to {demand.asker_name}", parts)


def reply_zip(demand: Demand, *, forecast: bool = False) -> bytes:
    """Return a ZIP: the pack, and the reports of others as they came in."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr("answer.pdf", reply_pack(demand, forecast=forecast))
        for boat, answer in of_demand(demand):
            for report in answer.reports:
                path = report_files.path_of(report)
                name = f"{slugify(boat.name) or boat.pk}-{slugify(report.author)}-{report.on}"
                if path.is_file():
                    out.write(path, f"reports/{name}-{report.pk}.pdf")
    return packed.getvalue()


def sorted_out(answers: list[tuple[Boat, Answer]]) -> Originals:
    """Return which reports are bound in, and why the others are not."""
    found, left = Originals(), MOST_BOUND
    for report in (report for _, answer in answers for report in answer.reports):
        path = report_files.path_of(report)
        try:
            if not path.is_file():
                raise Unbound("its file is not on this machine")
            if path.stat().st_size > left:
                raise Unbound("too large to be bound in with the others")
            content = path.read_bytes()
            readable(content)
        except Unbound as why:
            found.beside.append((report, str(why)))
            continue
        left -= len(content)
        found.bound.append((report, content))
    return found


def name_of(report: Report) -> str:
    return f"Report on {report.boat.name}, {report.author}, {day(report.on)}"


def contents(demand: Demand, answers, originals: Originals, forecast: bool) -> dict:
    """Return what the letter says, as words."""
    fleet = demand.fleet
    bound = {report.pk for report, _ in originals.bound}
    return {
        "title": f"Answer to {demand.asker_name}",
        "fleet": fleet.name,
        "as_of": day(fleet.today()),
        "caution": CAUTION,
        "to": [demand.asker_name, demand.get_asker_display().capitalize()],
        "reference": demand.reference,
        "asked_on": day(demand.asked_on),
        "deadline": day(demand.deadline),
        "clause": demand.clause,
        "letter": paragraphs(demand.letter or letter_of(demand, answers)),
        "record": RECORD,
        "boats": [boat_row(boat, answer) for boat, answer in answers],
        "reports": [
            {"boat": boat.name, "who": f"{report.author}, {report.get_competence_display()}",
             "on": day(report.on),
             "where": "bound in below" if report.pk in bound else "beside this paper"}
            for boat, answer in answers for report in answer.reports
        ],
        "beside": [f"{name_of(report)}: {why}." for report, why in originals.beside],
        "invoices": invoices(answers, demand.counts_from),
        "follows": follows(answers, originals, forecast),
    }  # fmt: skip


def follows(answers: list[tuple[Boat, Answer]], originals: Originals, forecast: bool) -> str:
    """Return what lies behind the letter, as its last sentence: nothing that is not there."""
    behind = ["the rigging schedule of each boat"]
    if any(answer.looks for _, answer in answers):
        behind.append("the inspections that show what is done")
    if originals.bound:
        behind.append("the reports of others")
    if forecast:
        behind.append("the forecast")
    chosen = CHOSEN if forecast else "No forecast goes with this answer."
    return f"What follows: {named(behind)}. {chosen}"


def paragraphs(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


def letter_of(demand: Demand, answers: list[tuple[Boat, Answer]]) -> str:
    """Return the letter that stands where nobody has written one: what was asked, what is done."""
    done = [boat.name for boat, answer in answers if answer.satisfied]
    open_ = [boat.name for boat, answer in answers if not answer.satisfied]
    lines = [f"On {day(demand.asked_on)} you asked for {demand.get_wanted_display()}, to be "
             f"answered by {day(demand.deadline)}. Your words stand above."]  # fmt: skip
    if done:
        lines.append(f"It is done on {named(done)}; the record that shows it follows.")
    if open_:
        lines.append(
            f"It is still to be done on {named(open_)}. What is missing is named boat by boat."
        )
    lines.append("Please confirm that this is accepted, or tell us what else you need.")
    return "\n".join(lines)


def named(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def boat_row(boat: Boat, answer: Answer) -> dict:
    return {
        "name": boat.name,
        "satisfied": answer.satisfied,
        "shown": list(answer.shown) or ["nothing yet"],
        "missing": answer.missing or "nothing",
    }


def invoices(answers: list[tuple[Boat, Answer]], since: dt.date) -> list[dict]:
    """Return the parts asked for that were fitted since the day that counts, by boat and date."""
    return [
        {"boat": boat.name, "part": part_words.name(part), "what": part.description,
         "fitted": day(part.fitted_on), "fitter": part.fitter or "not on record",
         "invoice": part.invoice or "none on record"}
        for boat, answer in answers
        for part in sorted(answer.parts, key=lambda part: (part.fitted_on or dt.date.min, part.pk))
        if part.fitted_on and part.fitted_on >= since
    ]  # fmt: skip


def forecast_contents(demand: Demand, answers: list[tuple[Boat, Answer]]) -> dict:
    """Return the forecast of these boats in words, with what it rests on and its caution."""
    fleet = demand.fleet
    standing, models = rests_on(fleet)
    rows = BoatOutlook.objects.filter(boat__in=[boat.pk for boat, _ in answers])
    outlooks = {row.boat_id: row for row in rows}
    return {
        "title": "Forecast",
        "answer": "The chance that at least one part of a boat stands condemned unseen.",
        "fleet": fleet.name,
        "as_of": day(fleet.today()),
        "currency": fleet.currency,
        "standing": standing,
        "models": models,
        "caution": CAUTION,
        "boats": [chance_row(boat, outlooks.get(boat.pk)) for boat, _ in answers],
    }


def chance_row(boat: Boat, outlook: BoatOutlook | None) -> dict:
    if outlook is None:
        return {"name": boat.name, "now": "not forecast", "bounds": "", "year": ""}
    low, high = percent(outlook.chance_now_low), percent(outlook.chance_now_high)
    return {
        "name": boat.name,
        "now": f"{one_in(outlook.chance_now)} ({percent(outlook.chance_now)})",
        "bounds": f"{low} to {high}",
        "year": f"{one_in(outlook.chance_1y)} ({percent(outlook.chance_1y)})",
    }

"""For a part that let go: what to order, what in store fits, what else to look at, and its tag."""

from fleet.templatetags.wording import SPOT_WORDS, day
from inspections.aftermath import alike, cut_sheet, store
from inspections.followups import Failure

from . import part_words
from .masthead import WORK, masthead
from .press import press

KEEP = (
    "Keep both ends, dry, unbent and uncleaned, for the rigger: the break says why it went. "
    "Not to be used again."
)


def failure_paper(failure: Failure) -> bytes:
    """Return the PDF: the cut sheet, then the tag to tie to the broken part."""
    fleet = failure.installation.stay.boat.fleet
    return press("failure", contents(failure), fleet.today())


def contents(failure: Failure) -> dict:
    """Return what the paper says, as words."""
    part = failure.installation
    boat = part.stay.boat
    gone = alike.Gone(part, part.removed_on or boat.fleet.today(), part.removal_spot)
    sheet = cut_sheet.rows(part)
    listed = [
        *alike.of_fleet([gone], boat.fleet)[part.pk],
        *alike.sisters(part, gone.on, gone.spot),
    ]
    title = f"Cut sheet: {part_words.name(part)} of {boat.name}"
    return masthead(boat.fleet, title, answer(failure, cut_sheet.unknown(part))) | {
        "cautions": list(WORK),
        "sheet": [list(row) for row in sheet],
        "measure": cut_sheet.MEASURE,
        "store": [in_store(match) for match in store.matches(part, boat.fleet)],
        "like": [like(each) for each in listed],
        "tag": tag(failure),
        "keep": KEEP,
    }


def answer(failure: Failure, unknown: int) -> str:
    part = failure.installation
    when = f" {day(part.removed_on)}" if part.removed_on else ""
    measure = (
        f"{unknown} line{'' if unknown == 1 else 's'} to measure" if unknown else "nothing open"
    )
    return f"It let go{when}. To order by the lines below; {measure}."


def in_store(match: store.Match) -> dict:
    spare = match.spare
    where = ", ".join(filter(None, [spare.base.name, spare.place]))
    return {"what": str(spare), "where": where, "words": match.words}


def like(each: alike.Alike) -> dict:
    looked = each.looked
    since = f"{day(looked.inspection.on)}: {looked.get_value_display()}" if looked else ""
    return {"boat": each.part.stay.boat.name, "name": each.name, "why": each.why, "since": since}


def tag(failure: Failure) -> list[list[str]]:
    part = failure.installation
    boat = part.stay.boat
    return [
        ["Boat", boat.name],
        ["Part", part_words.name(part)],
        ["What it is", part.description],
        ["Let go", day(part.removed_on) or "not on record"],
        ["Where", SPOT_WORDS.get(part.removal_spot, "not known")],
        ["What happened", failure.what],
        ["Told by", failure.person],
        ["Fitted", f"{part_words.fitted(part)} ({part.get_fitted_certainty_display()})"],
        ["Fitter, batch, invoice", ", ".join(
            [part.fitter or "not known", part.batch or "no batch", part.invoice or "no invoice"])],
    ]  # fmt: skip

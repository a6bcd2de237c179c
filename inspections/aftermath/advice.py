"""What surveyors and riggers recommend, followed until it is done or declined with a reason.

A recommendation condemns nothing and holds nothing, not even one that says "renew": a verdict comes
from what somebody saw and recorded. Closing one needs its evidence.
"""

import datetime as dt
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from fleet.models import Boat, Installation
from fleet.templatetags.wording import day

from ..followups import Recommendation, Report
from ..models import Inspection
from . import report_files

State = Recommendation.State
NO_VERDICT = (
    "A recommendation is somebody's advice, not a finding: even “renew” does not condemn the part "
    "here. Have it inspected, and record what was seen; that gives the verdict."
)


@transaction.atomic
def attach(
    boat: Boat, file: UploadedFile, *, on: dt.date, author: str, competence: str, user=None
) -> Report:
    """Keep a report of a boat; return the Report. The same file again is refused, with its page."""
    content = report_files.read(file)
    if on > boat.fleet.today():
        raise ValidationError(f"The report is dated {day(on)}, which is still to come.")
    sha256 = report_files.digest(content)
    known = Report.objects.filter(boat=boat, sha256=sha256).first()
    if known:
        raise ValidationError(
            f"This very file is attached already: {known.author}, {day(known.on)}."
        )
    report = Report(
        boat=boat,
        on=on,
        author=author.strip(),
        competence=competence,
        name=file.name[-200:],
        size=len(content),
        sha256=sha256,
        by=user,
    )
    report.full_clean()
    report.save()
    report_files.write(report, content)
    return report


@transaction.atomic
def detach(report: Report) -> None:
    """Take off a report attached by mistake, while nothing of it was entered."""
    row = Report.objects.select_for_update().get(pk=report.pk)
    if row.recommendations.exists():
        raise ValidationError("Recommendations of it are on record: it stays with them.")
    path = report_files.path_of(row)
    row.delete()
    transaction.on_commit(lambda: path.unlink(missing_ok=True))


@transaction.atomic
def recommend(report: Report, **facts) -> Recommendation:
    """Add one recommendation of a report."""
    part: Installation | None = facts.get("installation")
    if part and part.stay.boat_id != report.boat_id:
        raise ValidationError("This part is not on the boat of the report.")
    row = Recommendation(report=report, **facts)
    row.full_clean()
    row.save()
    return row


@dataclass(frozen=True)
class Closing:
    """How a recommendation ends: ``how`` is the evidence in words, or why it was declined."""

    state: str
    on: dt.date
    by: str
    how: str
    inspection: Inspection | None = None
    renewal: Installation | None = None


@transaction.atomic
def close(row: Recommendation, closing: Closing) -> None:
    """Close a recommendation as done, with its evidence, or as declined, with the reason."""
    row = Recommendation.objects.select_for_update().get(pk=row.pk)
    _check(row, closing)
    row.state, row.closed_on, row.closed_by = closing.state, closing.on, closing.by.strip()
    row.inspection, row.renewal = closing.inspection, closing.renewal
    row.how = closing.how.strip() or _evidence(closing)
    row.full_clean()
    row.save()


def _check(row: Recommendation, closing: Closing) -> None:
    boat = row.report.boat
    if row.state != State.OPEN:
        raise ValidationError(
            f"It was closed on {day(row.closed_on)} as {row.get_state_display()}."
        )
    if closing.on > boat.fleet.today():
        raise ValidationError(f"{day(closing.on)} is still to come.")
    if not closing.by.strip():
        raise ValidationError("Say who closes it.")
    if closing.state == State.DECLINED and not closing.how.strip():
        raise ValidationError("Say why it is declined: the reason stays beside it.")
    evidence = closing.how.strip() or closing.inspection or closing.renewal
    if closing.state == State.DONE and not evidence:
        raise ValidationError(
            "Say by what it is done: the inspection, the part fitted, or a note of the work."
        )


def _evidence(closing: Closing) -> str:
    if closing.renewal:
        part = closing.renewal
        invoice = f", invoice {part.invoice}" if part.invoice else ""
        return f"{part.stay.label} fitted {day(part.fitted_on)}{invoice}"
    look = closing.inspection
    level = look.get_level_display().capitalize()
    return f"{level}, {day(look.on)}, {look.person}"


@transaction.atomic
def reopen(row: Recommendation) -> None:
    """Open a recommendation again that was closed by mistake."""
    row = Recommendation.objects.select_for_update().get(pk=row.pk)
    row.state, row.closed_on, row.closed_by, row.how = State.OPEN, None, "", ""
    row.inspection = row.renewal = None
    row.save()

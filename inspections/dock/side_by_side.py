"""What a phone sent beside what is on record, part by part, for whoever has to decide."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ..criteria import Criteria
from ..judgement.history import NOT_SEEN, BoatHistory, Span, load, name_of
from ..models import DockUpload, Inspection, PartVerdict, SpotState, VerdictValue
from ..verdicts.facts import SPOT_WORDS
from ..verdicts.reading import amount
from .conflicts import looks_since
from .draft import Draft
from .draft_check import sights_of

LOOKS_SHOWN = 2
QUIET = ("Seen: ", "Verdict: ")
SEEN = (SpotState.GOOD, SpotState.CONDEMNED, SpotState.UNRESOLVED)


@dataclass
class Column:
    """One look: part id (None: the boat) -> lines of what it says."""

    title: str
    look: Inspection | None = None
    lines: dict[int | None, list[str]] = field(default_factory=lambda: defaultdict(list))


@dataclass(frozen=True)
class Row:
    """One part, or the places of the boat; each cell is a look's title and what it says."""

    name: str
    note: str
    cells: list[tuple[str, list[str]]]

    @property
    def differs(self) -> bool:
        """Whether one look found something here, or could not see it, and another did not."""
        told = [{line for line in lines if not line.startswith(QUIET)} for _, lines in self.cells]
        return any(each != told[0] for each in told)


@dataclass(frozen=True)
class Compared:
    """What a phone sent and the looks on record beside it, rows that differ first."""

    draft: Draft
    columns: list[Column]
    rows: list[Row]


def beside(draft: Draft, upload: DockUpload) -> Compared:
    """Return the draft beside the looks put on record since; else beside the latest before it.

    The look the draft itself became is no other look: it is left out.
    """
    [history] = load([upload.boat_id])
    own = upload.inspection_id
    looks = [each for each in looks_since(draft, history) if each.pk != own]
    looks = looks or [each for each in history.inspections if each.pk != own][-1:]
    verdicts = defaultdict(list)
    for row in PartVerdict.objects.filter(inspection__in=looks[-LOOKS_SHOWN:]):
        verdicts[row.inspection_id].append(row)
    columns = [sent_column(draft, history)]
    columns += [look_column(look, history, verdicts[look.pk]) for look in looks[-LOOKS_SHOWN:]]
    rows = rows_of(columns, history)
    return Compared(draft, columns, sorted(rows, key=lambda row: not row.differs))


def sent_column(draft: Draft, history: BoatHistory) -> Column:
    """Return what the phone says, and what would be stored as not seen."""
    column = Column("Sent from the phone")
    seen = defaultdict(list)
    for part, spot in draft.seen:
        seen[part].append(spot)
    for part, spots in seen.items():
        column.lines[part].append(_seen(spots))
    _, criteria = history.criteria_on(draft.on)
    for sight in sights_of(draft, history):
        words = _said(sight, criteria)
        column.lines[sight.installation_id].append(words)
    return column


def look_column(look: Inspection, history: BoatHistory, rows: Iterable[PartVerdict]) -> Column:
    """Return what a look on record says: its verdicts, what it saw, and what it found."""
    column = Column(f"{look.get_level_display()} by {look.person}".capitalize(), look)
    for row in rows:
        spots = [spot for spot in SPOT_WORDS if getattr(row, spot) in SEEN]
        column.lines[row.installation_id] += [_seen(spots)] if spots else []
    _, criteria = history.criteria_on(look.on)
    for finding in history.findings.get(look.pk, ()):
        column.lines[finding.installation_id].append(_said(finding, criteria))
    for row in rows:
        label = VerdictValue(row.value).label
        column.lines[row.installation_id].append(f"Verdict: {label}")
    return column


def rows_of(columns: Sequence[Column], history: BoatHistory) -> list[Row]:
    """Return a row for every part that any of the looks speaks of, places of the boat last."""
    named = {part for column in columns for part in column.lines}
    spans = [span for span in history.spans if span.part.pk in named]
    rows = [Row(name_of(span.part), _note(span), _cells(columns, span.part.pk)) for span in spans]
    if None in named:
        rows.append(Row("The boat", "", _cells(columns, None)))
    return rows


def _cells(columns: Sequence[Column], part: int | None) -> list[tuple[str, list[str]]]:
    return [(column.title, column.lines.get(part, [])) for column in columns]


def _note(span: Span) -> str:
    off = span.part.removed_on
    return f"off since {off.day} {off:%b %Y}" if off else ""


def _seen(spots: Iterable[str]) -> str:
    order = list(SPOT_WORDS)
    return "Seen: " + ", ".join(SPOT_WORDS[each] for each in sorted(spots, key=order.index))


def _said(sight, criteria: Criteria) -> str:
    """Return one finding in words, of a draft's sight or of a ``Finding``."""
    where = SPOT_WORDS.get(sight.place, sight.place.replace("_", " "))
    where = f"{where} {sight.side}".strip()
    if sight.sign == NOT_SEEN:
        return f"Not seen, {where}: {sight.note}"
    sign = criteria.get(sight.sign)
    words = [sign.label if sign else sight.sign]
    if sight.measure is not None:
        words.append(amount(sight.measure, sign.measure.unit if sign and sign.measure else ""))
    if sight.cleaned is not None:
        words.append("came away" if sight.cleaned else "stayed")
    note = f" ({sight.note})" if sight.note else ""
    return f"{', '.join(words)}: {where}{note}"

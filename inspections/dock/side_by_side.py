"""What a phone sent beside what is on record, part by part, for whoever has to decide."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from ..criteria import Criteria
from ..judgement.history import NOT_SEEN, BoatHistory, Span, in_order, load, name_of
from ..judgement.judging import Bench, Verdict
from ..models import DockUpload, Finding, Inspection, PartVerdict, SpotState, VerdictValue
from ..verdicts.facts import SPOT_WORDS
from ..verdicts.reading import amount
from .conflicts import looks_since, same_look
from .draft import Draft
from .draft_check import look_of, sights_of

LOOKS_SHOWN = 2
SEEN_WORD = "Seen"
# Of what is recorded the verdicts stand on its own page; what has faults cannot be judged.
UNDECIDED = (DockUpload.State.CONFLICT, DockUpload.State.DROPPED)
SEEN = (SpotState.GOOD, SpotState.CONDEMNED, SpotState.UNRESOLVED)


@dataclass
class Column:
    """One look: part id (None: the boat) -> lines of what it says; part id -> its verdict."""

    title: str
    look: Inspection | None = None
    lines: dict[int | None, list[str]] = field(default_factory=lambda: defaultdict(list))
    verdicts: dict[int, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Cell:
    """What one look says of one part. ``value``: its verdict; ``would_be``: not on record yet."""

    title: str
    lines: list[str]
    value: str = ""
    would_be: bool = False

    @property
    def word(self) -> str:
        return str(VerdictValue(self.value).label) if self.value else ""


@dataclass(frozen=True)
class Row:
    """One part, or the places of the boat, and a cell for each look."""

    name: str
    note: str
    cells: list[Cell]

    @property
    def differs(self) -> bool:
        """Whether the part is gone, or one look found or missed something here, another not."""
        told = [
            {each for each in cell.lines if not each.startswith(SEEN_WORD)} for cell in self.cells
        ]
        return bool(self.note) or any(each != told[0] for each in told)


@dataclass(frozen=True)
class Compared:
    """What a phone sent and the looks on record beside it: made since, or the last before it."""

    draft: Draft
    columns: list[Column]
    rows: list[Row]
    same: Inspection | None = None
    since: bool = True

    @property
    def apart(self) -> list[Row]:
        """Return the rows to be read; all of them where there is nothing to compare with."""
        return [row for row in self.rows if row.differs or len(self.columns) == 1]

    @property
    def alike(self) -> list[Row]:
        return [row for row in self.rows if not row.differs and len(self.columns) > 1]


def beside(draft: Draft, upload: DockUpload) -> Compared:
    """Return the draft beside the looks put on record since; else beside the latest before it.

    The look the draft itself became is no other look: it is left out.
    """
    [history] = load([upload.boat_id])
    own = upload.inspection_id
    looks = [each for each in looks_since(draft, history) if each.pk != own]
    since = bool(looks)
    looks = looks or [each for each in history.inspections if each.pk != own][-1:]
    verdicts = defaultdict(list)
    for row in PartVerdict.objects.filter(inspection__in=looks[-LOOKS_SHOWN:]):
        verdicts[row.inspection_id].append(row)
    sent = sent_column(draft, history)
    if upload.state in UNDECIDED:
        sent.verdicts = {row.installation_id: row.value for row in would_be(draft, history)}
    columns = [sent]
    columns += [look_column(look, history, verdicts[look.pk]) for look in looks[-LOOKS_SHOWN:]]
    return Compared(draft, columns, rows_of(columns, history), same_look(draft, history), since)


def would_be(draft: Draft, history: BoatHistory) -> list[Verdict]:
    """Return the verdicts the draft would lead to beside what is on record, judged in memory."""
    look = Inspection(pk=-1, boat=history.boat, **vars(look_of(draft)))
    sights = sights_of(draft, history)
    found = [Finding(pk=-n, inspection=look, **vars(each)) for n, each in enumerate(sights, 1)]
    looks = sorted([*history.inspections, look], key=in_order)
    as_if = replace(history, inspections=looks, findings=history.findings | {look.pk: found})
    judged = Bench().judge_boat(as_if)
    return [row for row in judged.verdicts if row.inspection_id == look.pk]


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
    level = look.get_level_display()
    column = Column(f"{level[:1].upper()}{level[1:]} by {look.person}", look)
    column.verdicts = {row.installation_id: row.value for row in rows}
    for row in rows:
        spots = [spot for spot in SPOT_WORDS if getattr(row, spot) in SEEN]
        column.lines[row.installation_id] += [_seen(spots)] if spots else []
    _, criteria = history.criteria_on(look.on)
    for finding in history.findings.get(look.pk, ()):
        column.lines[finding.installation_id].append(_said(finding, criteria))
    return column


def rows_of(columns: Sequence[Column], history: BoatHistory) -> list[Row]:
    """Return a row for every part that any of the looks speaks of, places of the boat last."""
    named = {part for column in columns for part in (*column.lines, *column.verdicts)}
    spans = [span for span in history.spans if span.part.pk in named]
    rows = [Row(name_of(span.part), _note(span), _cells(columns, span.part.pk)) for span in spans]
    if None in named:
        rows.append(Row("The boat", "", _cells(columns, None)))
    return rows


def _cells(columns: Sequence[Column], part: int | None) -> list[Cell]:
    return [
        Cell(
            column.title,
            column.lines.get(part, []),
            column.verdicts.get(part, ""),
            would_be=column.look is None,
        )
        for column in columns
    ]


def _note(span: Span) -> str:
    off = span.part.removed_on
    return f"off since {off.day} {off:%b %Y}" if off else ""


def _seen(spots: Iterable[str]) -> str:
    order = list(SPOT_WORDS)
    named = [SPOT_WORDS[each] for each in sorted(spots, key=order.index) if each != "whole"]
    return f"{SEEN_WORD}: {', '.join(named)}" if named else SEEN_WORD


def _said(sight, criteria: Criteria) -> str:
    """Return one finding in words, of a draft's sight or of a ``Finding``."""
    where = "" if sight.place == "whole" else SPOT_WORDS.get(sight.place, sight.place)
    where = f"{where} {sight.side}".replace("_", " ").strip()
    if sight.sign == NOT_SEEN:
        return f"{f'Not seen, {where}' if where else 'Not seen'}: {sight.note}"
    sign = criteria.get(sight.sign)
    words = [sign.label if sign else sight.sign]
    if sight.measure is not None:
        words.append(amount(sight.measure, sign.measure.unit if sign and sign.measure else ""))
    if sight.cleaned is not None:
        words.append("came away" if sight.cleaned else "stayed")
    note = f" ({sight.note})" if sight.note else ""
    return f"{', '.join(words)}{f': {where}' if where else ''}{note}"

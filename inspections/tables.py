"""Tables of inspections, verdicts, holds and reminders. Each ends its order on the primary key."""

import datetime as dt
from collections.abc import Iterable
from urllib.parse import urlencode

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join

from fleet.templatetags.wording import day

from .criteria import RANK, SPOTS, Criteria, Sign
from .judgement.history import name_of
from .models import Finding, Hold, Inspection, PartVerdict, Reminder, SpotState, VerdictValue
from .photos.shown import Compared
from .reminding import set_aside
from .spans import span_words, when
from .templatetags.sign_pictures import sign_picture
from .verdicts.reading import lowered
from .wording import look_words

FLEET = tables.A("boat__fleet__slug")
SPOT_WORDS = {"lower": "lower end", "run": "wire", "upper": "upper end", "whole": "part"}


def verdict_word(value: str) -> str:
    """Return the word of a verdict, in its line."""
    label = VerdictValue(value).label
    return format_html('<span class="verdict {}">{}</span>', value, label)


def cell(template: str, *words: object) -> str:
    """Return a cell as one element: on a phone a cell is a grid, where loose words part."""
    return format_html(f"<span>{template}</span>", *words)


def boat_link() -> dict:
    return {"viewname": "boat", "args": [FLEET, tables.A("boat_id")]}


class InspectionTable(tables.Table):
    """Every look, newest first. Expects ``verdicts`` prefetched without *keep* and *not seen*,
    and what ``wording.told_apart`` adds."""

    folds = True  # on a phone the first rows, the rest at a tap
    on = tables.Column(
        verbose_name="Date",
        linkify={"viewname": "inspection", "args": [FLEET, tables.A("pk")]},
        order_by=("on", "pk"),
    )
    boat = tables.Column(linkify=boat_link(), order_by=("boat__name", "-on", "pk"))
    base = tables.Column(
        accessor="boat__base__name", verbose_name="Base", order_by=("boat__base__name", "-on", "pk")
    )
    level = tables.Column(order_by=("level", "-on", "pk"))
    person = tables.Column(verbose_name="By", order_by=("person", "-on", "pk"))
    found = tables.Column(empty_values=(), verbose_name="Verdicts", orderable=False)

    class Meta:
        model = Inspection
        fields = ()
        order_by = ("-on",)
        empty_text = "No inspection answers to that. Record one from its boat's page."

    def render_on(self, value: dt.date) -> str:
        return day(value)

    def render_person(self, value: str, record: Inspection) -> str:
        return cell("{} <small>{}</small>", value, record.get_competence_display())

    def render_level(self, record: Inspection) -> str:
        return look_words(record)

    def render_found(self, record: Inspection) -> str:
        counts: dict[str, int] = {}
        for row in record.verdicts.all():
            counts[row.value] = counts.get(row.value, 0) + 1
        worst_first = sorted(counts, key=lambda value: -RANK[value])
        words = [(verdict_word(value), counts[value]) for value in worst_first]
        quiet = verdict_word("keep" if record.kept else "not_seen")
        return cell("{}", format_html_join(", ", "{} {}", words) or quiet)


class VerdictTable(tables.Table):
    """What one inspection says of each part, worst first."""

    part = tables.Column(
        accessor="installation",
        verbose_name="Part",
        order_by=("installation__stay__name", "installation__stay__side", "pk"),
    )
    verdict = tables.Column(accessor="value", verbose_name="Verdict", order_by=("-rank", "pk"))
    seen = tables.Column(empty_values=(), verbose_name="Spot by spot", orderable=False)
    reasons = tables.Column(orderable=False)
    again_by = tables.Column(verbose_name="Again by", default="", order_by=("again_by", "pk"))

    class Meta:
        model = PartVerdict
        fields = ()
        order_by = ("verdict",)
        empty_text = "No part stood on this boat that day."

    def __init__(
        self,
        *args,
        findings: Iterable[Finding] = (),
        criteria: Criteria,
        photos: Iterable[Compared] = (),
        **kwargs,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.photos = {
            (each.finding.installation_id, each.finding.sign): each.now
            for each in photos
            if each.finding
        }
        self.signs_of: dict[int, list[Sign]] = {}
        for finding in findings:
            if finding.sign in criteria:
                signs = self.signs_of.setdefault(finding.installation_id, [])
                signs.append(criteria[finding.sign])

    def render_part(self, value) -> str:
        return format_html("{} <small>{}</small>", name_of(value), value.description)

    def render_verdict(self, record: PartVerdict) -> str:
        return verdict_word(record.value)  # The table would hand in its label, "not seen".

    def render_seen(self, record: PartVerdict) -> str:
        by_state: dict[str, list[str]] = {}
        for spot in SPOTS[record.installation.kind]:
            by_state.setdefault(getattr(record, spot), []).append(SPOT_WORDS[spot])
        lines = [
            (SpotState(state).label.capitalize(), ", ".join(spots))
            for state, spots in by_state.items()
        ]
        return cell("{}", format_html_join("", "<small>{}: {}</small>", lines))

    def render_reasons(self, value: list[str], record: PartVerdict) -> str:
        signs = self.signs_of.get(record.installation_id, [])
        lines = [self._line(each, _named(each, signs), record) for each in value]
        reason = '<span class="reason">{}<small>{}{}</small></span>'
        return cell("{}", format_html_join("", reason, lines))

    def _line(self, reason: str, sign: Sign | None, record: PartVerdict) -> tuple[str, str, str]:
        """Return the picture of the sign, the reason, and a link to the photos of it."""
        if sign is None:
            return "", reason, ""
        photos = self.photos.get((record.installation_id, sign.code), [])
        link = format_html(' <a href="#photo-{}">Photo</a>', photos[0].pk) if photos else ""
        return sign_picture(sign.code), reason, link

    def render_again_by(self, value: dt.date) -> str:
        return day(value)


def _named(reason: str, signs: list[Sign]) -> Sign | None:
    """Return the sign that a reason names; the longest, where two labels fit."""
    named = [sign for sign in signs if f": {lowered(sign.label)}" in reason]
    return max(named, key=lambda sign: len(sign.label), default=None)


class HoldTable(tables.Table):
    """Boats that are not released, and the one thing that ends each hold."""

    boat = tables.Column(linkify=boat_link(), order_by=("boat__name", "since", "pk"))
    since = tables.Column(order_by=("since", "pk"))
    cause = tables.Column(order_by=("cause", "since", "pk"))
    reason = tables.Column(orderable=False)
    ends = tables.Column(empty_values=(), verbose_name="What ends it", orderable=False)

    class Meta:
        model = Hold
        fields = ()
        order_by = ("boat",)
        empty_text = "Every boat is released: nothing on record holds one."

    def __init__(self, *args, may_write: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.may_write = may_write

    def render_since(self, value: dt.date) -> str:
        return day(value)

    def render_ends(self, record: Hold) -> str:
        address, words = ending(record)
        return format_html('<a href="{}">{}</a>', address, words) if self.may_write else words


def ending(hold: Hold) -> tuple[str, str]:
    """Return where the thing is recorded that ends a hold, and what it is."""
    slug, cause = hold.boat.fleet.slug, Hold.Cause
    if hold.finding_id and hold.cause != cause.EVENT:
        return reverse("make_good", args=[slug, hold.finding_id]), "Record that it was made good"
    part = hold.installation
    if hold.unproved_id:
        return reverse("renew", args=[slug, part.pk]), "Add what is missing of its renewal"
    if hold.cause == cause.REPLACE and part and part.removed_on is None:
        return reverse("renew", args=[slug, part.pk]), "Record the renewal"
    if hold.cause == cause.REPLACE and part:
        return reverse("renew", args=[slug, part.pk]), "Record the new part in its place"
    words = {
        cause.EVENT: "An inspection aloft or mast-down by a rigger or surveyor, on a later day",
        cause.PAIR: "An inspection that sees it, on a later day",
        cause.NOT_SEEN: "An inspection that opens it and sees it",
    }
    return reverse("inspect", args=[slug, hold.boat_id]), words[hold.cause]


class DueTable(tables.Table):
    """What is due now or soon, from ``due.Due`` rows."""

    boat = tables.Column(accessor="boat__name", order_by=("boat__name", "on", "boat__pk"))
    kind = tables.Column(verbose_name="What", order_by=("kind", "on", "boat__pk"))
    on = tables.Column(verbose_name="Due", order_by=("on", "boat__name", "boat__pk"))
    reason = tables.Column(orderable=False)
    aside = tables.Column(empty_values=(), verbose_name="Not now, or done", orderable=False)

    class Meta:
        empty_text = "Nothing is due within two months."
        order_by = ("on",)

    def __init__(self, *args, fleet, today: dt.date, may_write: bool = False, **kwargs) -> None:
        super().__init__(*args, exclude=() if may_write else ("aside",), **kwargs)
        self.fleet, self.today = fleet, today

    def render_aside(self, record) -> str:
        if record.kind in set_aside.NEVER:
            return ""
        what = {"boat": record.boat.pk, "kind": record.kind, "about": record.about}
        address = f"{reverse('set_aside', args=[self.fleet.slug])}?{urlencode(what)}"
        return format_html('<a href="{}">Set aside</a>', address)

    def render_boat(self, value: str, record) -> str:
        address = reverse("boat", args=[self.fleet.slug, record.boat.pk])
        return format_html('<a href="{}">{}</a>', address, value)

    def render_kind(self, value: str) -> str:
        return Reminder.Kind(value).label

    def render_on(self, value: dt.date, record) -> str:
        if record.kind == Reminder.Kind.HELD:
            return cell('<span class="held">Held</span> since {}', day(value))
        late = value < self.today
        words = when(value, self.today)
        return cell("<strong>Late</strong>, {}", words) if late else words


class ReminderTable(tables.Table):
    """Every reminder: to whom, about what, and how far it has got."""

    boat = tables.Column(linkify=boat_link(), order_by=("boat__name", "send_on", "pk"))
    kind = tables.Column(verbose_name="About", order_by=("kind", "due_on", "pk"))
    due_on = tables.Column(verbose_name="Due", order_by=("due_on", "pk"))
    to_name = tables.Column(verbose_name="To", order_by=("to_name", "send_on", "pk"))
    send_on = tables.Column(verbose_name="Sending day", order_by=("send_on", "pk"))
    state = tables.Column(
        linkify={"viewname": "reminder", "args": [FLEET, tables.A("pk")]},
        order_by=("state", "send_on", "pk"),
    )
    reason = tables.Column(orderable=False)

    class Meta:
        model = Reminder
        fields = ()
        order_by = ("-send_on",)
        empty_text = "No reminder answers to that. They are queued every morning."

    def render_send_on(self, value: dt.date) -> str:
        return day(value)

    def render_due_on(self, value: dt.date, record: Reminder) -> str:
        return cell("{} <small>{}</small>", day(value), step_words(record))

    def render_state(self, value: str, record: Reminder) -> str:
        return cell("{} <small>{}</small>", value, record.failure) if record.failure else value


def step_words(reminder: Reminder) -> str:
    """Return ``30 days before``, ``on the day``, ``2 weeks late`` or ``held for 2 weeks``."""
    if reminder.days_before > 0:
        return f"{reminder.days_before} days before"
    held = reminder.kind == Reminder.Kind.HELD
    if reminder.days_before == 0:
        return "held since then" if held else "on the day"
    lasting = span_words(-reminder.days_before)
    return f"held for {lasting}" if held else f"{lasting} late"

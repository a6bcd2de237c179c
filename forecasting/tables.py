"""Tables of boats, outlooks and refit jobs. Each ends its order on the primary key."""

import django_tables2 as tables
from django.utils.html import format_html

from fleet.models import Boat
from fleet.templatetags import wording
from inspections.aftermath.stepping import MISSING
from inspections.models import Inspection

from .models import RefitJob

NUM = {"th": {"class": "num"}, "td": {"class": "num"}}
ACROSS = {"td": {"class": "across"}}  # on a phone a long reason has the whole width
# Of those due on one day, the likeliest to hide something first.
SOONEST = ("inspect_by__date", "-outlook__chance_now", "pk")
MUST_FIRST = ("-must", "-put_off_minor", "pk")


def boat_link() -> dict:
    return {"viewname": "boat", "args": [tables.A("fleet__slug"), tables.A("pk")]}


class BoatColumns(tables.Table):
    """What every list of boats shows, whatever its question."""

    folds = True  # on a phone the first boats, the rest at a tap
    name = tables.Column(verbose_name="Boat", linkify=boat_link(), order_by=("name", "pk"))
    base = tables.Column(
        accessor="base__name", verbose_name="Base", order_by=("base__name", "name", "pk")
    )

    class Meta:
        model = Boat
        fields = ()
        order_by = ("name",)

    def chance(self, value: float) -> str:
        words = wording.one_in(value)
        return format_html("{} <small>{}</small>", words, wording.percent(value))


class BoatTable(BoatColumns):
    """Every boat: may it sail, when was it last seen, how likely is something unseen."""

    state = tables.Column(
        empty_values=(),
        accessor="held",
        verbose_name="State",
        order_by=("-held", *SOONEST),
    )
    last_on = tables.Column(
        verbose_name="Last inspected", order_by=("last_on", "pk"), default="never"
    )
    chance_now = tables.Column(
        accessor="outlook__chance_now",
        verbose_name="Condemned, unseen",
        attrs=NUM,
        order_by=("outlook__chance_now", "pk"),
        default="no outlook yet",
    )
    inspect_by = tables.Column(
        accessor="inspect_by__date",
        verbose_name="Inspect by",
        order_by=SOONEST,
        default="no date yet",
    )
    jobs = tables.Column(
        verbose_name="To renew", attrs=NUM, order_by=("jobs", "pk"), default="none"
    )

    class Meta(BoatColumns.Meta):
        sequence = ("name", "base", "state", "last_on", "chance_now", "inspect_by", "jobs")
        empty_text = "No boat answers to that. Import your fleet, or widen the filter."

    def render_state(self, record) -> str:
        unsigned = record.stepped_on and not record.signed_on
        more = format_html(" <small>{}</small>", MISSING) if unsigned else ""
        if not record.held:
            return format_html('<span><span class="muted">{}</span>{}</span>', "not held", more)
        return format_html(
            '<span><span class="held">Held</span> {}{}</span>', record.held_why, more
        )

    def render_last_on(self, value, record) -> str:
        level = Inspection.Level(record.last_level).label
        return format_html("{} <small>{}</small>", wording.day(value), level)

    def render_chance_now(self, value) -> str:
        return self.chance(value)

    def render_inspect_by(self, value) -> str:
        return wording.day(value)


class OutlookTable(BoatColumns):
    """Which boat to look at first, and what each look would do."""

    inspect_by = tables.Column(
        accessor="inspect_by__date",
        verbose_name="Inspect by",
        attrs=ACROSS,
        order_by=SOONEST,
        default="no date yet",
    )
    level = tables.Column(
        accessor="inspect_by__level",
        verbose_name="How",
        order_by=("inspect_by__level", *SOONEST),
        default="",
    )
    chance_now = tables.Column(
        accessor="outlook__chance_now",
        verbose_name="Condemned, unseen, today",
        attrs=NUM,
        order_by=("outlook__chance_now", "pk"),
    )
    after = tables.Column(
        accessor="outlook__after_level",
        verbose_name="After that look",
        attrs=NUM,
        orderable=False,
    )
    chance_1y = tables.Column(
        accessor="outlook__chance_1y",
        verbose_name="Within a year",
        attrs=NUM,
        order_by=("outlook__chance_1y", "pk"),
    )
    chance_failing = tables.Column(
        accessor="outlook__chance_failing",
        verbose_name="Fails in service, a season",
        attrs=NUM,
        order_by=("outlook__chance_failing", "pk"),
    )

    class Meta(BoatColumns.Meta):
        sequence = ("name", "base", "inspect_by", "level", "chance_now", "after")
        order_by = ("inspect_by",)
        empty_text = "No outlook yet: it is made when the fleet has boats and parts."

    def render_inspect_by(self, value, record) -> str:
        return format_html("{} <small>{}</small>", wording.day(value), record.inspect_by.reason)

    def render_after(self, value, record) -> str:
        after = value.get(record.inspect_by.level) if hasattr(record, "inspect_by") else None
        return self.chance(after) if after is not None else ""

    def render_chance_now(self, value) -> str:
        return self.chance(value)

    render_chance_1y = render_chance_failing = render_chance_now


class RefitTable(tables.Table):
    """The coming off season's work, boat by boat."""

    folds = True
    boat = tables.Column(
        linkify={"viewname": "boat", "args": [tables.A("boat__fleet__slug"), tables.A("boat_id")]},
        order_by=("boat__name", *MUST_FIRST),
    )
    base = tables.Column(
        accessor="boat__base__name",
        verbose_name="Base",
        order_by=("boat__base__name", "boat__name", *MUST_FIRST),
    )
    part = tables.Column(
        accessor="installation", verbose_name="Part", empty_values=(), orderable=False
    )
    reason = tables.Column(orderable=False)
    hours = tables.Column(attrs=NUM, order_by=("hours", "pk"))
    cost_minor = tables.Column(verbose_name="Cost", attrs=NUM, order_by=("cost_minor", "pk"))
    put_off_minor = tables.Column(
        verbose_name="Putting it off a season costs", attrs=NUM, order_by=("put_off_minor", "pk")
    )

    class Meta:
        model = RefitJob
        fields = ()
        order_by = ("base",)
        sequence = ("boat", "base", "part", "reason", "hours", "cost_minor", "put_off_minor")
        empty_text = "Nothing has to be renewed in the coming off season."

    def render_part(self, record) -> str:
        if record.installation is None:
            return "Mast down and up again"
        part = record.installation
        orders = ", ".join(str(line.order) for line in getattr(part, "on_order", ()))
        said = f"{part.description}; on work order {orders}" if orders else part.description
        return format_html("{} <small>{}</small>", str(part), said)

    def render_reason(self, value, record) -> str:
        if record.must:
            return format_html('<span class="held">Cannot wait</span> {}', value)
        return value

    def render_hours(self, value) -> str:
        return f"{value:.1f}"

    def render_cost_minor(self, value, record) -> str:
        return wording.money(value, record.boat.fleet.currency)

    def render_put_off_minor(self, value, record) -> str:
        if record.must:
            return "boat stays held"
        return wording.money(value, record.boat.fleet.currency) if value else ""

"""The form on the dock: one page per level, each stay from the bottom up, exceptions only."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.http import QueryDict

from fleet.models import Boat, Installation, Stay
from fleet.templatetags.wording import day

from ..criteria import PLACES, Criteria, Sign
from ..judgement.history import NOT_SEEN, facts_of, name_of
from ..judgement.standing_verdicts import of_parts
from ..models import SKIPPED, Inspection, PartVerdict, VerdictValue
from ..recording import Look, Sight
from ..verdicts import SPOT_WORDS, reach
from .form_photos import SentPhotos
from .forms import DayInput
from .prefill import Prefill
from .spot_forms import FurtherForm, SpotForm, signs_at

FURTHER_ROWS = 4
# From the deck up: water collects at the bottom, and most go there first.
BOTTOM_UP = ("chainplate", "turnbuckle", "wire")
OPEN = (VerdictValue.WATCH, VerdictValue.REFER, VerdictValue.MAKE_GOOD, VerdictValue.NOT_ASSESSED)


class LookForm(forms.Form):
    """Who looked, when and how. The person signs."""

    on = forms.DateField(label="Date", widget=DayInput())
    person = forms.CharField(label="Who looked", max_length=120)
    competence = forms.ChoiceField(
        label="Competence", choices=Inspection.Competence.choices, initial="crew"
    )
    method = forms.ChoiceField(label="Method", choices=Inspection.Method.choices)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 2}))
    signed = forms.BooleanField(
        label="I looked at what this record says was seen",
        error_messages={"required": "Sign it: the person who looked answers for what was seen."},
    )

    def clean_note(self) -> str:
        """Return its lines as they were typed, and not as a form sends them."""
        return self.cleaned_data["note"].replace("\r\n", "\n")


class SkipForm(forms.Form):
    """A stay nobody looked at, so that nothing on it counts as seen."""

    skipped = forms.BooleanField(label="This one was not looked at", required=False)


@dataclass
class SpotEntry:
    """One spot of one part, with its form."""

    part: Installation
    spot: str
    form: SpotForm

    @property
    def label(self) -> str:
        """Return ``Lower end, swaged`` or ``Turnbuckle``."""
        if self.part.kind != Installation.Kind.WIRE:
            return self.part.get_kind_display().capitalize()
        ends = {
            "lower": self.part.get_lower_terminal_display(),
            "upper": self.part.get_upper_terminal_display(),
        }
        words = [Installation.Spot(self.spot).label.capitalize(), ends.get(self.spot, "")]
        return ", ".join(filter(None, words))


@dataclass
class StayEntry:
    """One stay with what can be seen of it at this level, from the bottom up."""

    stay: Stay
    skip: SkipForm
    spots: list[SpotEntry] = field(default_factory=list)
    condemned: list[Installation] = field(default_factory=list)
    last: list[PartVerdict] = field(default_factory=list)

    @property
    def has_errors(self) -> bool:
        return any(entry.form.errors for entry in self.spots)

    @property
    def is_filled(self) -> bool:
        """Whether something is said of it already: recorded before, or sent and shown again."""
        found = any(entry.form["sign"].value() for entry in self.spots)
        return found or bool(self.skip["skipped"].value())


class DockForm:
    """Everything one inspection of one boat asks, bound to a POST or not.

    ``day`` is the fleet's today; ``level`` decides which spots are asked about. ``given``: what an
    inspection on record says, where that is corrected. ``photos``: those that came along; None
    where the form takes none.
    """

    def __init__(
        self,
        boat: Boat,
        level: str,
        criteria: Criteria,
        day: dt.date,
        person: str = "",
        data: QueryDict | None = None,
        given: Prefill | None = None,
        photos: SentPhotos | None = None,
    ) -> None:
        self.level, self.criteria, self.data, self.given = level, criteria, data, given
        self.photos = photos
        self.look = LookForm(data, initial=given.look if given else {"on": day, "person": person})
        self.stays = list(self._stays(boat))
        places = self._places()
        self.further = [
            FurtherForm(data, places=places, initial=initial, **self._of_spot(f"more{number}"))
            for number, initial in enumerate(self._further_rows())
        ]
        self.faults: list[str] = []

    def _of_spot(self, prefix: str) -> dict[str, Any]:
        photos = None if self.photos is None else self.photos.at(prefix)
        return {"prefix": prefix, "criteria": self.criteria, "photos": photos}

    def _further_rows(self) -> list[dict]:
        rows = self.given.further if self.given else []
        return rows + [{}] * max(FURTHER_ROWS - len(rows), 2)

    def _parts(self, boat: Boat) -> Iterable[Installation]:
        if self.given:
            return self.given.parts
        return Installation.objects.standing().filter(stay__boat=boat).select_related("stay")

    def _stays(self, boat: Boat) -> Iterator[StayEntry]:
        parts = self._parts(boat)
        by_stay = defaultdict(list)
        for part in parts:
            by_stay[part.stay].append(part)
        verdicts = of_parts([part.pk for part in parts])
        order = list(Stay.Name)
        for stay in sorted(by_stay, key=lambda stay: (stay.mast, order.index(stay.name), stay.pk)):
            left_out = {"skipped": bool(self.given) and stay.pk in self.given.skipped}
            entry = StayEntry(stay, SkipForm(self.data, prefix=f"stay{stay.pk}", initial=left_out))
            for part in sorted(by_stay[stay], key=lambda part: BOTTOM_UP.index(part.kind)):
                self._add(entry, part)
                if part.pk in verdicts and verdicts[part.pk].value in OPEN:
                    entry.last.append(verdicts[part.pk])
            if entry.spots or entry.condemned:
                yield entry

    def _add(self, entry: StayEntry, part: Installation) -> None:
        if part.condemned_on and not (self.given and part.condemned_on >= self.given.look["on"]):
            entry.condemned.append(part)
            return
        facts = facts_of(part)
        within = reach(self.level, part.kind, part.stay.in_foil)
        for spot in facts.spots:
            if spot in within:
                signs = signs_at(facts, spot, self.criteria)
                prefix = f"part{part.pk}-{spot}"
                initial = self.given.spots.get((part.pk, spot)) if self.given else None
                form = SpotForm(self.data, signs=signs, initial=initial, **self._of_spot(prefix))
                entry.spots.append(SpotEntry(part, spot, form))

    def _places(self) -> list[tuple[str, list[tuple[str, str]]]]:
        boat = [(f"place:{name}", name.replace("_", " ")) for name in PLACES]
        spots = [
            (
                f"part:{each.part.pk}:{each.part.kind}:{each.spot}",
                f"{stay.stay.label}: {each.label}",
            )
            for stay in self.stays
            for each in stay.spots
        ]
        beyond = [
            (f"part:{part.pk}:{part.kind}:{spot}", f"{name_of(part)}: {SPOT_WORDS[spot]}")
            for part, spot in (dict.fromkeys(self.given.further_spots) if self.given else ())
        ]
        return [("The boat", boat), ("A second sign at", spots), ("Beyond this level", beyond)]

    def signs(self) -> list[Sign]:
        """Return every sign that this page asks about, once, for its "what to look for"."""
        facts = {(facts_of(e.part), e.spot) for stay in self.stays for e in stay.spots}
        codes = {sign.code for each, spot in facts for sign in signs_at(each, spot, self.criteria)}
        return [sign for sign in self.criteria.signs if sign.code in codes or sign.places]

    def is_valid(self) -> bool:
        """Check everything and keep every fault, so that all are shown at once."""
        entries = [entry for stay in self.stays for entry in stay.spots]
        all_forms = [self.look, *(stay.skip for stay in self.stays), *self.further]
        good = [form.is_valid() for form in [*all_forms, *(entry.form for entry in entries)]]
        if all(good):
            self.faults = [*self._contradictions(), *self._twice(), *self._too_new()]
        return all(good) and not self.faults

    def to_mend(self) -> list[str]:
        """Return where a fault stands that is told beside its fields, further down the page."""
        stays = [stay.stay.label for stay in self.stays if stay.has_errors]
        return stays + ["Anything else"] * any(form.errors for form in self.further)

    def _contradictions(self) -> list[str]:
        return [
            f"{stay.stay.label} is marked as not looked at, and something was found on it."
            for stay in self.stays
            if stay.skip.cleaned_data["skipped"] and any(e.form.found() for e in stay.spots)
        ]

    def _twice(self) -> list[str]:
        seen, faults = set(), []
        for sight in self.sights():
            key = (sight.installation_id, sight.place, sight.sign, sight.side)
            if key in seen and sight.sign != NOT_SEEN:
                label = self.criteria.sign(sight.sign).label
                faults.append(f"“{label}” is given twice at the same place: give it once.")
            seen.add(key)
        return faults

    def _too_new(self) -> list[str]:
        on, parts = self.look.cleaned_data["on"], {s.installation_id for s in self.sights()}
        return [
            f"{stay.stay.label}: the part there now was fitted on {day(e.part.fitted_on)}, "
            "after the day of this inspection. Correct the date, or leave it blank here."
            for stay in self.stays
            for e in stay.spots
            if e.part.pk in parts and e.part.fitted_certainty == "day" and e.part.fitted_on > on
        ]

    def inspection(self) -> Look:
        """Return who looked, for ``recording.record``."""
        given = self.look.cleaned_data
        facts = {name: given[name] for name in ("on", "person", "competence", "method", "note")}
        return Look(level=self.level, **facts)

    def photographed(self) -> dict[str, tuple]:
        """Return prefix -> (part, place, sign, side) of every finding with photos."""
        spots = {each.form.prefix: each for stay in self.stays for each in stay.spots}
        found = {
            prefix: Sight(place=each.spot, installation_id=each.part.pk, **each.form.found())
            for prefix, each in spots.items()
            if each.form.photos and each.form.photos.kept
        }
        further = [form for form in self.further if form.photos and form.photos.kept]
        found |= {form.prefix: _further(form) for form in further}
        return {
            prefix: (each.installation_id, each.place, each.sign, each.side)
            for prefix, each in found.items()
        }

    def sights(self) -> list[Sight]:
        """Return what was found and what was not seen, for ``recording.record``."""
        found = []
        for stay in self.stays:
            if stay.skip.cleaned_data["skipped"]:
                parts = {entry.part.pk for entry in stay.spots}
                found += [Sight(NOT_SEEN, "whole", pk, note=SKIPPED) for pk in sorted(parts)]
            for entry in stay.spots:
                if facts := entry.form.found():
                    found.append(Sight(place=entry.spot, installation_id=entry.part.pk, **facts))
        found += [sight for form in self.further if (sight := _further(form))]
        return found + (self.given.kept if self.given else [])


def _further(form: FurtherForm) -> Sight | None:
    facts, where = form.found(), form.cleaned_data["where"].split(":")
    if facts is None:
        return None
    if where[0] == "part":
        return Sight(place=where[3], installation_id=int(where[1]), **facts)
    return Sight(place=where[1], side=form.cleaned_data["side"], **facts)

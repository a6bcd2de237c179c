"""The demonstration's people at work: short verbs over those the pages use."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.core.files.base import ContentFile

from fleet.models import Boat, Fleet, Installation, Spare
from fleet.templatetags.wording import day
from inspections.aftermath import advice, stepping
from inspections.aftermath.happenings import Event, record_event
from inspections.dock.kit import boat_in_kit
from inspections.dock.kit_reads import boat_records
from inspections.dock.sending import Reply, receive
from inspections.entry import hand_in
from inspections.followups import Report, Stepping
from inspections.models import Finding, Inspection
from inspections.photos import keeping
from inspections.recording import SAME_AGAIN, Look, Sight, record

from . import pdf

RIGGER, CREW = Inspection.Competence.RIGGER, Inspection.Competence.CREW
ALL_CHECKED = [code for code, _ in stepping.CHECKS]


@dataclass(frozen=True)
class Teller:
    """One fleet, the people who sign in to it by user name, and what they put on record."""

    fleet: Fleet
    people: dict[str, Any] = field(repr=False)

    def boat(self, name: str) -> Boat:
        return Boat.objects.of(self.fleet).select_related("fleet", "base__ground").get(name=name)

    def part(self, boat: str, label: str, kind: str = "wire") -> Installation:
        """Return the part that is up at a place, named as on screen."""
        rows = Installation.objects.of(self.fleet).standing().select_related("stay__boat__fleet")
        [part] = [p for p in rows.filter(stay__boat__name=boat, kind=kind) if p.stay.label == label]
        return part

    def day(self, month: int, number: int) -> dt.date:
        return dt.date(self.fleet.as_of.year, month, number)

    def number(self, *told: object) -> uuid.UUID:
        """Return the number a phone would have made up; the same each time the story is told."""
        name = "/".join(str(each) for each in (self.fleet.slug, *told))
        return uuid.uuid5(uuid.NAMESPACE_URL, f"https://example.org/{name}")

    def event(self, by: str, boat: str, sign: str, on: dt.date, line: str, person: str) -> None:
        said = Event(sign, on, line, person)
        record_event(self.fleet, self.boat(boat), said, self.people[by])

    def look(self, by: str, boat: str, look: Look, *sights: Sight) -> Inspection:
        return record(self.fleet, self.boat(boat), look, sights, self.people[by])

    def hand_in(self, by: str, boat: str, on: dt.date, note: str, miles: bool = False) -> None:
        """Hand a boat in, with the miles its season has on record if these are said."""
        row = self.boat(boat)
        use = row.seasons.get(year=on.year)
        blank = hand_in.LineForm(row, use)
        said = {blank.add_prefix("note"): note}
        said |= {blank.add_prefix("miles"): str(use.miles)} if miles else {}
        line = hand_in.LineForm(row, use, said)
        if not line.is_valid():
            raise ValueError(line.errors.as_text())
        hand_in.save([line], on, self.people[by])

    def spare(self, like: Installation, base: str, place: str, on: dt.date, **said) -> Spare:
        """Put a part in store like one of a boat, but for what is said."""
        facts = {name: getattr(like, name) for name in SAME_AGAIN} | {"kind": like.kind} | said
        where = self.fleet.bases.get(name=base)
        spare = Spare(base=where, place=place, stored_on=on, by=self.people["oskar"], **facts)
        spare.full_clean()
        spare.save()
        return spare

    def stepped(self, boat: str, on: dt.date, person: str, tune: str) -> Stepping:
        oskar = self.people["oskar"]
        return stepping.step(self.boat(boat), on, person, ALL_CHECKED, tune, oskar)

    def report(
        self, boat: str, on: dt.date, author: str, competence: str, lines: Sequence[str]
    ) -> Report:
        """Attach a report of one page that says these lines."""
        title = f"{'Rig survey' if competence == 'surveyor' else 'Rig report'}: {boat}"
        foot = ["", f"{author}, {competence}, {day(on)}", "",
                "Written for a demonstration. Boat and people are invented."]  # fmt: skip
        name = f"{title.split(':')[0]} {boat} {on}.pdf".lower().replace(" ", "-")
        file = ContentFile(pdf.page(title, [*lines, *foot]), name)
        facts = {"on": on, "author": author, "competence": competence}
        return advice.attach(self.boat(boat), file, user=self.people["oskar"], **facts)

    def photo(self, jpeg: bytes, on: dt.date, *told: object) -> uuid.UUID:
        """Take a picture in as from a phone; return its number."""
        number = self.number("photo", on, *told)
        keeping.keep(self.fleet, self.people["oskar"], number, jpeg, on)
        return number

    def photo_of(self, finding: Finding, jpeg: bytes) -> None:
        """Take in a picture of something found, as if it had come with its inspection."""
        look = finding.inspection
        number = self.photo(jpeg, look.on, finding.pk)
        look.boat.fleet.photos.filter(pk=number).update(finding=finding, inspection=look)

    def found(self, boat: str, on: dt.date, sign: str, label: str = "") -> Finding:
        rows = Finding.objects.filter(inspection__boat=self.boat(boat), inspection__on=on)
        rows = rows.filter(sign=sign).select_related("inspection__boat", "installation__stay")
        [row] = [r for r in rows if not label or r.installation.stay.label == label]
        return row

    def kit(self, boat: str) -> dict[str, Any]:
        [kept] = boat_records([self.boat(boat).pk])
        return boat_in_kit(kept)

    def send(self, by: str, kit: dict[str, Any], on: dt.date, **said) -> Reply:
        """Send a deck check from a phone that wrote it from this kit: all seen, but what is said.

        ``said`` is of the draft (sights, note).
        """
        user = self.people[by]
        began = dt.datetime.combine(on, dt.time(8, 10), dt.UTC)
        named = {(each["part"], each["place"]) for each in said.get("sights", ())}
        draft = {
            "id": str(self.number("draft", kit["name"], on)),
            "boat": kit["id"],
            "record": kit["record"],
            "level": Inspection.Level.DECK,
            "turn_round": False,
            "on": on.isoformat(),
            "person": user.get_full_name(),
            "competence": CREW,
            "method": Inspection.Method.EYE,
            "note": "",
            "begun_at": began.isoformat(),
            "signed_at": (began + dt.timedelta(minutes=14)).isoformat(),
            "seen": [spot for spot in kit["levels"]["deck"] if tuple(spot) not in named],
            "sights": [],
            "not_seen": [],
            "answers": {},
        }
        return receive(self.fleet, user, draft | said, began + dt.timedelta(minutes=22))

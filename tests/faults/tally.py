"""What came of it: every reminder delivered, none twice beyond the one window."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from email.message import EmailMessage

from tests.faults.kills import WINDOW
from tests.production import Production

ROWS = """SELECT r.state, r.message_id, r.to_email, b.name, r.kind
    FROM inspections_reminder r JOIN fleet_boat b ON b.id = r.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id WHERE f.slug LIKE %s"""
WORDS = {"deck": "deck check", "aloft": "inspection aloft", "mast_down": "mast-down inspection"}


@dataclass(frozen=True)
class Tally:
    """Counts of one run. ``copies``: acceptances of a Message-ID beyond its first."""

    reminders: int
    states: Counter
    messages: int
    people: int
    copies: int
    undelivered: tuple[str, ...]
    of_others: int

    def faults(self, kills: Counter) -> list[str]:
        """Return in words what must not be; empty when all held."""
        window = sum(number for kind, number in kills.items() if kind in WINDOW)
        found = [f"not delivered: {each}" for each in self.undelivered[:5]]
        if set(self.states) != {"sent"}:
            found.append(f"states are {dict(self.states)}")
        if self.messages != self.people:
            found.append(f"{self.messages} different messages for {self.people} people")
        if self.copies > window:
            found.append(f"{self.copies} copies, and {window} kills in the window")
        if self.of_others:
            found.append(f"{self.of_others} accepted messages have no reminder of theirs")
        return found


def tally(site: Production, slug: str) -> Tally:
    """Compare what the mail server accepted with what the database says."""
    rows = site.sql(ROWS, f"{slug}-%")
    people = {email for _, _, email, _, _ in rows}
    theirs = [m for m in site.sink.messages if address(m) in people]
    accepted = Counter(message["Message-ID"] for message in theirs)
    texts = defaultdict(str)
    for message in theirs:
        texts[message["Message-ID"]] += message.get_body(("plain",)).get_content()
    said = {(identity, boat, kind) for _, identity, _, boat, kind in rows
            if f"{boat}: {WORDS[kind]} " in texts.get(identity, "")}  # fmt: skip
    missing = [f"{boat} {kind} to {email}" for _, identity, email, boat, kind in rows
               if (identity, boat, kind) not in said]  # fmt: skip
    known = {identity for _, identity, _, _, _ in rows}
    return Tally(
        reminders=len(rows),
        states=Counter(state for state, *_ in rows),
        messages=len(accepted),
        people=len(people),
        copies=sum(accepted.values()) - len(accepted),
        undelivered=tuple(missing),
        of_others=sum(identity not in known for identity in accepted),
    )


def address(message: EmailMessage) -> str:
    return message["To"].addresses[0].addr_spec

"""Parts with the days they go, looks at them, and what was noted: the facts behind the sheets."""

from dataclasses import dataclass, field

from .designs import Stay


@dataclass(eq=False)
class Part:
    """One part in one place. Days are ordinals; ``goes``: spot -> day it becomes condemnable.

    ``begins``: spot of a wire -> day its defect begins. ``watched``: spot -> the sign noted there.
    ``breaks``: the day it lets go if nobody condemns it before, with the spot. ``ended_at``: the
    spot it was condemned or failed at. ``noted``: (sign, spot) pairs found before.
    ``condemning``: the findings that condemned it, there to be seen again while it stands.
    ``fresh``: False for a wire that got a new lower end: no new wire.
    """

    stay: Stay
    kind: str
    fitted: int
    construction: str
    alloy: str
    mm: float | None
    length_mm: int | None
    lower: str
    upper: str
    pin_mm: float | None
    invoice: str
    batch: str
    fitter: str
    goes: dict[str, float] = field(default_factory=dict)
    begins: dict[str, float] = field(default_factory=dict)
    watched: "dict[str, Noted]" = field(default_factory=dict)
    breaks: tuple[float, str] = (float("inf"), "")
    flawed: bool = False
    fresh: bool = True
    condemned: int | None = None
    removed: int | None = None
    reason: str = ""
    ended_at: str = ""
    noted: set[tuple[str, str]] = field(default_factory=set)
    condemning: "list[Noted]" = field(default_factory=list)

    @property
    def place(self) -> tuple[tuple[str, str, str], str]:
        return self.stay.key, self.kind

    def gone(self, day: float) -> list[str]:
        """Spots that are condemnable by that day, the first to go first."""
        return sorted((s for s in self.goes if self.goes[s] <= day), key=self.goes.__getitem__)

    def remove(self, day: int, reason: str, spot: str = "") -> None:
        self.removed, self.reason, self.ended_at = day, reason, spot or self.ended_at


@dataclass(frozen=True)
class Visit:
    """One look to come: planned, a recheck of some stays, after an event, or in the yard."""

    level: str
    person: str
    competence: str
    method: str
    why: str = "planned"
    only: frozenset[tuple[str, str, str]] | None = None
    note: str = ""


@dataclass(frozen=True)
class Noted:
    """One row of the findings: a sign at a spot of a part, or at a place of the boat."""

    sign: str
    place: str
    part: Part | None = None
    measure: float | None = None
    cleaned: bool | None = None
    note: str = ""
    done: int | None = None
    done_by: str = ""


@dataclass(frozen=True)
class Look:
    """A look as it took place, with what was noted. ``only``: stays looked at; None: all."""

    day: int
    visit: Visit
    only: frozenset[tuple[str, str, str]] | None
    noted: tuple[Noted, ...]

    @property
    def missed(self) -> bool:
        """Whether anything within reach was left unseen."""
        return self.only is not None or any(row.sign == "not_seen" for row in self.noted)


REACH = {
    "deck": {"wire": ("lower",), "turnbuckle": ("whole",), "chainplate": ()},
    "aloft": {"wire": ("lower", "run", "upper"), "turnbuckle": ("whole",), "chainplate": ()},
    "mast_down": {
        "wire": ("lower", "run", "upper"),
        "turnbuckle": ("whole",),
        "chainplate": ("whole",),
    },
}


def reach(level: str, part: Part) -> tuple[str, ...]:
    """Spots of the part that a look of this level reaches."""
    if level == "aloft" and part.kind == "wire" and part.stay.in_foil:
        return ("lower",)
    return REACH[level][part.kind]

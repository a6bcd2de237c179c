"""A fleet's criteria: every sign by its code, with the fleet's own limits and a fingerprint."""

import datetime as dt
import difflib
import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, fields, replace
from functools import cached_property
from typing import Any

from inspections.criteria import boat, fittings, terminals, wires
from inspections.criteria.sign import RANK, Measure, Sign

STANDING = (
    "These limits are the fleet's own rule, not the law. Insurers, flag state, class rules and the "
    "maker of the part come first."
)

# Fields of a sign that a reader sees and no verdict depends on.
_WORDING = frozenset(("where", "label", "look", "action", "source"))


class UnknownSign(ValueError):
    """A sign code that is in no criteria; the message names the nearest codes."""


@dataclass(frozen=True)
class Criteria(Mapping[str, Sign]):
    """Signs by code; a value, never changed in place.

    `since` and `reason` say from when and why a fleet's own limits hold; they, and the wording of
    the signs, are no part of the fingerprint `version`: the same rules carry the same one.
    `missed_limit`: at so many comprehensive inspections running a spot within their reach may not
    go unseen.
    """

    signs: tuple[Sign, ...]
    since: dt.date | None = None
    reason: str = ""
    missed_limit: int = 2

    def __post_init__(self) -> None:
        if len(self._by_code) != len(self.signs):
            raise ValueError("Two signs of the criteria carry the same code.")

    @cached_property
    def _by_code(self) -> dict[str, Sign]:
        return {sign.code: sign for sign in self.signs}

    def __getitem__(self, code: str) -> Sign:
        return self._by_code[code]

    def __iter__(self) -> Iterator[str]:
        return iter(self._by_code)

    def __len__(self) -> int:
        return len(self.signs)

    def sign(self, code: str) -> Sign:
        """The sign of that code; UnknownSign with a sentence naming the nearest otherwise."""
        if code in self:
            return self[code]
        near = difflib.get_close_matches(code, self, n=3, cutoff=0.4)
        hint = f"; did you mean {' or '.join(near)}?" if near else "."
        raise UnknownSign(f"There is no sign called '{code}' in the criteria{hint}")

    def for_part(
        self,
        kind: str,
        construction: str = "",
        terminals: Iterable[str] = (),
        spot: str = "",
    ) -> tuple[Sign, ...]:
        """The signs to look for on such a part, at one spot or at all, in the order of the book.

        What is not on record (blank construction, blank or other terminal) rules nothing out.
        """
        fitted = tuple(terminals)
        return tuple(
            sign
            for sign in self.signs
            if kind in sign.kinds
            and sign.fits_construction(construction)
            and sign.fits_terminals(fitted)
            and not (spot and sign.spots and spot not in sign.spots)
        )

    def for_place(self, place: str) -> tuple[Sign, ...]:
        """The signs to look for at a place of the boat that is no part (see `PLACES`)."""
        return tuple(sign for sign in self.signs if place in sign.places)

    def assesses(self, kind: str, construction: str = "") -> bool:
        """Whether there are criteria enough to call such a part good.

        A turnbuckle or chainplate: any sign for it. A wire: the essential sign of its construction,
        with its limit set; so 7x7 is not assessed until the fleet sets one.
        """
        if kind != "wire":
            return any(kind in sign.kinds for sign in self.signs)
        return any(
            sign.essential and construction in sign.constructions and sign.has_limit
            for sign in self.signs
        )

    def changed(
        self,
        code: str,
        *,
        limit: float | None = None,
        again_days: int | None = None,
        outcome: str | None = None,
        since: dt.date | None = None,
        reason: str = "",
    ) -> "Criteria":
        """New criteria with the fleet's own limit, interval or stricter verdict for one sign.

        ValueError: unknown sign, a limit for a sign that has none or not above 0, an outcome milder
        than the sign has in `DEFAULT` (a fleet may be stricter, never kinder, than the book; what
        it made stricter it may take back).
        """
        sign = self.sign(code)
        book = DEFAULT.get(code, sign)
        new = _with(sign, book.outcome, limit, again_days, outcome)
        why = f" ({reason})" if reason else ""
        dated = f" since {since}" if since else ""
        new = replace(new, source=f"the fleet's own rule{dated}{why}; before: {book.source}")
        return replace(
            self,
            signs=tuple(new if each is sign else each for each in self.signs),
            since=since or self.since,
            reason=reason or self.reason,
        )

    def completed_by(self, other: "Criteria") -> "Criteria":
        """These criteria with the signs of `other` they lack: stored ones after a new release."""
        missing = tuple(sign for sign in other.signs if sign.code not in self)
        return replace(self, signs=self.signs + missing) if missing else self

    @cached_property
    def version(self) -> str:
        """Fingerprint of the rules: 16 hex digits of SHA-256 over what decides a verdict."""
        rules = [self.missed_limit, [_deciding(sign) for sign in self.signs]]
        text = json.dumps(rules, sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def to_dict(self) -> dict[str, Any]:
        """Everything as plain JSON values, so that old verdicts can be read with their rules."""
        return {
            "version": self.version,
            "since": self.since.isoformat() if self.since else None,
            "reason": self.reason,
            "missed_limit": self.missed_limit,
            "signs": [_plain(sign) for sign in self.signs],
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "Criteria":
        """What `to_dict` wrote. ValueError when the rules no longer match their fingerprint."""
        criteria = cls(
            signs=tuple(_sign(each) for each in stored["signs"]),
            since=dt.date.fromisoformat(stored["since"]) if stored["since"] else None,
            reason=stored["reason"],
            missed_limit=stored["missed_limit"],
        )
        if criteria.version != stored["version"]:
            raise ValueError(
                f"The stored criteria say version {stored['version']}, but their rules are "
                f"{criteria.version}: they were altered, or written by another release."
            )
        return criteria


def _deciding(sign: Sign) -> dict[str, Any]:
    """What of a sign decides a verdict. Defaults are left out, so that a field a later release
    adds does not change the fingerprint of criteria stored before it."""
    usual = {each.name: each.default for each in fields(Sign)}
    stated = {name for name in usual if getattr(sign, name) != usual[name]}
    return {name: v for name, v in _plain(sign).items() if name in stated - _WORDING}


def _plain(sign: Sign) -> dict[str, Any]:
    values = asdict(sign)
    return {name: list(v) if isinstance(v, tuple) else v for name, v in values.items()}


def _sign(stored: Mapping[str, Any]) -> Sign:
    values = {name: tuple(v) if isinstance(v, list) else v for name, v in stored.items()}
    if values["measure"] is not None:
        values["measure"] = Measure(**values["measure"])
    return Sign(**values)


def _with(
    sign: Sign, least: str, limit: float | None, again_days: int | None, outcome: str | None
) -> Sign:
    if limit is not None:
        if sign.rule != "measured":
            raise ValueError(f"'{sign.label}' is not judged by a measure: it has no limit to set.")
        sign = replace(sign, measure=replace(sign.measure, limit=limit))
    if again_days is not None:
        sign = replace(sign, again_days=again_days)
    if outcome is not None:
        if RANK.get(outcome, -1) < RANK[least]:
            raise ValueError(
                f"'{sign.label}' means {least}; a fleet may be stricter, not milder: "
                f"'{outcome}' is refused."
            )
        sign = replace(sign, outcome=outcome)
    return sign


DEFAULT = Criteria(signs=(*terminals.SIGNS, *wires.SIGNS, *fittings.SIGNS, *boat.SIGNS))

"""Versions of an inspection in words: what each said, and what the next one changed of it."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .criteria import RANK
from .models import Inspection, InspectionVersion, VerdictValue
from .verdicts.reading import amount, day

LEVELS = dict(Inspection.Level.choices)
FACTS = {"on": "Date", "level": "Level", "person": "Who looked", "competence": "Competence",
         "method": "Method", "turn_round": "Turn-round check", "note": "Note"}  # fmt: skip


def fact(name: str, value: Any) -> str:
    """Return one fact of a look as people write it."""
    if value in ("", None):
        return "nothing"
    if name == "on":
        return day(dt.date.fromisoformat(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(LEVELS.get(value, value)) if name == "level" else str(value)


def finding_words(finding: Mapping[str, Any]) -> str:
    """Return one finding in a line: what, how much, whether it came away, and the note."""
    words = [finding["label"]]
    if finding["measure"] is not None:
        words.append(amount(finding["measure"], finding["unit"]))
    if finding["cleaned"] is not None:
        words.append("came away" if finding["cleaned"] else "stayed")
    note = f" ({finding['note']})" if finding["note"] else ""
    return ", ".join(words) + note


def verdict_word(value: str) -> str:
    return str(VerdictValue(value).label)


def worst_first(data: Mapping[str, Any]) -> list[dict[str, Any]]:
    return sorted(data["verdicts"], key=lambda each: -RANK[each["value"]])


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Return in sentences what one version has otherwise than the one before it."""
    told = [*_facts(before, after), *_findings(before, after), *_photos(before, after)]
    return told + _verdicts(before, after)


def _facts(before: Mapping, after: Mapping) -> list[str]:
    was, now = before["look"], after["look"]
    return [
        _ended(f"{label}: {fact(name, was[name])} → {fact(name, now[name])}")
        for name, label in FACTS.items()
        if was[name] != now[name]
    ]


def _ended(words: str) -> str:
    return words if words.endswith((".", "!", "?")) else f"{words}."


def _findings(before: Mapping, after: Mapping) -> list[str]:
    was, now = (
        {(each["where"], each["sign"]): each for each in side["findings"]}
        for side in (before, after)
    )
    told = [f"{key[0]}: {finding_words(was[key])}: taken out." for key in was if key not in now]
    told += [f"{key[0]}: {finding_words(now[key])}: put in." for key in now if key not in was]
    for key in was:
        if key in now and finding_words(was[key]) != finding_words(now[key]):
            words = f"{key[0]}: {finding_words(was[key])} → {finding_words(now[key])}"
            told.append(_ended(words))
    return told


def _photos(before: Mapping, after: Mapping) -> list[str]:
    """Return what was photographed since, of the findings that both have."""
    was = {
        (each["where"], each["sign"]): set(each.get("photos", ())) for each in before["findings"]
    }
    told = []
    for each in after["findings"]:
        new = set(each.get("photos", ())) - was.get((each["where"], each["sign"]), set())
        if new and (each["where"], each["sign"]) in was:
            number = "a photo" if len(new) == 1 else f"{len(new)} photos"
            told.append(f"{each['where']}: {each['label']}: {number} put in.")
    return told


def _verdicts(before: Mapping, after: Mapping) -> list[str]:
    was, now = (
        {each["part"]: each["value"] for each in side["verdicts"]} for side in (before, after)
    )
    return [
        f"Verdict on {part}: {_word(was.get(part))} → {_word(now.get(part))}."
        for part in dict.fromkeys([*was, *now])
        if was.get(part) != now.get(part)
    ]


def _word(value: str | None) -> str:
    return verdict_word(value) if value else "none"


@dataclass(frozen=True)
class Told:
    """One version as its page shows it. ``changes``: what the next one has otherwise."""

    row: InspectionVersion
    changes: list[str]
    facts: list[tuple[str, str]]
    verdicts: list[dict[str, Any]]
    findings: list[tuple[str, str, list[str]]]


def told(versions: Sequence[InspectionVersion], now: Mapping[str, Any] | None) -> list[Told]:
    """Return versions for their page, newest first as they come; ``now``: as it counts today."""
    after, shown = now, []
    for row in versions:
        data = row.data
        shown.append(
            Told(
                row,
                changes(data, after) if after else [],
                [(label, fact(name, data["look"][name])) for name, label in FACTS.items()],
                [each | {"word": verdict_word(each["value"])} for each in worst_first(data)],
                [(e["where"], finding_words(e), e["photos"]) for e in data["findings"]],
            )
        )
        after = data
    return shown

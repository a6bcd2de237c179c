"""The verdict on the phone is the server's: both judge the same findings, and say the same words.

What the server says is tested against the trade's table and outside sources elsewhere
(test_verdicts_table.py, test_verdicts_outside.py); here its twin in JavaScript is held to it.
"""

import datetime as dt
import json
import random
import threading
from collections.abc import Iterator
from dataclasses import asdict
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from itertools import product
from pathlib import Path

import pytest

from inspections.criteria import DEFAULT, SPOTS, Criteria, Sign
from inspections.verdicts import FindingFacts, PartFacts, judge
from inspections.verdicts.reading import amount
from tests.inspections import rigs
from tests.inspections.rigs import DAY

STATIC = Path(__file__).resolve().parents[2] / "fleet" / "static"
UNKNOWN = PartFacts("wire")
BARE_TURNBUCKLE = PartFacts("turnbuckle")
PARTS = [each for each in vars(rigs).values() if isinstance(each, PartFacts)]
PARTS += [
    UNKNOWN,
    BARE_TURNBUCKLE,
    PartFacts("wire", "compacted", "other", "swaged", diameter_mm=12.7),
    PartFacts("wire", "galvanised", "eye", "eye", diameter_mm=10, pin_mm=19.05),
]
OWN = (
    DEFAULT.changed("notch", limit=0.05)
    .changed("broken_wires_7x7", limit=3)
    .changed("tea_stain", outcome="replace")
)
BOOKS = {"default": DEFAULT, "own": OWN}
RANDOM_CASES = 600

# As text both ways: the driver would walk through every value by itself.
JUDGE_ALL = """async (text) => {
  const { books, cases, numbers } = JSON.parse(text);
  const { Criteria, judge } = await import("/dock/verdicts.js");
  const { amount } = await import("/dock/numbers.js");
  const made = Object.fromEntries(
    Object.entries(books).map(([name, book]) => [name, new Criteria(book)]));
  return JSON.stringify({
    verdicts: cases.map(({ part, seen, findings, previous, book, on, missed }) =>
      judge(part, seen, findings, previous, made[book], on, missed)),
    amounts: numbers.map(([value, unit]) => amount(value, unit)),
  });
}"""


class Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_) -> None:
        """Leave the terminal to the tests."""


@pytest.fixture
def scripts() -> Iterator[str]:
    """The static files at an address of their own: the scripts need no more to judge."""
    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=STATIC)) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


def measures(part: PartFacts, sign: Sign) -> list[float | None]:
    """Not measured, and each side of the limit to a hair."""
    if sign.measure is None:
        return [None]
    limit = sign.measure.limit_in_units(part.reference_mm(sign.measure.of)) or 2
    return [None, 0.0, limit / 2, limit - 1e-7, limit, limit + 1e-7, limit * 1.5]


def pasts(sign: Sign, spot: str) -> list[list[FindingFacts]]:
    """Never seen before; seen and left; cleaned; counted; at another spot or a day unknown."""
    days = [DAY - dt.timedelta(days=each) for each in (10, 100, 400)]
    other = next((each for each in ("upper", "lower", "whole") if each != spot), spot)
    return [
        [],
        [FindingFacts(sign.code, spot, on=days[0])],
        [FindingFacts(sign.code, spot, 1.0, cleaned=True, on=days[1])],
        [FindingFacts(sign.code, spot, 4.0, on=days[1]), FindingFacts(sign.code, spot, on=days[2])],
        [FindingFacts(sign.code, other, on=days[1]), FindingFacts(sign.code, spot, 2.0)],
    ]


def every_line() -> Iterator[tuple]:
    """Each sign at each part and spot, with what its rule asks: more than the decision table."""
    for part, sign in product(PARTS, (each for each in DEFAULT.signs if each.kinds)):
        own = part.kind in sign.kinds and sign.rule != "plain"
        for spot in SPOTS[part.kind] if own else SPOTS[part.kind][:1]:
            asked = product(
                measures(part, sign) if own else [None],
                (None, True, False) if own and sign.rule == "remedy" else (None,),
                pasts(sign, spot) if own and sign.rule in ("remedy", "growth") else [[]],
            )
            for measure, cleaned, past in asked:
                found = FindingFacts(sign.code, spot, measure, cleaned)
                yield part, frozenset(SPOTS[part.kind]), [found], past, "default", {}


def at_random(dice: random.Random) -> tuple:
    """Any findings at any part, seen or not, with any past."""
    part = dice.choice(PARTS)
    spots = SPOTS[part.kind]
    signs = [each.code for each in DEFAULT.signs if each.kinds]

    def finding(on: dt.date | None) -> FindingFacts:
        measure = dice.choice([None, 0.0, round(dice.uniform(0, 30), dice.randint(0, 5))])
        cleaned = dice.choice([None, True, False])
        return FindingFacts(dice.choice(signs), dice.choice(spots), measure, cleaned, on)

    findings = [finding(None) for _ in range(dice.randint(0, 5))]
    earlier = [None, *(DAY - dt.timedelta(days=each) for each in (0, 3, 14, 15, 28, 29, 700))]
    past = [finding(dice.choice(earlier)) for _ in range(dice.randint(0, 6))]
    past += [FindingFacts(f.sign, f.spot, 1.0, f.cleaned, dice.choice(earlier)) for f in findings]
    seen = frozenset(each for each in spots if dice.random() < 0.7)
    missed = {each: dice.randint(0, 3) for each in spots if dice.random() < 0.5}
    return part, seen, findings, past, dice.choice(list(BOOKS)), missed


def by_server(case: tuple) -> dict:
    part, seen, findings, past, book, missed = case
    return plain(asdict(judge(part, seen, findings, past, BOOKS[book], DAY, missed)))


def for_phone(case: tuple) -> dict:
    part, seen, findings, past, book, missed = case
    facts = {
        "part": asdict(part),
        "seen": sorted(seen),
        "findings": [asdict(each) for each in findings],
        "previous": [asdict(each) for each in past],
    }
    return plain(facts) | {"book": book, "on": DAY.isoformat(), "missed": missed}


def plain(value):
    """What the value is after a journey as JSON."""
    if isinstance(value, dict):
        return {name: plain(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def book_of(criteria: Criteria) -> dict:
    return plain(criteria.to_dict())


def test_every_sign_and_any_findings_mean_the_same_on_the_phone_and_on_the_server(page_at, scripts):
    dice = random.Random(20)
    cases = [*every_line(), *(at_random(dice) for _ in range(RANDOM_CASES))]
    numbers = [(dice.uniform(0, 10 ** dice.randint(-4, 8)), "spots") for _ in range(400)]
    numbers += [(each / 16, "mm") for each in range(0, 40000, 97)] + [(1.0, "wires"), (0.0005, "")]
    page = page_at(390)
    page.goto(f"{scripts}/dock/numbers.js")
    books = {name: book_of(each) for name, each in BOOKS.items()}
    asked = {"books": books, "cases": [for_phone(case) for case in cases], "numbers": numbers}
    said = json.loads(page.evaluate(JUDGE_ALL, json.dumps(asked)))
    assert said["amounts"] == [amount(*each) for each in numbers]
    differing = [
        (case, phone, server)
        for case, phone in zip(cases, said["verdicts"], strict=True)
        if phone != (server := by_server(case))
    ]
    assert not differing, differing[0]
    assert len(cases) > 2000
    assert {each["value"] for each in said["verdicts"]} == {
        "keep", "watch", "refer", "make_good", "replace", "not_seen", "not_assessed",
    }  # fmt: skip

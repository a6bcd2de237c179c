"""What must be true of any fleet's record, whatever the luck."""

from collections import Counter
from itertools import pairwise

import pytest

from forecasting.demo_fleet.generate import FleetRecord, Record
from forecasting.demo_fleet.parts import Part, reach
from forecasting.demo_fleet.plans import AS_OF
from forecasting.demo_fleet.sheets import sheets
from inspections.criteria import DEFAULT

AT_A_SPOT = ("condemned", "failed_in_service", "looked_poor")


@pytest.fixture(scope="session")
def records(fleets: list[FleetRecord]) -> list[Record]:
    return [record for fleet in fleets for record in fleet.records]


@pytest.fixture(scope="session")
def parts(records: list[Record]) -> list[Part]:
    return [part for record in records for part in record.parts]


def test_no_part_comes_off_before_it_is_fitted(parts: list[Part]):
    assert all(part.removed is None or part.removed >= part.fitted for part in parts)


def test_one_part_stands_in_one_place(records: list[Record]):
    for record in records:
        for place in {part.place for part in record.parts}:
            here = sorted((p for p in record.parts if p.place == place), key=lambda p: p.fitted)
            for old, new in pairwise(here):
                assert old.removed is not None, (record.boat.name, place)
                assert old.removed <= new.fitted, (record.boat.name, place)


def test_every_place_of_a_boat_in_the_fleet_has_its_part(records: list[Record]):
    """But for a wire that has just broken."""
    for record in records:
        standing = {part.place for part in record.parts if part.removed is None}
        places = {(s.key, kind) for s in record.boat.design.stays() for kind in s.kinds}
        broke = {p.place for p in record.parts if p.reason == "failed_in_service"}
        assert record.boat.left or places - standing <= broke
        assert not record.boat.left or not standing


def test_boats_are_looked_at_while_they_are_in_the_fleet(records: list[Record]):
    for record in records:
        days = [look.day for look in record.looks]
        assert days == sorted(days)
        assert record.boat.record_since <= min(days)
        assert max(days) <= min(record.boat.left or 10**7, AS_OF.toordinal())


def test_the_record_never_begins_before_the_boat_joins(records: list[Record]):
    for record in records:
        boat = record.boat
        assert boat.built <= boat.joined <= boat.record_since


def test_every_condemned_part_has_the_finding_that_condemned_it(records: list[Record]):
    for record in records:
        shown = {
            (row.part, look.day)
            for look in record.looks
            for row in look.noted
            if row.part and row.sign in DEFAULT and DEFAULT[row.sign].outcome == "replace"
        }
        for part in record.parts:
            assert part.condemned is None or (part, part.condemned) in shown


def test_a_part_taken_off_as_condemned_was_condemned_before(parts: list[Part]):
    for part in parts:
        assert part.reason != "condemned" or part.condemned <= part.removed


def test_nothing_is_condemned_before_its_time(parts: list[Part]):
    for part in parts:
        if part.condemned is not None:
            assert part.goes[part.ended_at] <= part.condemned


def test_where_a_part_went_is_a_spot_it_has(parts: list[Part]):
    assert all(part.ended_at in part.goes for part in parts if part.reason in AT_A_SPOT)


def test_nobody_notes_what_his_level_cannot_see(records: list[Record]):
    for record in records:
        for look in record.looks:
            for row in look.noted:
                assert row.part is None or row.place in reach(look.visit.level, row.part)


def test_no_two_rows_of_a_sheet_say_the_same_thing(fleets: list[FleetRecord]):
    keys = {"boats": [0], "inspections": [0, 1, 2, 3], "use": [0, 1], "prices": [0, 1, 2]}
    keys |= {"findings": list(range(10)), "parts": [0, 1, 2, 3, 4, 13, 18]}
    for fleet in fleets:
        for name, columns in keys.items():
            rows = Counter(tuple(row[i] for i in columns) for row in sheets(fleet)[name])
            assert [row for row, times in rows.items() if times > 1 and row[0]] == [], name


def test_mail_to_the_owners_goes_nowhere(records: list[Record]):
    """example.org is reserved for examples (RFC 2606)."""
    emails = [record.boat.email for record in records if record.boat.email]
    assert emails
    assert all(email.endswith("@example.org") for email in emails)

"""The committed demo fleets, simulated once for all tests here."""

import pytest

from forecasting.demo_fleet.generate import FleetRecord, generate


@pytest.fixture(scope="session")
def fleets() -> list[FleetRecord]:
    return generate()


@pytest.fixture(scope="session")
def charter(fleets: list[FleetRecord]) -> FleetRecord:
    return fleets[0]


@pytest.fixture(scope="session")
def club(fleets: list[FleetRecord]) -> FleetRecord:
    return fleets[1]

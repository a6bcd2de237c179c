"""A rigged boat and its manager, for the tests that need no more."""

import pytest
from django.test import Client

from fleet.models import Boat
from tests.inspections.docks import rigged_boat, signed_in


@pytest.fixture
def boat(db) -> Boat:
    return rigged_boat()


@pytest.fixture
def manager(boat) -> Client:
    return signed_in(boat, "manager")

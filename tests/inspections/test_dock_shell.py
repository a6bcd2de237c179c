"""The page of the dock as a phone keeps it: everything it needs, and nothing it does not."""

import json
import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders

from inspections.dock import shell
from tests import builders
from tests.inspections.docks import address, read, signed_in


@pytest.fixture
def bosun(boat):
    return signed_in(boat)


def kept_by_worker(boat, bosun) -> dict:
    script = bosun.get(address(boat, "dock_worker"))
    assert script.headers["Content-Type"].startswith("text/javascript")
    return json.loads(re.match(r"const SHELL = (.*);\n", script.content.decode())[1])


def test_the_worker_keeps_every_file_the_page_loads(boat, bosun):
    files = set(kept_by_worker(boat, bosun)["files"])
    page = read(bosun, address(boat, "dock"))
    loaded = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page))
    assert loaded - files == set()
    for name in shell.files():
        if name.endswith(".js"):
            script = Path(finders.find(name)).read_text()
            asked = {f"/static/dock/{each}" for each in re.findall(r'from "\./([^"]+)"', script)}
            assert asked - files == set(), name


def test_the_kept_page_is_told_apart_by_the_files_it_is_made_of(boat, bosun):
    kept = kept_by_worker(boat, bosun)
    assert kept["version"] == shell.version()
    assert kept["page"] == address(boat, "dock")
    assert "/static/dock/worker.js" not in kept["files"]


def test_a_phone_can_put_it_among_its_apps(boat, bosun):
    manifest = bosun.get(address(boat, "dock_manifest")).json()
    assert manifest["scope"] == manifest["start_url"] == address(boat, "dock")
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in manifest["icons"]}
    for icon in manifest["icons"]:
        assert finders.find(icon["src"].removeprefix("/static/")), icon["src"]


def test_who_does_not_record_inspections_has_no_form(boat):
    accountant = signed_in(boat, "accountant")
    for name in ("dock", "dock_worker", "dock_manifest"):
        assert accountant.get(address(boat, name)).status_code == 403


def test_before_the_script_runs_and_without_it_a_boat_leads_to_the_form_without_one(boat, bosun):
    page = read(bosun, address(boat, "dock"))
    assert f'href="{address(boat, "inspect", boat.pk)}"' in page
    assert "Scripts are turned off here" in page
    away = builders.base(boat.fleet, "Northquay")
    other = builders.boat(boat.fleet, "Skua", base=away)
    page = read(bosun, address(boat, "dock"))
    assert address(boat, "inspect", boat.pk) not in page
    assert f'href="?base={away.pk}"' in page
    page = read(bosun, f"{address(boat, 'dock')}?base={away.pk}")
    assert f'href="{address(boat, "inspect", other.pk)}"' in page
    assert address(boat, "inspect", boat.pk) not in page

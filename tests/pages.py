"""Fixtures that drive pages in real Chromium."""

import os
from collections.abc import Callable, Iterator, Sequence

import pytest
from django.conf import settings
from django.test import Client

from tests.services import chromium

SECONDS = 30  # a page is slow beside a busy suite


@pytest.fixture(scope="session")
def browser():
    """Debian's Chromium, headless, started once."""
    if missing := chromium.missing_packages():
        pytest.skip(f"no pages in Chromium: apt-get install {' '.join(missing)}")
    from playwright.sync_api import expect, sync_playwright

    # Playwright's loop runs in this thread, where Django would refuse the ORM.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    expect.set_options(timeout=SECONDS * 1000)
    with sync_playwright() as playwright:
        chrome = playwright.chromium.launch(
            executable_path=chromium.find(), args=chromium.arguments()
        )
        yield chrome
        chrome.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def page_at(browser, request: pytest.FixtureRequest) -> Iterator[Callable]:
    """Return `open_page(width, height=900, user=None, **context)`: a new page of that width.

    With `live_server` among the test's fixtures, page.goto("/boats/") finds it, and `user` is
    signed in. `context` goes to the browser's context (base_url, storage_state, color_scheme).
    At the end the test fails on what the page suffered in silence: an uncaught error, an error
    on the console, a violated content security policy, a script or style that did not load.
    """
    contexts, complaints = [], []
    server = (
        request.getfixturevalue("live_server") if "live_server" in request.fixturenames else None
    )

    def open_page(width: int, height: int = 900, user=None, **context):
        usual = {"base_url": server.url if server else None}
        viewport = {"width": width, "height": height}
        context = browser.new_context(viewport=viewport, **(usual | context))
        contexts.append(context)
        context.set_default_timeout(SECONDS * 1000)
        if user is not None:
            context.add_cookies([_session_cookie(user, server.url)])
        page = context.new_page()
        _listen(page, complaints)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not complaints, "\n".join(complaints)


def _session_cookie(user, url: str) -> dict:
    client = Client()
    client.force_login(user, settings.AUTHENTICATION_BACKENDS[0])
    name = settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value, "url": url}


def _listen(page, complaints: list[str]) -> None:
    page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
    page.on("console", lambda message: _note_console(page, message, complaints))
    page.on("response", lambda response: _note_missing(page, response, complaints))


def _note_console(page, message, complaints: list[str]) -> None:
    # What a page asked for and did not get is noted below; a page itself may well answer 404.
    if message.type == "error" and not message.text.startswith("Failed to load resource"):
        complaints.append(f"{page.url}: {message.text}")


def _note_missing(page, response, complaints: list[str]) -> None:
    loaded_by_page = response.request.resource_type in ("script", "stylesheet", "image", "font")
    if response.status >= 400 and loaded_by_page:
        complaints.append(f"{page.url}: {response.url} answered {response.status}")


@pytest.fixture
def accessibility_faults() -> Callable[..., list[str]]:
    """Return `faults(page, *rules, but=())`: what axe-core finds wrong, one line each; [] when
    nothing is. With rules, by these alone; by all others than those in `but`.
    """
    from axe_playwright_python.sync_playwright import Axe

    def faults(page, *rules: str, but: Sequence[str] = ()) -> list[str]:
        options = {"runOnly": list(rules)} if rules else {}
        options |= {"rules": {rule: {"enabled": False} for rule in but}} if but else {}
        violations = Axe().run(page, options=options or None).response["violations"]
        return [
            f"{rule['id']} ({rule['impact']}): {node['html'][:120]}"
            for rule in violations
            for node in rule["nodes"]
        ]

    return faults

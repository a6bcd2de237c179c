"""The servers and the browser the suite stands on are real, and the pages fixture complains."""

import smtplib
import subprocess
import sys
import time
from email.message import EmailMessage
from pathlib import Path

import psycopg
import pytest
import redis

from tests.services import postgres, processes

ROOT = Path(__file__).resolve().parent.parent


def test_redis_is_recent_enough_for_the_settings_we_run(redis_url):
    with redis.Redis.from_url(redis_url) as client:
        version = client.info("server")["redis_version"]
        assert client.dbsize() == 0
    assert tuple(map(int, version.split(".")[:2])) >= (6, 2)


def test_postgres_gives_an_empty_database_each_time(postgres_url):
    with psycopg.connect(postgres_url) as connection:
        tables = connection.execute("SELECT count(*) FROM pg_tables WHERE schemaname = 'public'")
        assert tables.fetchone() == (0,)
        connection.execute("CREATE TABLE stay (name text)")


def test_postgres_gives_an_empty_database_the_second_time_too(postgres_url):
    test_postgres_gives_an_empty_database_each_time(postgres_url)


def test_postgres_asks_for_its_password(postgres_url):
    stranger = postgres_url.replace("stayward:", "stayward:not-the-", 1)
    with pytest.raises(psycopg.OperationalError, match="password authentication failed"):
        psycopg.connect(stranger)


def test_the_mail_sink_keeps_what_it_accepts_and_refuses_on_demand(smtp_sink):
    message = EmailMessage()
    message["From"], message["To"] = "bosun@example.org", "skipper@example.org"
    message["Subject"] = "Rig inspection due"
    message.set_content("The forestay of Kittiwake, please.")
    with smtplib.SMTP(smtp_sink.host, smtp_sink.port) as client:
        client.send_message(message)
        smtp_sink.answer = lambda message: "451 try again later"
        with pytest.raises(smtplib.SMTPDataError, match="try again later"):
            client.send_message(message)
    assert [kept["Subject"] for kept in smtp_sink.messages] == ["Rig inspection due"]
    assert smtp_sink.recipients == [["skipper@example.org"]]


def test_a_server_that_does_not_start_says_why(tmp_path):
    command = ["sh", "-c", "echo no such data folder; exit 3"]
    with (
        pytest.raises(processes.ServerFailed, match="no such data folder"),
        processes.running(command, tmp_path, lambda: False),
    ):
        pass


def test_a_server_ends_with_its_block(tmp_path):
    with processes.running(["sleep", "600"], tmp_path, lambda: True) as server:
        assert server.poll() is None
    assert server.poll() is not None


HOLDS = """
import time
from pathlib import Path
from tests.services import processes
with processes.running(["sleep", "600"], Path("{folder}"), lambda: True) as server:
    print(server.pid, flush=True)
    time.sleep(600)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux ends a child with its parent")
def test_a_server_ends_with_tests_that_were_killed(tmp_path):
    command = [sys.executable, "-c", HOLDS.format(folder=tmp_path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as holder:
        server = int(holder.stdout.readline())
        holder.kill()
    until = time.monotonic() + 10
    while _alive(server) and time.monotonic() < until:
        time.sleep(0.05)
    assert not _alive(server)


def _alive(pid: int) -> bool:
    """A zombie that nobody reaps has ended too."""
    status = Path(f"/proc/{pid}/status")
    return status.exists() and "State:\tZ" not in status.read_text()


def test_the_wheel_alone_is_enough_for_postgres(tmp_path, monkeypatch):
    monkeypatch.delenv(postgres.GIVEN, raising=False)
    monkeypatch.setattr(postgres, "find", postgres.in_wheel)
    with postgres.running() as url, psycopg.connect(postgres.database(url, "postgres")) as link:
        assert link.info.server_version >= 140000


@pytest.fixture
def quiet_page(page_at):
    page = page_at(390)
    page.set_content("<main><h1>Rig</h1></main>")
    return page


def test_chromium_lays_a_page_out_at_the_width_of_a_phone(quiet_page):
    assert quiet_page.evaluate("document.documentElement.clientWidth") == 390


def test_axe_sees_a_picture_without_words(quiet_page, accessibility_faults):
    quiet_page.set_content(
        "<html lang=en><title>t</title><main><h1>Rig</h1><img src='data:,'></main>"
    )
    assert [fault for fault in accessibility_faults(quiet_page) if "image-alt" in fault]

"""Workers caught, killed with SIGKILL, and others left to take up what they had."""

import random
import time
from collections import Counter
from collections.abc import Callable
from contextlib import AbstractContextManager

import redis

from tests.faults import stage, traps
from tests.production import Production, wait_for

# Phase and how what it began ends, with its share in a hundred kills.
KINDS = {
    ("claiming", "undone"): 25,
    ("sending", "not accepted"): 15,
    ("sending", "accepted"): 15,
    ("recording", "committed"): 15,
    ("recording", "undone"): 15,
    ("anywhere", ""): 15,
}
# Kills after which a second copy may come: accepted by the mail server and not on record.
WINDOW = {("sending", "accepted"), ("recording", "undone"), ("anywhere", "")}
OPEN = """SELECT count(*) FROM inspections_reminder r JOIN fleet_boat b ON b.id = r.boat_id
    JOIN fleet_fleet f ON f.id = b.fleet_id
    WHERE f.slug LIKE %s AND r.state NOT IN ('sent', 'withdrawn')"""
QUEUED = OPEN.replace(" AND r.state NOT IN ('sent', 'withdrawn')", "")

Kind = tuple[str, str]


def planned(number: int, seed: int) -> list[Kind]:
    """Return so many kills, each kind by its share, in an order that the seed fixes."""
    kinds = [kind for kind, share in KINDS.items() for _ in range(round(share * number / 100))]
    kinds += [next(iter(KINDS))] * (number - len(kinds))
    random.Random(seed).shuffle(kinds)
    return kinds[:number]


def kill(site: Production, kinds: list[Kind], seed: int, say: Callable = lambda text: None):
    """Kill a worker once for each kind, at the message after the next few; return the counts."""
    chance, done = random.Random(seed), Counter()
    for number, kind in enumerate(kinds, 1):
        some_pass(site, chance.choice((0, 1, 2)))
        with trap(site, kind, chance):
            traps.patiently(site.kill_hands, lambda: None)  # One is being started, perhaps.
        done[kind] += 1
        stage.leases_run_out(site)
        if number % 20 == 0:
            say(f"{number} kills; {len(site.sink.messages)} messages accepted so far")
    return done


def trap(site: Production, kind: Kind, chance: random.Random) -> AbstractContextManager:
    phase, how = kind
    ring = ringing(site)
    if phase == "sending":
        return traps.in_mail_server(site.sink, how == "accepted", ring)
    if phase == "anywhere":
        traps.patiently(lambda: at_work(site), ring)
        time.sleep(chance.random() / 4)
        return traps.nowhere()
    return traps.in_database(site, phase, how == "committed", ring)


def ringing(site: Production) -> Callable[[], None]:
    def ring() -> None:
        stage.old_leases_run_out(site)
        if not bells(site):  # More of them would only be answered one after the other.
            site.ring(stage.TICK)

    return ring


def bells(site: Production) -> int:
    """Return how many messages wait in the broker's queue."""
    with redis.Redis.from_url(site.env["STAYWARD_REDIS"]) as broker:
        return broker.llen("celery")


def at_work(site: Production) -> bool:
    return bool(site.sql("SELECT 1 FROM fleet_workrow WHERE state = 'running'"))


def some_pass(site: Production, number: int) -> None:
    """Wait until so many more messages were accepted, or for a while."""
    wanted, until = len(site.sink.messages) + number, time.monotonic() + 3
    ring = ringing(site)
    ring()
    while len(site.sink.messages) < wanted and time.monotonic() < until:
        time.sleep(0.02)


def to_the_end(site: Production, slug: str, seconds: float = 300) -> None:
    """Kill nobody any more; ring until every reminder of those fleets is sent."""
    like = f"{slug}-%"
    again = 0.0

    def over() -> bool:
        nonlocal again
        if time.monotonic() > again:
            again = time.monotonic() + 3
            stage.waits_are_over(site)
            ringing(site)()
        queued, left = site.sql(QUEUED, like)[0][0], site.sql(OPEN, like)[0][0]
        return queued > 0 and left == 0

    wait_for(over, seconds)

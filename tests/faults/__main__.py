"""``python -m tests.faults reminders [--kills 200] [--seed 1]``: in full, with its table."""

import argparse
import sys
import time
from collections import Counter

from tests.faults import chaos, kills, stage, tally, traps

FLEETS, BOATS = 10, 34  # 34 boats x 3 looks x (owner, bosun) x 10 fleets: 2,040 reminders.


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults")
    parser.add_argument("what", choices=["reminders", "chaos"])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--boats", type=int, default=BOATS)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args(arguments)
    failed = []
    with stage.running() as here:
        here.worker("worker-1")
        if chosen.what == "reminders":
            failed += killed(here, chosen)
        failed += chaos.run_all(here, say)
    say("PASS" if not failed else "FAIL: " + "; ".join(failed))
    return bool(failed)


def say(text: str) -> None:
    print(text, flush=True)


def killed(here: stage.Stage, chosen: argparse.Namespace) -> list[str]:
    """Kill while all is due, then let all come to its end, and count."""
    start = time.monotonic()
    stage.fleets_due(here.site, "kill", FLEETS, chosen.boats)
    traps.set_up(here.site)
    done = kills.kill(here.site, kills.planned(chosen.kills, chosen.seed), chosen.seed, say)
    traps.take_down(here.site)
    kills.to_the_end(here.site, "kill")
    result = tally.tally(here.site, "kill")
    report(done, result, time.monotonic() - start)
    return result.faults(done)


def report(done: Counter, result: tally.Tally, seconds: float) -> None:
    say("\n| killed with SIGKILL while | and what it began was | times |\n|---|---|---|")
    for (phase, how), number in sorted(done.items()):
        say(f"| {phase} | {how} | {number} |")
    window = sum(number for kind, number in done.items() if kind in kills.WINDOW)
    say(f"\n{sum(done.values())} kills in {seconds:.0f} s; {result.reminders} reminders, "
        f"{result.reminders - len(result.undelivered)} delivered in {result.messages} messages to "
        f"{result.people} people; {result.copies} copies, all under the Message-ID of their "
        f"first, {window} kills in the window; states {dict(result.states)}.\n")  # fmt: skip


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

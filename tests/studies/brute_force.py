"""A planner against every plan of many random small problems: differences, and what binds."""

import argparse
import inspect
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Compared:
    """One problem. fault: what is wrong with its plan, blank if nothing; binds: of the causes."""

    seed: int
    fault: str
    binds: tuple[str, ...]
    plans: int
    seconds: float


def study(
    compare: Callable[[int], Compared], things: str, number: int, causes: Sequence[str],
    told: Sequence[str], least: float, arguments: list[str],
) -> int:  # fmt: skip
    """Compare so many ``things`` and print what was found; return the exit code.

    causes: each must bind in ``least`` of them. told: counted and printed beside.
    """
    module = inspect.getmodule(compare)
    name = module.__name__.rpartition(".")[-1]
    parser = argparse.ArgumentParser(
        prog=f"python -m tests.studies {name}", description=module.__doc__
    )
    parser.add_argument(f"--{things}", type=int, default=number, dest="number")
    parser.add_argument("--first", type=int, default=0)
    given = parser.parse_args(arguments)
    found = [compare(seed) for seed in range(given.first, given.first + given.number)]
    binds = Counter(cause for each in found for cause in each.binds)
    faults = [f"seed {each.seed}: {each.fault}" for each in found if each.fault]
    print(*faults, *(f"{binds[cause]:>6}  {cause}" for cause in (*causes, *told)), sep="\n")
    plans, seconds = (sum(getattr(each, what) for each in found) for what in ("plans", "seconds"))
    print(
        f"{len(found)} {things}, {plans:,} plans tried, {len(faults)} differences; planner "
        f"{seconds:.0f} s of processor time"
    )
    return int(bool(faults) or any(binds[cause] < given.number * least for cause in causes))

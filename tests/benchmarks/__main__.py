"""Measure one thing and print a table: ``python -m tests.benchmarks NAME``, or ``all``.

Each step is a process of its own, so that its memory is its own; a time is given with a baseline
measured in the same run. Nothing here is a test: what must hold at any size is in the suite.
"""

import sys
import tempfile
from pathlib import Path

from . import budgeting, importing, outlook, pages, planner, survival, yard

NAMES = {
    "import": importing.twelve_thousand_parts,
    "fleet": importing.thousand_boats,
    "pages": pages.lists_of_a_thousand_boats,
    "outlook": lambda folder: outlook.main(),
    "planner": lambda folder: planner.main(),
    "yard": lambda folder: yard.main(),
    "budget": lambda folder: budgeting.main(),
    "survival": lambda folder: survival.main(),
}


def main(name: str) -> int:
    chosen = list(NAMES.values()) if name == "all" else [NAMES.get(name)]
    if None in chosen:
        print(f"There are: {', '.join(NAMES)}, all.")
        return 2
    for measure in chosen:
        with tempfile.TemporaryDirectory(prefix="stayward-bench-") as folder:
            measure(Path(folder))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "all"))

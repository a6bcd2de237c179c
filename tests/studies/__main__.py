"""Run one study: ``python -m tests.studies NAME [its own options]``."""

import importlib
import pkgutil
import sys
from pathlib import Path

NOT_STUDIES = {"__main__", "brute_force", "fleets"}


def main(arguments: list[str]) -> int:
    here = pkgutil.iter_modules([str(Path(__file__).parent)])
    names = sorted({module.name for module in here} - NOT_STUDIES)
    if not arguments or arguments[0] not in names:
        print(f"Name a study: {', '.join(names)}.", file=sys.stderr)
        return 2
    study = importlib.import_module(f"tests.studies.{arguments[0]}")
    return study.main(arguments[1:]) or 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

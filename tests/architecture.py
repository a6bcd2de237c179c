"""What the house rules forbid, found by reading the source; with the standard library alone.

Every check takes parsed modules of one tree and returns sentences, one per breach, so that
the same checks run on the project and on trees with a breach planted on purpose.
"""

import ast
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from statistics import median, quantiles

APPS = ("fleet", "inspections", "forecasting")  # each may import those before it
PLUMBING = "fleet.project"
BOOTSTRAP = "fleet.bootstrap"
PURE = (
    "fleet.matching",
    "fleet.sheets",
    "fleet.bootstrap",
    "inspections.criteria",
    "inspections.verdicts",
    "forecasting.survival",
    "forecasting.condition",
    "forecasting.planning",
)
FRAMEWORKS = ("django", "celery")
CLOCKS = {"today", "now", "localdate", "localtime", "utcnow"}
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "manage.py", "requirements.txt"),
    *("fleet", "inspections", "forecasting", "templates", "tests", "fixtures"),
    *(".ci", ".gitignore", ".env.example", ".ruff.toml", ".pytest.ini", ".mypy.ini"),
}
MADE_BY_RUNNING = {
    *(".git", ".venv", "var", ".env", "__pycache__"),
    *(".hypothesis", ".mypy_cache", ".pytest_cache", ".ruff_cache"),
}
NOWHERE_NAMES = {"utils", "util", "helpers", "helper", "common", "misc"}

FUNCTION_LINES, FILE_LINES, VIEW_LINES, TEMPLATE_LINES = 50, 350, 30, 150
TASK_STATEMENTS = 6
MEDIAN_LINES, P95_LINES = 8, 35

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Module:
    """One source file of the tree, by its dotted name."""

    root: Path
    path: Path

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.path.read_text(), str(self.path))

    @property
    def where(self) -> str:
        return str(self.path.relative_to(self.root))

    @property
    def name(self) -> str:
        parts = self.path.relative_to(self.root).with_suffix("").parts
        return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)

    @property
    def package(self) -> str:
        return self.name if self.path.name == "__init__.py" else self.name.rpartition(".")[0]

    @property
    def app(self) -> str:
        return self.name.partition(".")[0]

    def functions(self) -> Iterator[Function]:
        return (node for node in ast.walk(self.tree) if isinstance(node, Function))

    def imports(self) -> Iterator[tuple[int, str]]:
        """Yield line and dotted target; `from a import b` yields a and a.b."""
        for node in ast.walk(self.tree):
            yield from self.targets(node)

    def targets(self, node: ast.AST) -> Iterator[tuple[int, str]]:
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = self._absolute(node)
            yield node.lineno, base
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)

    def _absolute(self, node: ast.ImportFrom) -> str:
        if not node.level:
            return node.module or ""
        parts = self.package.split(".")
        return ".".join([*parts[: len(parts) - node.level + 1], *filter(None, [node.module])])


def modules(root: Path, folders: Iterable[str] = APPS) -> list[Module]:
    """Return the source files below the folders of a tree; migrations are Django's own."""
    paths = [path for folder in folders for path in sorted((root / folder).rglob("*.py"))]
    return [Module(root, path) for path in paths if "migrations" not in path.parts]


def within(name: str, packages: Iterable[str]) -> bool:
    return any(name == package or name.startswith(f"{package}.") for package in packages)


def length(function: Function) -> int:
    """Lines from `def` to the end, docstring included."""
    return function.end_lineno - function.lineno + 1


# -- who may import whom


def upward_imports(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}:{line} imports {target}: {module.app} stands below it"
        for module in tree
        for line, target in module.imports()
        if within(target, APPS[APPS.index(module.app) + 1 :]) and not _is_plumbing(module)
    ]


def upward_names(tree: list[Module]) -> list[str]:
    """An app above, named in a string that Django resolves ("inspections.Inspection")."""
    return [
        f"{module.where}:{node.lineno} names {node.value}: {module.app} stands below it"
        for module in tree
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and re.fullmatch(r"\w+(\.\w+)+", node.value)
        and within(node.value, APPS[APPS.index(module.app) + 1 :])
        and not _is_plumbing(module)
    ]


def plumbing_imports(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}:{line} imports {target}: nothing imports the plumbing"
        for module in tree
        for line, target in module.imports()
        if within(target, [PLUMBING]) and not _is_plumbing(module)
    ]


def frameworks_in_the_cores(tree: list[Module]) -> list[str]:
    """A pure module that reaches Django or Celery, itself or through what it imports."""
    known = {module.name: module for module in tree}
    return [
        f"{module.where} reaches {found}"
        for module in tree
        if within(module.name, PURE)
        for found in sorted(_reached(module, known))
        if within(found.rpartition(" ")[2], FRAMEWORKS)
    ]


def _reached(start: Module, known: dict[str, Module]) -> set[str]:
    reached, waiting = set(), [start, *_packages_of(start.name, known)]
    seen = {module.name for module in waiting}
    while waiting:
        module = waiting.pop()
        for _, target in module.imports():
            reached.add(f"(in {module.name}) {target}")
            ahead = [known[target]] if target in known else []
            for found in [*ahead, *_packages_of(target, known)]:
                if found.name not in seen:
                    seen.add(found.name)
                    waiting.append(found)
    return reached


def _packages_of(name: str, known: dict[str, Module]) -> list[Module]:
    """Importing a.b.c runs a/__init__.py and a/b/__init__.py too."""
    parts = name.split(".")
    above = (".".join(parts[:count]) for count in range(1, len(parts)))
    return [known[package] for package in above if package in known]


def clocks_in_the_cores(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}:{node.lineno} reads the clock ({node.func.attr}): time is an argument"
        for module in tree
        if within(module.name, PURE) and module.name != BOOTSTRAP
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in CLOCKS
    ]


def readers_of_the_environment(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}:{node.lineno} reads the environment: fleet/project/env.py does that"
        for module in tree
        if not _is_plumbing(module) and module.name != BOOTSTRAP
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Attribute) and node.attr in ("environ", "getenv")
    ]


def signals(tree: list[Module]) -> list[str]:
    forbidden = ("django.dispatch", "django.db.models.signals")
    return [
        f"{module.where}:{line} imports {target}: no signals, call what should happen"
        for module in tree
        for line, target in module.imports()
        if within(target, forbidden)
    ]


def hidden_imports(tree: list[Module]) -> list[str]:
    """A module of the project imported inside a function, which hides a cycle.

    Django itself asks for it in AppConfig.ready.
    """
    return [
        f"{module.where}:{line} imports {target} inside {function.name}"
        for module in tree
        for function in module.functions()
        if function.name != "ready" or not module.name.endswith(".apps")
        for node in ast.walk(function)
        for line, target in module.targets(node)
        if within(target, [*APPS, "tests"])
    ]


def star_imports(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}:{line} imports {target}"
        for module in tree
        for line, target in module.imports()
        if target.endswith(".*")
    ]


def _is_plumbing(module: Module) -> bool:
    return within(module.name, [PLUMBING])


# -- names and sizes


def nowhere_names(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}: a name that says nothing; name what it holds"
        for module in tree
        if NOWHERE_NAMES & set(module.path.relative_to(module.root).with_suffix("").parts)
    ]


def strangers_at_the_top(root: Path) -> list[str]:
    allowed = TOP_LEVEL | MADE_BY_RUNNING
    return [f"{p.name} at the top level" for p in sorted(root.iterdir()) if p.name not in allowed]


def long_functions(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}:{function.lineno} {function.name} has {length(function)} lines"
        for module in tree
        for function in module.functions()
        if length(function) > FUNCTION_LINES
    ]


def long_views(tree: list[Module]) -> list[str]:
    return [
        f"{module.where}:{function.lineno} view {function.name} has {length(function)} lines"
        for module in tree
        if "views" in module.name.split(".")
        for function in module.functions()
        if length(function) > VIEW_LINES
    ]


def long_tasks(tree: list[Module]) -> list[str]:
    """A Celery task is a doorbell: a few statements, one call."""
    return [
        f"{module.where}:{function.lineno} task {function.name} is no doorbell"
        for module in tree
        for function in module.functions()
        if any("task" in ast.unparse(decorator) for decorator in function.decorator_list)
        and sum(isinstance(node, ast.stmt) for node in ast.walk(function)) - 1 > TASK_STATEMENTS
    ]


def long_files(tree: list[Module]) -> list[str]:
    counts = {module.where: len(module.path.read_text().splitlines()) for module in tree}
    return [f"{where} has {count} lines" for where, count in counts.items() if count > FILE_LINES]


def long_templates(root: Path) -> list[str]:
    counts = {
        path.relative_to(root): len(path.read_text().splitlines())
        for path in sorted((root / "templates").rglob("*"))
        if path.is_file()
    }
    return [f"{path} has {count} lines" for path, count in counts.items() if count > TEMPLATE_LINES]


def heavy_tail(tree: list[Module]) -> list[str]:
    """Median and 95th percentile of the lines of the functions."""
    lengths = [length(function) for module in tree for function in module.functions()]
    if len(lengths) < 2:
        return []
    middle, tail = median(lengths), quantiles(lengths, n=20)[-1]
    found = [f"the median function has {middle:g} lines"] if middle > MEDIAN_LINES else []
    return found + ([f"95 % of functions have up to {tail:g} lines"] if tail > P95_LINES else [])


RULES = (
    *(upward_imports, upward_names, plumbing_imports, frameworks_in_the_cores),
    *(clocks_in_the_cores, readers_of_the_environment, signals, hidden_imports, star_imports),
    *(nowhere_names, long_functions, long_views, long_tasks, long_files, heavy_tail),
)
RULES_FOR_TESTS = (star_imports, nowhere_names, long_functions, long_files)
RULES_FOR_THE_TREE = (strangers_at_the_top, long_templates)

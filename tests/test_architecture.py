"""The house keeps its rules, and the checks that say so can fail."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests import architecture

ROOT = Path(__file__).resolve().parent.parent
LOOKED_AT = {
    "project": architecture.modules(ROOT), "tests": architecture.modules(ROOT, ["tests"])
}  # fmt: skip
LONG = "def f(boat):\n" + "    boat.hoist()\n" * 60


@pytest.mark.parametrize("rule", architecture.RULES, ids=lambda rule: rule.__name__)
def test_the_project_keeps(rule):
    assert rule(LOOKED_AT["project"]) == []


@pytest.mark.parametrize("rule", architecture.RULES_FOR_TESTS, ids=lambda rule: rule.__name__)
def test_the_tests_keep(rule):
    assert rule(LOOKED_AT["tests"]) == []


@pytest.mark.parametrize("rule", architecture.RULES_FOR_THE_TREE, ids=lambda rule: rule.__name__)
def test_the_tree_keeps(rule):
    assert rule(ROOT) == []


@pytest.mark.parametrize("app", architecture.APPS)
def test_every_app_is_looked_at(app):
    assert len([m for m in LOOKED_AT["project"] if m.app == app]) > 5


def test_every_core_is_there_to_be_looked_at():
    names = {module.name for module in LOOKED_AT["project"]}
    assert [core for core in architecture.PURE if core not in names] == []


def test_the_cores_really_run_without_django_or_celery():
    pure = architecture.PURE
    names = [m.name for m in LOOKED_AT["project"] if architecture.within(m.name, pure)]
    assert len(names) > 50
    script = (
        f"import sys, {', '.join(names)}; print('django' in sys.modules, 'celery' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "False"]


# -- each rule is shown a tree that breaks it

PLANTED = {
    "upward_imports": ("fleet/boats.py", "from inspections.models import Inspection"),
    "upward_names": ("inspections/models.py", "key = link('forecasting.Outlook')"),
    "plumbing_imports": ("inspections/delivery.py", "from fleet.project import env"),
    "frameworks_in_the_cores": ("inspections/verdicts.py", "from django.utils import timezone"),
    "clocks_in_the_cores": ("inspections/criteria.py", "age = date.today() - fitted"),
    "readers_of_the_environment": ("forecasting/refresh.py", "import os\nos.environ['HOME']"),
    "signals": ("inspections/recording.py", "from django.dispatch import receiver"),
    "hidden_imports": ("inspections/views.py", "def f():\n    from fleet.models import Boat"),
    "star_imports": ("forecasting/refresh.py", "from math import *"),
    "nowhere_names": ("fleet/utils.py", ""),
    "long_functions": ("fleet/boats.py", LONG),
    "long_views": ("fleet/views.py", "def f(request):\n" + "    request.hoist()\n" * 30),
    "long_tasks": ("fleet/tasks.py", "@shared_task\ndef f(pk):\n" + "    hoist(pk)\n" * 7),
    "long_files": ("fleet/boats.py", "x = 1\n" * 351),
    "heavy_tail": ("fleet/boats.py", ("def f():\n" + "    hoist()\n" * 9) * 3),
}


def plant(root: Path, where: str, source: str) -> list[architecture.Module]:
    for app in architecture.APPS:
        (root / app).mkdir()
        (root / app / "__init__.py").touch()
    (root / where).parent.mkdir(parents=True, exist_ok=True)
    (root / where).write_text(source)
    return architecture.modules(root)


@pytest.mark.parametrize("rule", architecture.RULES, ids=lambda rule: rule.__name__)
def test_a_breach_is_found_of(rule, tmp_path):
    where, source = PLANTED[rule.__name__]
    breaches = rule(plant(tmp_path, where, source))
    assert breaches
    assert rule is architecture.heavy_tail or all(where in breach for breach in breaches)


@pytest.mark.parametrize("rule", architecture.RULES, ids=lambda rule: rule.__name__)
def test_what_is_allowed_is_let_through_by(rule, tmp_path):
    lawful = (
        "import math\nfrom fleet.models import Boat\n\n\ndef f(boat, today):\n    return today\n"
    )
    assert rule(plant(tmp_path, "forecasting/refresh.py", lawful)) == []


def test_a_relative_import_is_followed_upward(tmp_path):
    tree = plant(tmp_path, "fleet/models/boats.py", "from ...inspections import models")
    assert architecture.upward_imports(tree)


def test_django_is_found_through_what_a_core_imports(tmp_path):
    plant(tmp_path, "forecasting/survival/fit.py", "from forecasting.rows import read")
    (tmp_path / "forecasting/rows.py").write_text("from celery import shared_task")
    breaches = architecture.frameworks_in_the_cores(architecture.modules(tmp_path))
    assert breaches
    assert all(breach.startswith("forecasting/survival/fit.py") for breach in breaches)


def test_django_is_found_in_the_package_a_core_lies_in(tmp_path):
    plant(tmp_path, "forecasting/survival/fit.py", "import math")
    (tmp_path / "forecasting/__init__.py").write_text("import django")
    assert architecture.frameworks_in_the_cores(architecture.modules(tmp_path))


def test_a_stranger_at_the_top_and_a_long_template_are_found(tmp_path):
    plant(tmp_path, "templates/boat.html", "<p>\n" * 151)
    (tmp_path / "pyproject.toml").touch()
    assert architecture.strangers_at_the_top(tmp_path) == ["pyproject.toml at the top level"]
    assert architecture.long_templates(tmp_path) == ["templates/boat.html has 151 lines"]


def test_the_linter_has_nothing_to_say():
    done = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--quiet", "--output-format", "concise", "."],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr

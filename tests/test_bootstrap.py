"""Setting up on a machine that has Python alone, in a tree of its own with two tiny packages."""

import ast
import base64
import hashlib
import json
import os
import runpy
import shutil
import subprocess
import sys
import time
import venv
import zipfile
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
OUTSIDE = sys._base_executable
PROGRAM = """
import sys
from fleet import bootstrap
bootstrap.enter(sys.argv[1:])
import json, halyard
from importlib.util import find_spec
print(json.dumps([sys.prefix, sys.argv[1:], halyard.__file__, find_spec("fid") is not None]))
"""


def wheel(folder: Path, name: str, version: str = "1.0") -> str:
    """Write an empty package as a wheel; return its line for a hashed lock."""
    info = f"{name}-{version}.dist-info"
    files = {
        f"{name}.py": f"VERSION = {version!r}\n",
        f"{info}/METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n",
        f"{info}/WHEEL": "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    record = [f"{path},sha256={_record_hash(text)},{len(text)}" for path, text in files.items()]
    files[f"{info}/RECORD"] = "\n".join([*record, f"{info}/RECORD,,"]) + "\n"
    path = folder / f"{name}-{version}-py3-none-any.whl"
    with zipfile.ZipFile(path, "w") as archive:
        for inside, text in files.items():
            archive.writestr(inside, text)
    return f"{name}=={version} --hash=sha256:{hashlib.sha256(path.read_bytes()).hexdigest()}\n"


def _record_hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


class Tree:
    """A clone with a program that needs `halyard`, and whose tests need `fid` as well."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.wheels = root.parent / "wheels"  # pip takes no space in this path
        for folder in (root / "fleet", root / "tests", self.wheels):
            folder.mkdir(parents=True)
        (root / "fleet/__init__.py").touch()
        shutil.copy(ROOT / "fleet/bootstrap.py", root / "fleet")
        (root / "go.py").write_text(PROGRAM)
        self.lock("requirements.txt", wheel(self.wheels, "halyard"))
        self.lock("tests/requirements.txt", wheel(self.wheels, "fid"))

    def lock(self, name: str, line: str) -> None:
        (self.root / name).write_text(line)

    def start(self, *arguments: str, python: str = OUTSIDE, cwd: Path | None = None, **variables):
        environment = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("PIP_", "STAYWARD_", "VIRTUAL_ENV", "PYTHONPATH"))
        }
        environment |= {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(self.wheels), **variables}
        return subprocess.Popen(
            [python, str(self.root / "go.py"), *arguments],
            cwd=cwd or self.root,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def run(self, *arguments: str, **options) -> tuple[int, str, str]:
        process = self.start(*arguments, **options)
        out, err = process.communicate(timeout=120)
        return process.returncode, out, err


@pytest.fixture
def tree(tmp_path: Path) -> Tree:
    return Tree(tmp_path / "a clone")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Tree:
    """A tree whose environment has been made once; tests that only look share it."""
    tree = Tree(tmp_path_factory.mktemp("made") / "clone")
    code, out, err = tree.run("demo", "--no-serve")
    assert code == 0, err
    tree.first = (out, err)
    return tree


def without(folder: Path, *modules: str) -> str:
    """A PYTHONPATH on which these modules of the standard Python cannot be imported."""
    folder.mkdir()
    for name in modules:
        (folder / f"{name}.py").write_text(f"raise ImportError('no {name} here')\n")
    return str(folder)


# -- the first run and the ones after


def test_the_first_run_goes_on_inside_the_environment_with_its_arguments(made):
    prefix, arguments, halyard, has_fid = json.loads(made.first[0])
    assert Path(prefix) == made.root / ".venv"
    assert arguments == ["demo", "--no-serve"]
    assert Path(halyard).is_relative_to(prefix)
    assert not has_fid


def test_the_first_run_says_what_it_does_on_stderr_alone(made):
    out, err = made.first
    assert len(out.splitlines()) == 1
    assert "making the environment" in err
    assert "installing the packages of requirements.txt" in err
    assert "the environment is ready" in err


def test_a_later_run_is_quick_and_says_nothing_from_any_folder(made, tmp_path):
    begun = time.monotonic()
    code, _, err = made.run("demo", cwd=tmp_path)
    assert (code, err) == (0, "")
    assert time.monotonic() - begun < 3


def test_the_tests_get_what_only_tests_need(tree):
    _, out, err = tree.run("test", "-k", "wire")
    assert "tests/requirements.txt" in err
    assert json.loads(out)[1:2] == [["test", "-k", "wire"]]
    assert json.loads(out)[3] is True
    assert tree.run("demo")[2] == ""


# -- changes, interruptions, two at once


def test_a_changed_lock_is_installed_into_the_environment_that_is_there(tree):
    tree.run("demo")
    (tree.root / ".venv/kept").touch()
    tree.lock("requirements.txt", wheel(tree.wheels, "halyard", "1.1"))
    code, out, err = tree.run("demo")
    assert code == 0
    assert "making" not in err
    assert "VERSION = '1.1'" in Path(json.loads(out)[2]).read_text()
    assert (tree.root / ".venv/kept").exists()


def test_an_environment_made_by_hand_is_taken_over(tree):
    venv.create(tree.root / ".venv", with_pip=True, symlinks=True)
    (tree.root / ".venv/kept").touch()
    code, _, err = tree.run("demo")
    assert code == 0
    assert "making" not in err
    assert (tree.root / ".venv/kept").exists()


def test_a_set_up_killed_half_way_is_done_again(tree):
    process = tree.start("demo")
    assert "making" in process.stderr.readline()
    assert "installing" in process.stderr.readline()
    process.kill()
    process.communicate()
    code, _, err = tree.run("demo")
    assert code == 0, err
    assert "the environment is ready" in err


def test_an_environment_whose_python_is_gone_is_made_anew(tree):
    (tree.root / ".venv/bin").mkdir(parents=True)
    (tree.root / ".venv/bin/python").symlink_to("/usr/bin/python-that-was-removed")
    code, _, err = tree.run("demo")
    assert code == 0, err
    assert "making the environment" in err


def test_of_two_at_once_one_waits_for_the_other(tree):
    both = [tree.start("demo"), tree.start("demo")]
    said = [process.communicate(timeout=120)[1] for process in both]
    assert [process.returncode for process in both] == [0, 0]
    assert sum("making the environment in" in err for err in said) == 1
    assert sum("waiting for it" in err for err in said) == 1


def test_a_package_that_is_not_the_one_locked_is_refused(tree):
    tree.lock("requirements.txt", f"halyard==1.0 --hash=sha256:{'0' * 64}\n")
    code, out, err = tree.run("demo")
    assert (code, out) == (1, "")
    assert "DO NOT MATCH THE HASHES" in err
    assert "run the same command again" in err
    assert not (tree.root / ".venv/stayward.json").exists()


# -- Pythons that lack something


def test_without_ensurepip_the_pip_of_the_system_serves(tree, tmp_path):
    outside = tmp_path / "user/lib/python{}.{}/site-packages".format(*sys.version_info)
    outside.mkdir(parents=True)
    (outside / "pip").symlink_to(Path(find_spec("pip").origin).parent)
    variables = {"PYTHONPATH": without(tmp_path / "lacks", "ensurepip"), "PATH": str(tmp_path)}
    code, out, err = tree.run("demo", PYTHONUSERBASE=str(tmp_path / "user"), **variables)
    assert code == 0, err
    assert Path(json.loads(out)[0]) == tree.root / ".venv"
    assert not list((tree.root / ".venv").glob("lib/*/site-packages/pip"))


def test_without_any_pip_the_one_package_to_install_is_named(tree, tmp_path):
    bare = without(tmp_path / "lacks", "ensurepip", "pip")
    code, out, err = tree.run("demo", PYTHONPATH=bare, PATH=str(tmp_path))
    assert (code, out) == (1, "")
    assert "sudo apt-get install python3-venv" in err


def test_an_old_python_gets_a_sentence():
    script = "import sys; sys.version_info = (3, 9, 2, 'final', 0); sys.version = '3.9.2 (old)'; "
    script += "import runpy; runpy.run_path('manage.py', run_name='__main__')"
    done = subprocess.run(
        [OUTSIDE, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr.strip() == (
        "Stayward needs Python 3.11 or newer; this is 3.9.2. Try: python3.11 manage.py"
    )


def test_manage_py_is_written_in_words_old_pythons_read():
    source = (ROOT / "manage.py").read_text()
    ast.parse(source, feature_version=(3, 4))
    assert not [n for n in ast.walk(ast.parse(source)) if isinstance(n, ast.JoinedStr)]
    assert "main" in runpy.run_path(str(ROOT / "manage.py"))


# -- environments that are the user's own


def test_an_active_environment_is_left_to_its_user(tree, tmp_path):
    venv.create(tmp_path / "own", with_pip=False, symlinks=True)
    code, out, err = tree.run("demo", python=str(tmp_path / "own/bin/python"))
    assert (code, out) == (1, "")
    assert "Django is not installed" in err
    assert not (tree.root / ".venv").exists()


def test_a_variable_turns_the_set_up_off(tree, tmp_path):
    no_django = without(tmp_path / "lacks", "unrelated")
    code, _, err = tree.run(
        "demo", STAYWARD_NO_VENV="1", PYTHONPATH=no_django, PYTHONNOUSERSITE="1"
    )
    assert code == 1
    assert "unset STAYWARD_NO_VENV" in err
    assert not (tree.root / ".venv").exists()


@pytest.mark.parametrize("module", ["manage.py", "fleet/bootstrap.py"])
def test_what_runs_first_needs_the_standard_library_alone(module):
    imported = {
        (node.module if isinstance(node, ast.ImportFrom) else node.names[0].name).split(".")[0]
        for node in ast.walk(ast.parse((ROOT / module).read_text()))
        if isinstance(node, ast.Import | ast.ImportFrom)
    }
    after_set_up = {"fleet", "django"} if module == "manage.py" else set()
    assert imported - after_set_up <= sys.stdlib_module_names

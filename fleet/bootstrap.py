"""Make .venv from the hashed lock files and go on inside it, with the standard library alone.

An environment counts as made when its stamp, written last, names the lock files by their hash
and the Python underneath. Whatever was interrupted before that is simply done again. All words
go to stderr: a command's stdout belongs to its result.
"""

import fcntl
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "stayward.json"
LOCK = VENV / "stayward.lock"
OFF_SWITCH = "STAYWARD_NO_VENV"
RUN_TIME = ("requirements.txt",)
WITH_TESTS = ("requirements.txt", "tests/requirements.txt")
DEBIAN_PACKAGE = "python3-venv"


class SetUpFailed(Exception):
    """The environment could not be made; the message says what to do."""


def enter(arguments: Sequence[str]) -> None:
    """Return inside an environment that has what the command needs, or exit with a sentence.

    `arguments` are those of manage.py. Outside .venv this makes it if need be and replaces the
    process by the same command there, so it does not return.
    """
    if _left_to_the_user():
        _check_django()
        return
    lists = WITH_TESTS if "test" in arguments[:1] else RUN_TIME
    try:
        ensure(lists)
    except SetUpFailed as failure:
        sys.exit(f"stayward: {failure}")
    except KeyboardInterrupt:
        _say("set-up interrupted; the same command goes on with it.")
        sys.exit(130)
    if not _inside_venv():
        os.execv(PYTHON, [str(PYTHON), *sys.orig_argv[1:]])


def ensure(lists: Sequence[str]) -> None:
    """Bring .venv up to the given lock files; one process does the work, others wait for it.

    Raises SetUpFailed when that is not possible.
    """
    if _is_current(lists):
        return
    with _only_one():
        if _is_current(lists):
            return
        begun = time.monotonic()
        _make_venv()
        _install(lists)
        _write_stamp(lists)
        _say(f"the environment is ready ({time.monotonic() - begun:.0f} s).")


# -- who looks after the environment


def _inside_venv() -> bool:
    return Path(sys.prefix).resolve() == VENV.resolve()


def _left_to_the_user() -> bool:
    switched_off = os.environ.get(OFF_SWITCH, "") not in ("", "0")
    foreign = sys.prefix != sys.base_prefix and not _inside_venv()
    return switched_off or foreign


def _check_django() -> None:
    if importlib.util.find_spec("django") is None:
        sys.exit(
            f"stayward: Django is not installed for {sys.executable}. Either install the packages "
            f"there (python -m pip install --require-hashes -r {ROOT / 'requirements.txt'}), or "
            f"leave the active environment and unset {OFF_SWITCH}, and .venv is made for you."
        )


# -- the stamp


def _fingerprint(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _wanted(lists: Sequence[str]) -> dict[str, str]:
    return {name: _fingerprint(ROOT / name) for name in lists}


def _interpreter() -> str:
    """What .venv's python really is: another one, after a system upgrade, sees no packages."""
    return os.path.realpath(PYTHON)


def _is_current(lists: Sequence[str]) -> bool:
    try:
        stamp = json.loads(STAMP.read_text())
    except (OSError, ValueError):
        return False
    installed = stamp.get("installed", {})
    return (
        PYTHON.exists()
        and stamp.get("python") == _interpreter()
        and all(installed.get(name) == value for name, value in _wanted(lists).items())
    )


def _write_stamp(lists: Sequence[str]) -> None:
    draft = STAMP.with_suffix(".draft")
    draft.write_text(json.dumps({"python": _interpreter(), "installed": _wanted(lists)}, indent=1))
    draft.replace(STAMP)


@contextmanager
def _only_one() -> Iterator[None]:
    try:
        VENV.mkdir(exist_ok=True)
        lock = LOCK.open("w")
    except OSError as error:
        raise SetUpFailed(
            f"{VENV} cannot be written ({error.strerror}). Make this folder writable, or activate "
            f"an environment of your own that has the packages of requirements.txt."
        ) from error
    with lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            _say("another process is making the environment; waiting for it.")
            fcntl.flock(lock, fcntl.LOCK_EX)
        # An orphaned pip keeps the lock it inherited, so nobody installs beside it.
        os.set_inheritable(lock.fileno(), True)
        yield


# -- making it


def _make_venv() -> None:
    if _works():
        return
    _say(f"making the environment in {VENV}")
    _clear()
    maker = [_base_python(), "-m", "venv"]
    if _has_ensurepip() or (not _pip_elsewhere() and _install_debian_package()):
        _run([*maker, str(VENV)], "python3 -m venv failed")
    elif _pip_elsewhere():
        _run([*maker, "--without-pip", str(VENV)], "python3 -m venv failed")
    else:
        raise SetUpFailed(
            f"this Python cannot make an environment. Install one package and run the same "
            f"command again: sudo apt-get install {DEBIAN_PACKAGE}"
        )


def _works() -> bool:
    """Whether .venv's python starts, is new enough and can be given packages."""
    sound = "import sys; assert sys.version_info >= (3, 11) and sys.prefix != sys.base_prefix"
    if not PYTHON.exists() or not _succeeds([str(PYTHON), "-c", sound]):
        return False
    return _succeeds([str(PYTHON), "-c", "import pip"]) or _pip_elsewhere()


def _clear() -> None:
    for entry in VENV.iterdir():
        if entry == LOCK:
            continue
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        else:
            entry.unlink()


def _install(lists: Sequence[str]) -> None:
    _say(f"installing the packages of {' and '.join(lists)}; the first time takes about a minute.")
    STAMP.unlink(missing_ok=True)
    options = ["-qq", "--no-input", "--disable-pip-version-check", "--require-hashes"]
    sources = [part for name in lists for part in ("-r", str(ROOT / name))]
    _run(
        [*_pip(), "install", *options, *sources],
        "the packages could not be installed; pip's own words are above. With the network back, "
        "run the same command again: nothing else needs cleaning up",
    )


def _pip() -> list[str]:
    if _succeeds([str(PYTHON), "-c", "import pip"]):
        return [str(PYTHON), "-m", "pip"]
    return [_base_python(), "-m", "pip", "--python", str(PYTHON)]


def _base_python() -> str:
    """The Python outside .venv, also when this process runs inside."""
    return getattr(sys, "_base_executable", sys.executable)


def _has_ensurepip() -> bool:
    return _succeeds([_base_python(), "-c", "import ensurepip"])


def _pip_elsewhere() -> bool:
    """Whether the Python outside has a pip that can serve another one (--python, pip 22.3)."""
    return _succeeds([_base_python(), "-m", "pip", "--python", _base_python(), "--version"])


def _install_debian_package() -> bool:
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        return False
    _say(f"this Python lacks ensurepip; installing Debian's {DEBIAN_PACKAGE}")
    problem = f"apt-get could not install {DEBIAN_PACKAGE}"
    for step in (["update"], ["install", "--no-install-recommends", DEBIAN_PACKAGE]):
        _run(["apt-get", "-qq", "-y", "-o", "Dpkg::Use-Pty=0", *step], problem)
    return True


# -- running and saying


def _run(command: Sequence[str], problem: str) -> None:
    environment = {**os.environ, "PIP_USER": "0", "DEBIAN_FRONTEND": "noninteractive"}
    nothing = subprocess.DEVNULL
    done = subprocess.run(
        command, check=False, stdin=nothing, stdout=nothing, env=environment, close_fds=False
    )
    if done.returncode != 0:
        raise SetUpFailed(f"{problem}.")


def _succeeds(command: Sequence[str]) -> bool:
    done = subprocess.run(command, check=False, capture_output=True, stdin=subprocess.DEVNULL)
    return done.returncode == 0


def _say(sentence: str) -> None:
    print(f"stayward: {sentence}", file=sys.stderr, flush=True)

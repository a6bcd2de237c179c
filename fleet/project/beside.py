"""Settings of the pages' server when `serve` runs it: it ends when `serve` is gone.

Nobody else would end it, and it would keep the port, when `serve` is killed and cannot.
"""

import ctypes
import os
import signal
import sys
import threading
import time

from fleet.project.env import Environment

PR_SET_PDEATHSIG = 1  # prctl(2)
LOOK_SECONDS = 1.0
BESIDE = Environment.read().beside


def on_starting(server) -> None:
    """Let the kernel tell us, where it can: at once, and before any worker is there."""
    if BESIDE and sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, int(signal.SIGTERM), 0, 0, 0)
        if os.getppid() != BESIDE:  # It was gone before we asked.
            sys.exit(0)


def post_fork(server, worker) -> None:
    """Elsewhere look, from each worker: a thread in the server itself would be forked."""
    if BESIDE and sys.platform != "linux":
        end_when_gone(BESIDE, os.getppid())


def end_when_gone(watched: int, ended: int) -> threading.Thread:
    """Ask a process to end once another is gone; watched from a thread of its own."""
    watch = threading.Thread(target=_watch, args=(watched, ended), daemon=True)
    watch.start()
    return watch


def _watch(watched: int, ended: int) -> None:
    while _is_there(watched):
        time.sleep(LOOK_SECONDS)
    os.kill(ended, signal.SIGTERM)


def _is_there(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:  # There, and somebody else's.
        return True
    return True

"""Start runs and kill them: a process with all imports, which forks a process for each request.

Started by the tests as ``python killed_runs.py``; each line it reads is a JSON request and answered by a line:
``lab`` the laboratory's folder, and when to kill: ``after`` so many seconds, or as soon as a file is there that
``appears`` (a pattern below that folder) and is new or changed; with neither the run ends normally.
The answer has ``killed`` and the ``seconds`` the run took.
"""

import contextlib
import json
import os
import signal
import sys
import time
import traceback
from pathlib import Path

from pipelines.flows import steps
from pipelines.settings import Laboratory


def run_once(lab: Path) -> int:
    try:
        steps.run(Laboratory(lab))
    except BaseException:
        traceback.print_exc()
        return 1
    return 0


def present(lab: Path, pattern: str | None) -> set[tuple[Path, int]]:
    """Return the files of a pattern, each with when it was last changed."""
    found = set()
    for path in lab.glob(pattern) if pattern else ():
        with contextlib.suppress(FileNotFoundError):
            found.add((path, path.stat().st_ctime_ns))
    return found


def answer(lab: Path, after: float | None, appears: str | None) -> dict[str, object]:
    before = present(lab, appears)
    begun = time.monotonic()
    child = os.fork()
    if child == 0:
        os._exit(run_once(lab))
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return {"killed": False, "status": status, "seconds": time.monotonic() - begun}
        late = after is not None and time.monotonic() - begun >= after
        if late or present(lab, appears) - before:
            os.kill(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            return {"killed": os.WIFSIGNALED(status), "status": status, "seconds": time.monotonic() - begun}
        time.sleep(0.0002)


if __name__ == "__main__":
    for line in sys.stdin:
        request = json.loads(line)
        print(
            json.dumps(answer(Path(request["lab"]), request.get("after"), request.get("appears"))), flush=True
        )

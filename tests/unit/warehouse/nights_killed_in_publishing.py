"""Runs that are killed while they publish: a process that has imported everything, and forks one for each request.

Each line it reads is a JSON request: ``lab`` the laboratory's folder, and ``at`` the number of the step that it must
not live to take, or null. A step is whatever changes a name below ``published/``, or opens a file there to write. Each
is told in a line before it is taken; an empty line ends the answer.
"""

import json
import os
import signal
import sys
import traceback
from pathlib import Path
from typing import Any

from pipelines.flows import steps
from pipelines.settings import Laboratory

NAMES_CHANGE = {"os.rename", "os.remove", "os.link", "os.mkdir", "os.rmdir"}


def night(lab: Path, at: int | None) -> None:
    taken = 0
    published = str(lab / "published")

    def hook(event: str, arguments: tuple[Any, ...]) -> None:
        nonlocal taken
        writes = event == "open" and arguments[1] is not None and arguments[1][:1] in ("w", "x", "a")
        if not (event in NAMES_CHANGE or writes):
            return
        # Within a folder that is being removed, names are relative to it.
        if event not in ("os.remove", "os.rmdir") and not str(arguments[0]).startswith(published):
            return
        if taken == at:
            os.kill(os.getpid(), signal.SIGKILL)
        taken += 1
        print(event, Path(arguments[0]).name, flush=True)

    sys.addaudithook(hook)
    steps.run(Laboratory(lab))


if __name__ == "__main__":
    for line in sys.stdin:
        request = json.loads(line)
        child = os.fork()
        if child == 0:
            try:
                night(Path(request["lab"]), request["at"])
            except BaseException:
                traceback.print_exc()
                os._exit(1)
            os._exit(0)
        os.waitpid(child, 0)
        print(flush=True)

"""Hand this run over to another command, for good."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def hand_over(command: list[str], environ: dict[str, str] | None = None, folder: Path | None = None) -> int:
    """Become `command`, in `folder`; on Windows, which can't, run it and return its exit code."""
    sys.stdout.flush()
    sys.stderr.flush()
    environ = dict(os.environ) if environ is None else environ
    if os.name != "nt":
        if folder is not None:
            os.chdir(folder)
        os.execve(command[0], command, environ)
    import signal
    import subprocess

    # Ctrl-C reaches the command too, and how to end is its affair.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    return subprocess.call(command, env=environ, cwd=folder)

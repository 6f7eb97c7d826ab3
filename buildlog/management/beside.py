"""A process beside the app: begun with it, ended with it, and begun again when it dies by itself."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Sequence

PAUSE_S = 5.0  # before it is begun again: whatever killed it may still be there
PATIENCE_S = 20.0  # what it is in the middle of is finished first


class Beside:
    """Runs a command until ``end``. A system that runs out of memory kills the process with the most, which is it."""

    def __init__(self, command: Sequence[str], pause_s: float = PAUSE_S) -> None:
        self._command, self._pause_s = [*command], pause_s
        self._told, self._change = threading.Event(), threading.Lock()
        self._process = subprocess.Popen(self._command)
        threading.Thread(target=self._watch, daemon=True).start()

    @property
    def pid(self) -> int:
        return self._process.pid

    def _watch(self) -> None:
        while True:
            code = self._process.wait()
            self._told.wait(self._pause_s)
            with self._change:  # not between being told to end and ending
                if self._told.is_set():
                    return
                print(f"What looks after forecasts ended by itself ({code}) and is begun again.", file=sys.stderr)
                self._process = subprocess.Popen(self._command)

    def end(self, patience_s: float = PATIENCE_S) -> None:
        """Tell it to end, and wait for that; kill it when it takes too long."""
        with self._change:
            self._told.set()
        self._process.terminate()
        try:
            self._process.wait(timeout=patience_s)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

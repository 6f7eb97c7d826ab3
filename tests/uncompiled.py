"""`pytest -p tests.uncompiled`: runs the trials without the compiler, for tools that see lines of Python only.

Some hundred times slower: bearable for the small trials alone.
"""

from __future__ import annotations

import os

os.environ["NUMBA_DISABLE_JIT"] = "1"  # read when numba comes

import numpy as np  # noqa: E402
import pytest  # noqa: E402

from buildlog.core.forecast.simulate import records  # noqa: E402

for _name, _kind in list(vars(records).items()):
    if isinstance(_kind, np.dtype) and _kind.names:  # the compiler reads fields as attributes; numpy needs to be told
        setattr(records, _name, np.dtype((np.record, _kind)))


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("filterwarnings", "ignore:overflow encountered in scalar")  # random bits wrap round

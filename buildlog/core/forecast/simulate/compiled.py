"""How the steps of the trials are compiled: cached on disk, each into whatever calls it, and without counting
references to arrays.

The steps pass a few arrays to each other and allocate nothing. Handing the arrays over at each call, or counting
references to them, would cost several times the work itself: calls are therefore inlined and counting is off. What
allocates is compiled with ``whole``, which also lets other threads run.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

jit: Any = numba.njit  # these options are unknown to its types
Function = TypeVar("Function", bound=Callable[..., Any])


def step(function: Function) -> Function:
    """Compile a function that allocates nothing."""
    return cast(Function, jit(cache=True, forceinline=True, _nrt=False, error_model="numpy")(function))


def whole(function: Function) -> Function:
    """Compile a function that may allocate arrays; it runs beside others."""
    return cast(Function, jit(cache=True, nogil=True, error_model="numpy")(function))

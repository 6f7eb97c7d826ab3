"""How the steps of the trials are compiled: cached on disk, and without counting references to arrays.

The steps pass a few arrays to each other and allocate nothing. Counting references at each call would cost many times
the work itself, so it is off; whatever allocates is compiled with ``whole``, which also lets other threads run.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

jit: Any = numba.njit  # counting references is an option that its types do not know
Function = TypeVar("Function", bound=Callable[..., Any])


def step(function: Function) -> Function:
    """Compile a function that allocates nothing."""
    return cast(Function, jit(cache=True, _nrt=False, error_model="numpy")(function))


def whole(function: Function) -> Function:
    """Compile a function that may allocate arrays; it runs beside others."""
    return cast(Function, jit(cache=True, nogil=True, error_model="numpy")(function))

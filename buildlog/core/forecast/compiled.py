"""How the steps of the trials are compiled: cached on disk, and without counting references to arrays.

The steps pass a few arrays to each other and allocate nothing. Counting references at each call would cost many times
the work itself, so it is off; whatever allocates is compiled apart.
"""

from __future__ import annotations

from numba import njit

step = njit(cache=True, _nrt=False, error_model="numpy")

# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""How the planner's loops are compiled by numba."""

from __future__ import annotations

from typing import Any

from numba import njit
from numba.core.compiler import CompilerBase, DefaultPassBuilder


class _Apart(CompilerBase):
    """Tells the compiler that no two arguments overlap, as `restrict` does in C.

    Short loops that write to one array and read others are several times as fast for it,
    since nothing has to be checked before each of them.
    """

    def define_pipelines(self):
        self.state.flags.noalias = True
        return [DefaultPassBuilder.define_nopython_pipeline(self.state)]


_HOW: dict[str, Any] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"reassoc", "contract", "nsz"},
}
# References to arrays are not counted, which would cost more than a short loop; for that
# nothing may be allocated.
_LEAN: dict[str, Any] = {"forceinline": True, "_nrt": False}

compile_whole: Any = njit(**_HOW)
"""For a function that stands alone and makes the arrays it gives back."""

compile_steps: Any = njit(**_HOW, **_LEAN)
"""For functions that lead through a computation on arrays they are given."""

compile_line: Any = njit(pipeline_class=_Apart, **_HOW, **_LEAN)
"""For one loop over lanes; what its arguments name must not overlap where it writes."""

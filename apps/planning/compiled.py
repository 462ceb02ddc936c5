"""Compiled inner loops: where numba comes in, and whether what it made is there already.

Kernels are plain functions of numbers and numpy arrays, decorated with `jit`, in one file for
each engine: numba notices that a file changed, not that a function it calls in
another file did. Such a file is imported only when its engine works, since numba takes half a
second to load. What is compiled is kept under `NUMBA_CACHE_DIR`, which whoever starts the
program sets to a place in the data folder, and is loaded from there in milliseconds.

Compiling takes seconds, so it is never done inside a request: `manage.py bench` calls `warm`
before its clock starts, and nothing that answers a person uses a kernel.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from hashlib import sha256
from importlib import import_module
from importlib.metadata import version
from pathlib import Path
from typing import Any, ParamSpec, TypeVar, cast

P = ParamSpec("P")
R = TypeVar("R")

# What answers a person; the list core only answers `manage.py bench`, which warms it itself.
# Every file of kernels has a function `warm()` that calls each of them once, on something tiny
# whose numbers and arrays have the very types of real use.
KERNELS = ("apps.planning.year.kernels",)

HERE = Path(__file__).resolve().parent


def jit(function: Callable[P, R]) -> Callable[P, R]:
    """Compile at first use, or load what was compiled before; the interpreter's lock is let go."""
    import numba  # noqa: PLC0415 (half a second: only for whoever computes)

    compiled: Any = numba.njit(cache=_folder() is not None, nogil=True)(function)
    return cast("Callable[P, R]", compiled)


def ready() -> bool:
    """Whether everything is compiled on this machine, so that nothing has to be now."""
    marker = _marker()
    return marker is not None and marker.exists()


def warm() -> bool:
    """Compile whatever is not yet; whether there was anything to do."""
    if ready():
        return False
    for name in _present():
        import_module(name).warm()
    marker = _marker()
    if marker is not None:
        marker.parent.mkdir(parents=True, exist_ok=True)
        marker.touch()
    return True


def _folder() -> Path | None:
    named = os.environ.get("NUMBA_CACHE_DIR")
    return Path(named) if named else None


def _marker() -> Path | None:
    """An empty file whose name stands for these sources on this Python and this numba."""
    folder = _folder()
    if folder is None:
        return None
    digest = sha256(f"{sys.version} {version('numba')}".encode())
    for name in _present():
        digest.update(_file(name).read_bytes())
    return folder / f"all-compiled-{digest.hexdigest()[:16]}"


def _present() -> list[str]:
    return [name for name in KERNELS if _file(name).exists()]


def _file(name: str) -> Path:
    return HERE.joinpath(*name.split(".")[2:]).with_suffix(".py")

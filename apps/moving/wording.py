"""Sizes in words."""

from __future__ import annotations


def mib(byte_size: int) -> str:
    """ "0.4 MiB"."""
    return f"{byte_size / 1024**2:.1f} MiB"

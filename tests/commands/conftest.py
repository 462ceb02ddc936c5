"""The demo house as `manage.py start --demo` makes it: made once, copied for whoever changes it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from shutil import copytree

import pytest

from tests.installation import Installation


@dataclass(frozen=True)
class Demo:
    installation: Installation
    printed: str


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """From a fresh clone, with what it printed."""
    installation = Installation(tmp_path_factory.mktemp("demo"))
    return Demo(
        installation, installation.manage("start", "--demo", "--no-serve", "--port", "8123")
    )


@pytest.fixture
def demo_copy(demo: Demo, tmp_path: Path) -> Path:
    """A folder with the same data in it, to be changed."""
    copytree(demo.installation.folder / "data", tmp_path / "data")
    return tmp_path

"""Make the pictures of the tour again: `.venv/bin/python docs/picture-tour/make.py`.

Needs the development packages and Debian's Chromium. Starts the demo house in a temporary data
folder, signs in, and photographs each stop at the size of a phone and of a desk.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from shutil import which
from typing import Any

from playwright.sync_api import sync_playwright

HERE = Path(__file__).resolve().parent
REPOSITORY = HERE.parent.parent
PORT = 8419
SIZES = {"phone": (390, 844), "desk": (1280, 800)}
SCHEMES = {"phone": "dark", "desk": "light"}
# Name of the picture, address, and what is tapped before the picture is taken.
STOPS = (
    ("tonight", "/tonight/", ""),
    ("week", "/week/", ""),
    ("floor", "/floor/?floor=1", ""),
    ("timber", "/timber/", ""),
    ("checks", "/checks/", ""),
    ("looks", "/looks/", ""),
    ("house", "/house/", ""),
)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "LIFTED_BOARDS_DATA": folder, "PYTHONUNBUFFERED": "1"}
        log = Path(folder) / "start.log"
        with log.open("wb") as out:
            server = subprocess.Popen(
                [sys.executable, "manage.py", "start", "--demo", "--port", str(PORT)],
                cwd=REPOSITORY, env=environment, stdout=out, stderr=out,
            )  # fmt: skip
        try:
            take(ticket_of(log, server))
        finally:
            server.terminate()
            server.wait()


def ticket_of(log: Path, server: subprocess.Popen[bytes]) -> str:
    """The sign-in address, once the program serves."""
    while server.poll() is None:
        said = log.read_text()
        if "Serving on" in said:
            found = re.search(r"http://\S+/sign-in/\S+/", said)
            assert found, said
            return found.group()
        time.sleep(0.2)
    raise SystemExit(log.read_text())


def take(ticket: str) -> None:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=which("chromium"), args=["--no-sandbox"])
        context = browser.new_context()
        page = context.new_page()
        page.goto(ticket)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/tonight/**")
        signed_in = context.storage_state()
        for size, (width, height) in SIZES.items():
            photograph(browser, signed_in, size, width, height)
        browser.close()


def photograph(browser: Any, signed_in: Any, size: str, width: int, height: int) -> None:
    context = browser.new_context(
        storage_state=signed_in,
        viewport={"width": width, "height": height},
        color_scheme=SCHEMES[size],
    )
    page = context.new_page()
    for name, path, tap in STOPS:
        page.goto(f"http://127.0.0.1:{PORT}{path}")
        if tap:
            page.click(tap)
        page.screenshot(path=str(HERE / f"{name}-{size}.png"))
    context.close()


if __name__ == "__main__":
    main()

"""What a page weighs and when it first shows, on the demo house, in Chromium.

    .venv/bin/python -m tests.benchmarks.page_speed [--times 5]

Starts the demo house in a temporary data folder. "Cold" is a browser that has never been here
(style, scripts and page, compressed as sent); "again" the same page a second time. First paint is
the browser's own first-contentful-paint, from the start of the navigation.
"""

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
from pathlib import Path
from shutil import which
from typing import Any

from playwright.sync_api import sync_playwright

from tests.installation import Installation, free_port, is_listening, until

PAGES = ("/tonight/", "/week/", "/floor/", "/timber/", "/checks/", "/looks/", "/house/")
PAINT = """new Promise(done => new PerformanceObserver((list, observer) => {
  const [first] = list.getEntriesByName('first-contentful-paint');
  if (first) { observer.disconnect(); done(first.startTime); }
}).observe({type: 'paint', buffered: true}))"""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=5)
    times = parser.parse_args().times
    with tempfile.TemporaryDirectory() as folder:
        installation, port = Installation(Path(folder)), free_port()
        try:
            installation.process("start", "manage.py", "start", "--demo", "--port", str(port))
            until(lambda: is_listening(port), "the program to answer")
            ticket = installation.manage("sign_in", "--port", str(port)).strip()
            with sync_playwright() as driver:
                browser = driver.chromium.launch(
                    executable_path=which("chromium"), args=["--no-sandbox"]
                )
                measure(browser, f"http://127.0.0.1:{port}", ticket, times)
                browser.close()
        finally:
            installation.close()
    print(f"load {os.getloadavg()[0]:.1f}, {times} times, phone 390 x 844")


def measure(browser: Any, address: str, ticket: str, times: int) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(ticket)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{address}/tonight/**")
    signed_in = context.storage_state()
    context.close()
    print("page | cold [kB] | again [kB] | first paint, cold, middle and worst [ms]")
    for path in PAGES:
        cold, again, paints = [], [], []
        for _ in range(times):
            fresh = browser.new_context(
                storage_state=signed_in,
                viewport={"width": 390, "height": 844},
                service_workers="block",
            )
            kilobytes, paint = visited(fresh, address + path)
            cold.append(kilobytes)
            paints.append(paint)
            again.append(visited(fresh, address + path)[0])
            fresh.close()
        print(
            f"{path} | {max(cold):.1f} | {max(again):.1f} | "
            f"{statistics.median(paints):.0f}, {max(paints):.0f}"
        )


def visited(context: Any, address: str) -> tuple[float, float]:
    """Kilobytes received for a page and all it asked for, and when it first painted [ms]."""
    page = context.new_page()
    received = []
    network = context.new_cdp_session(page)
    network.send("Network.enable")
    network.on("Network.loadingFinished", lambda done: received.append(done["encodedDataLength"]))
    page.goto(address, wait_until="networkidle")
    paint = page.evaluate(PAINT)
    page.close()
    return sum(received) / 1000, paint


if __name__ == "__main__":
    main()

"""A house taken along on the phone and brought in again, in an installation of its own: there it is
then twice."""

from __future__ import annotations

import pytest

from tests.browser.conftest import SIZES, Visitor, sign_in, started
from tests.browser.test_for_everyone import faults


@pytest.fixture
def site(tmp_path):
    yield from started(tmp_path, "--demo", "--no-plan")


def test_a_house_is_fetched_as_a_file_and_brought_in(site, new_context, tmp_path):
    visitor = Visitor(new_context(viewport=SIZES["phone"]).new_page()).watch()
    page = visitor.page
    sign_in(page, site)

    page.goto(f"{site.address}/house/")
    page.get_by_role("link", name="Take this house along").click()
    page.get_by_role("button", name="Make the file").click()
    fetch = page.get_by_role("link", name="Fetch it")
    fetch.wait_for()
    found = faults(visitor, page.url)
    with page.expect_download() as fetched:
        fetch.click()
    whole, half = tmp_path / "lane.house", tmp_path / "half.house"
    fetched.value.save_as(whole)
    half.write_bytes(whole.read_bytes()[:-500])

    page.get_by_role("link", name="14 Tidemill Lane").click()
    page.get_by_role("link", name="Bring in a house from a file").click()
    for file, words in ((half, "it was cut short."), (whole, "14 Tidemill Lane is here.")):
        page.get_by_label("A house's file").set_input_files(file)
        page.get_by_role("button", name="Bring it in").click()
        page.get_by_text(words).wait_for()
        found += faults(visitor, page.url)
    page.get_by_role("link", name="Open 14 Tidemill Lane").click()
    page.wait_for_url(f"{site.address}/tonight/?property=2")

    assert found == []
    assert (visitor.console, visitor.hosts) == ([], {site.address.removeprefix("http://")})

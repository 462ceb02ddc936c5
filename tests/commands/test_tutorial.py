"""The pages one learns from, done as they say by somebody who has just cloned the program."""

from __future__ import annotations

from contextlib import contextmanager

from tests.installation import REPOSITORY, Installation, free_port, is_listening, until
from tests.walkthrough import Reader, follow


def page(name):
    return (REPOSITORY / name).read_text(encoding="utf-8")


@contextmanager
def a_reader_with(folder, *words):
    """Somebody with a terminal, and `manage.py start` running in another window."""
    installation = Installation(folder)
    port = free_port()
    try:
        installation.process("start", "manage.py", "start", *words, "--port", str(port))
        until(lambda: is_listening(port), "the server")
        yield Reader(installation.manage, f"http://127.0.0.1:{port}")
    finally:
        installation.close()


def test_the_evening_on_the_demo_house_goes_as_told(tmp_path):
    with a_reader_with(tmp_path, "--demo") as reader:
        ran = follow(page("docs/tutorial/one-evening.md"), reader)

    assert ran > 10


def test_a_house_of_ones_own_comes_to_its_first_plan_as_told(tmp_path):
    with a_reader_with(tmp_path) as reader:
        ran = follow(page("docs/how-to/your-own-house.md"), reader)

    assert ran > 10

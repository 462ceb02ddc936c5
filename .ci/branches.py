"""Which branches of the pure modules their unit and external tests take, counted while the whole
suite runs: those tests need not run a second time for it.

A pytest plugin, loaded by `PYTEST_PLUGINS` so that it counts from the first import on.
"""

from __future__ import annotations

from contextlib import contextmanager
from functools import wraps
from itertools import count

import pytest
from coverage import Coverage

COUNTED = ("tests/unit/", "tests/external/")
# The docs and the document touch no pure module. The others try very many cases of what shorter
# tests reach too, and counting takes as long again as running: they are run and not counted.
NOT_COUNTED = (
    "tests/unit/test_docs.py",
    "tests/external/test_openapi_document.py",
    "tests/external/test_problem_details_rfc9457.py",
    "tests/external/test_job_shop.py",
    "tests/external/test_touched_by_sampling.py",
    "tests/external/test_way_by_flooding.py",
    "tests/external/test_levels.py::test_no_stack_on_any_bearing_does_better",
    "tests/unit/test_chain.py",
    "tests/unit/test_completion_pdf.py::test_what_looks_like_markup_comes_out_as_text",
    "tests/unit/test_proposals.py::test_every_option_that_is_possible",
    "tests/unit/test_proposals.py::test_fixings_of_a_sister_keep_the_distances",
    "tests/unit/test_sistering.py::test_more_load_or_span_never_uses_less",
    "tests/unit/test_support.py::test_losing_a_joist_never_supports_a_board_more",
)

EXAMPLES_COUNTED = 20
"""Of a property; its others are run and not counted, for the same reason."""

branches = Coverage(data_suffix=True)
branches.start()


def pytest_configure(config):
    """Who only hands tests to others has nothing to count."""
    if config.getoption("numprocesses", None) and not hasattr(config, "workerinput"):
        branches.stop()


def pytest_collection_finish():
    branches.stop()


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item):
    if not item.nodeid.startswith(COUNTED) or item.nodeid.startswith(NOT_COUNTED):
        return (yield)
    with first_examples_only(getattr(item, "obj", None)):
        branches.start()
        try:
            return (yield)
        finally:
            branches.stop()


@contextmanager
def first_examples_only(test):
    """By the handle of a property that hypothesis has for plugins; other tests have none."""
    if not (handle := getattr(test, "hypothesis", None)):
        yield
        return
    inner, examples = handle.inner_test, count()

    @wraps(inner)
    def counted_at_first(*given, **drawn):
        if next(examples) == EXAMPLES_COUNTED:
            branches.stop()
        return inner(*given, **drawn)

    handle.inner_test = counted_at_first
    try:
        yield
    finally:
        handle.inner_test = inner


def pytest_unconfigure():
    branches.save()

"""Canonical JSON against the examples of RFC 8785 that hold no fractions.

Source: RFC 8785, JSON Canonicalization Scheme (June 2020), sections 3.2.2 (the string of its
sample), 3.2.3 and 3.2.4 (literals, order, UTF-8), as remembered: the text was not at hand.
"""

import pytest

from apps.inspections.chain import canonical

# Section 3.2.2: the value of "string" in its sample, as JSON text, and as it is to come out.
SAMPLE = '\u20ac$\u000f\nA\'B"\\\\"/'
SAMPLE_OUT = '"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"'


def test_the_sample_string_is_written_as_published():
    assert canonical(SAMPLE).decode() == SAMPLE_OUT


def test_the_sample_object_is_sorted_and_without_space():
    sample = {"string": SAMPLE, "literals": [None, True, False]}

    assert canonical(sample).decode() == f'{{"literals":[null,true,false],"string":{SAMPLE_OUT}}}'


def test_texts_are_utf_8_and_not_escaped():
    assert canonical("€").hex() == "22e282ac22"


@pytest.mark.parametrize(
    ("sign", "escape"),
    [
        ("\b", "\\b"),
        ("\t", "\\t"),
        ("\n", "\\n"),
        ("\f", "\\f"),
        ("\r", "\\r"),
        ("\x1f", "\\u001f"),
    ],
)
def test_controls_have_the_published_escapes(sign, escape):
    assert canonical(sign).decode() == f'"{escape}"'

"""Tests of commission.report.head."""

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.report.head import head_code


def test_code_has_four_groups_of_six() -> None:
    """A digest is read out as four groups of six characters."""
    assert [len(group) for group in head_code("9f" * 32).split("-")] == [6, 6, 6, 6]


def test_known_answer_of_the_base_32_alphabet() -> None:
    """RFC 4648, clause 10: `fooba` is MZXW6YTB, so fifteen bytes of it are that three times."""
    assert head_code((b"fooba" * 3 + b"!" * 17).hex()).replace("-", "") == "MZXW6YTB" * 3


@given(st.binary(min_size=32, max_size=32))
def test_code_gives_the_digest_back_as_far_as_it_goes(digest: bytes) -> None:
    """The code is the first 120 bits, nothing else."""
    assert base64.b32decode(head_code(digest.hex()).replace("-", "")) == digest[:15]


def test_what_is_no_digest_is_refused() -> None:
    """Text that is not hex has no code."""
    with pytest.raises(ValueError, match="non-hexadecimal"):
        head_code("no digest")


def test_an_empty_record_has_an_empty_code() -> None:
    """No digest, no code."""
    assert head_code("") == ""

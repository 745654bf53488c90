"""Whether a unit proves to be a practice unit (safety rule R15)."""

import hashlib
import random

import pytest

from commission.link.practice_check import PracticeIdentity, expected_answer, practice_identity
from tests.link.lines import open_line
from tests.link.servers import Device, practice_objects
from tests.virtual_time import run_virtual


def _identity(device: Device, *, rtu: bool = False) -> PracticeIdentity | None:
    async def main() -> PracticeIdentity | None:
        async with open_line(device, rtu=rtu) as (line, _):
            return await practice_identity(line, random.Random(4))

    return run_virtual(main())


@pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])
@pytest.mark.parametrize(("speed", "number"), [("20", 20.0), ("1", 1.0), ("12.5", 12.5)])
def test_r15_right_answers_prove_a_practice_unit(speed: str, number: float, *, rtu: bool) -> None:
    """Claim and three answers right: a practice unit, at the speed that it gives."""
    assert _identity(Device(objects=practice_objects(speed)), rtu=rtu) == PracticeIdentity(number)


def test_r15_one_wrong_answer_of_three_is_no_practice_unit() -> None:
    """A claim alone, or a replay that misses one answer, proves nothing."""
    assert _identity(Device(objects=practice_objects(wrong=1))) is None


@pytest.mark.parametrize(
    "claim", [b"", b"practice", b"practice speed=0 nonce=00112233aabbccdd", b"practice speed=-2 nonce=00112233aabbccdd"]
)
def test_r15_a_claim_that_cannot_be_read_is_none(claim: bytes) -> None:
    """Whatever stands in the claim, only the exact form counts."""
    honest = practice_objects("0")
    assert _identity(Device(objects=lambda number: claim if number == 0x80 else honest(number))) is None


def test_r15_unit_without_identification_is_simply_not_practice() -> None:
    """Most field units refuse function 43; that is no fault."""
    assert _identity(Device()) is None


def test_answer_is_the_first_sixteen_digits_of_the_digest() -> None:
    """The rule, computed here in one line of its own."""
    digest = hashlib.sha256(b"practice:00112233aabbccdd:129:20").hexdigest()
    assert expected_answer("00112233aabbccdd", 129, 20.0) == digest[:16].encode()

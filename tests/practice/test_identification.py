"""What the unit says it is."""

import hashlib

from hypothesis import given
from hypothesis import strategies as st

from commission import __version__
from commission.practice.identification import Identification, fresh_identification


@given(st.integers(0x81, 0xFF), st.sampled_from([1.0, 2.5, 60.0]))
def test_challenge_objects(object_id: int, speed: float) -> None:
    """Each private object is the first 16 hex digits of SHA-256 of nonce, object id and speed."""
    said = Identification(tag="XV-1101", speed=speed, nonce="0123456789abcdef")
    digest = hashlib.sha256(f"practice:0123456789abcdef:{object_id}:{speed:g}".encode()).hexdigest()
    assert said.object(object_id) == digest[:16].encode()


def test_plain_objects() -> None:
    """A practice unit, its tag, the program's version, and nothing between there and the private ones."""
    said = Identification(tag="XV-1101", speed=20.0, nonce="0123456789abcdef")
    assert [said.object(number) for number in range(3)] == [b"practice unit", b"XV-1101", __version__.encode()]
    assert said.object(0x80) == b"practice speed=20 nonce=0123456789abcdef"
    assert {said.object(number) for number in range(3, 0x80)} == {None}


def test_nonce_is_fresh() -> None:
    """Two processes never share one; 16 hexadecimal digits."""
    nonces = {fresh_identification("XV-1101", 1.0).nonce for _ in range(20)}
    assert len(nonces) == 20
    assert all(len(nonce) == 16 and int(nonce, 16) >= 0 for nonce in nonces)

"""
SHA-256 as the record uses it, against the examples of FIPS 180-4 and RFC 6962.

Letters: R read in a public copy of the source, C recomputed with a general library, M from memory of the source.
"""

import hashlib

import pytest

from commission.record.event import link_digest
from commission.sample import Block, ReadPlan, Table

# FIPS 180-4 example computations: C with Python's hashlib, attribution M
SHA256 = [
    ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (
        "abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu",
        "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1",
    ),
    ("a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]
IDS = ["empty", "abc", "448 bit", "896 bit", "a million a"]

# RFC 6962, 2.1 (prefix 00 a leaf, 01 a node): R in the public test data of an open implementation, C
LEAF = (b"\x00", "L123456", "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56")
NODE = (b"\x01N123", "N456", "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb")


@pytest.mark.parametrize(("message", "digest"), SHA256, ids=IDS)
def test_link_of_the_published_messages(message: str, digest: str) -> None:
    """With nothing before it, the digest of a text is its SHA-256."""
    assert link_digest(b"", message).hex() == digest


@pytest.mark.parametrize(("message", "digest"), SHA256[1:4], ids=IDS[1:4])
def test_previous_and_text_are_joined_without_a_seam(message: str, digest: str) -> None:
    """Wherever the message is split between the previous digest and the text, the published digest comes out."""
    for at in range(len(message)):
        assert link_digest(message[:at].encode(), message[at:]).hex() == digest


@pytest.mark.parametrize(("previous", "text", "digest"), [LEAF, NODE], ids=["leaf", "node"])
def test_prefix_and_text_as_in_a_published_tree(previous: bytes, text: str, digest: str) -> None:
    """SHA-256 over prefix and data, as RFC 6962 hashes leaves and nodes."""
    assert link_digest(previous, text).hex() == digest


def test_the_digest_of_a_read_plan_is_plain_sha256_of_its_text() -> None:
    """The name of a plan in the record can be made by anybody with SHA-256."""
    plan = ReadPlan(1, (Block(Table.INPUT, 0, 2),))
    text = '{"unit_id":1,"blocks":[{"table":"input","address":0,"count":2}]}'
    assert plan.digest == hashlib.sha256(text.encode()).hexdigest()

"""A playbook that was begun and not played to its end fails its test."""

from collections.abc import Iterator

import pytest

from tests.procedures.playbook import Playbook


@pytest.fixture(autouse=True)
def playbooks() -> Iterator[None]:
    """Every playbook of a test is finished by it."""
    Playbook.unfinished.clear()
    yield
    left = [playbook.requests[-1:] for playbook in Playbook.unfinished]
    Playbook.unfinished.clear()
    assert not left, f"unfinished playbooks, last asked: {left}"

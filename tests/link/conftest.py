"""The serial library's `socket://` port naps 0.3 s of real time when it closes; nobody here needs that."""

import types

import pytest
from serial.urlhandler import protocol_socket


@pytest.fixture(autouse=True)
def no_nap(monkeypatch: pytest.MonkeyPatch) -> None:
    """Closing a port takes no time."""
    monkeypatch.setattr(protocol_socket, "time", types.SimpleNamespace(sleep=lambda _seconds: None))

"""
Two habits of the serial library's `socket://` port that real serial ports do not have are taken off here: it naps 0.3 s
of real time when it closes, and it lets the kernel hold a frame back until the one before is acknowledged, which takes
40 ms of real time and so never happens in virtual time.
"""

import socket
import types

import pytest
from serial.urlhandler import protocol_socket


@pytest.fixture(autouse=True)
def like_a_serial_port(monkeypatch: pytest.MonkeyPatch) -> None:
    """Closing takes no time, and each frame leaves at once."""
    plain_open = protocol_socket.Serial.open

    def open_without_delay(port: protocol_socket.Serial) -> None:
        plain_open(port)
        port._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    monkeypatch.setattr(protocol_socket, "time", types.SimpleNamespace(sleep=lambda _seconds: None))
    monkeypatch.setattr(protocol_socket.Serial, "open", open_without_delay)

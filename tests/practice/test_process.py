"""A practice unit in a process of its own, asked by an independent client."""

import json
import os
import signal
import socket
import struct
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from pyModbusTCP.client import ModbusClient

from commission.practice.process import NotStarted, running, start
from tests.practice.made import XV_1101


def ask_site(control: str, **request: object) -> object:
    """One line to the people on site."""
    host, port = control.split(":")
    with socket.create_connection((host, int(port)), timeout=5) as connection, connection.makefile("rwb") as stream:
        stream.write(json.dumps(request).encode() + b"\n")
        stream.flush()
        reply = json.loads(stream.readline())
    return reply.get("value", reply)


def test_register_map_by_an_independent_client() -> None:
    """Every number and bit that pyModbusTCP reads equals the truth (map: trade guide 10.4)."""
    with running(XV_1101, start_at="open", seed=4) as unit:
        host, port = unit.at.url.split("//")[1].split("?")[0].split(":")
        client = ModbusClient(host, int(port), unit_id=11, timeout=2.0)
        first, last = client.read_input_registers(10, 13), client.read_input_registers(24, 3)
        bits, settings = client.read_discrete_inputs(0, 8), client.read_holding_registers(10, 5)
        truth = ask_site(unit.at.control, read="truth")
        client.close()
    assert isinstance(truth, dict)
    floats = [struct.unpack(">f", struct.pack(">HH", first[i + 1], first[i]))[0] for i in (0, 2, 4)]
    assert floats[0] == pytest.approx(truth["travel_pct"], abs=0.06)
    assert floats[1] == pytest.approx(truth["pressure_bar"], abs=0.11)
    assert floats[2] == pytest.approx(24.37 - 0.76 * 0.0439, abs=0.025)
    assert first[6:] == [200, 0, round(truth["tank_l"] / 12 * 100), 37, 4210, 0, pytest.approx(20_000, abs=5)]
    assert struct.unpack(">f", struct.pack(">HH", last[1], last[0]))[0] == pytest.approx(61.8, abs=0.03)
    assert last[2] == 0
    assert bits == [True, False, False, True, True, True, True, True]
    assert settings == [300, 6, 60, 240, 15]


def test_ends_cleanly_on_request() -> None:
    """SIGTERM: status 0, and the port is gone."""
    unit = start(XV_1101)
    assert unit.pid > 0
    assert unit.end() == 0
    assert not unit.running
    host, port = unit.at.control.split(":")
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((host, int(port)), timeout=1)


def test_a_killed_parent_leaves_the_unit_running() -> None:
    """The program that started it is killed; the unit still answers, because a valve does not stop for a laptop."""
    code = f"""
        import sys, time
        from pathlib import Path
        from commission.practice.process import start
        unit = start(Path({str(XV_1101)!r}))
        print(unit.pid, unit.at.control, flush=True)
        sys.stdin.read()
    """
    parent = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert parent.stdout is not None
    assert parent.stdin is not None
    pid, control = parent.stdout.readline().decode().split()
    try:
        parent.kill()
        parent.wait()
        assert ask_site(control, read="stem") == 0.0
    finally:
        os.kill(int(pid), signal.SIGTERM)
        parent.stdout.close()
        parent.stdin.close()


def test_what_went_wrong_is_told(tmp_path: Path) -> None:
    """A sheet that is not there: one sentence, no traceback."""
    with pytest.raises(NotStarted) as caught:
        start(tmp_path / "none.toml")
    assert "none.toml" in str(caught.value)
    assert "Traceback" not in str(caught.value)

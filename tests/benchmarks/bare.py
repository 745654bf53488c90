"""
What the machine itself gives, beside the app: bare programs that do one thing each and nothing else.

They run right after what they are held against, not during it: on two cores they would be what is measured.
"""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from commission.content import checklists_folder
from commission.sample import ReadPlan, Table
from tests.benchmarks.at_terminal import AtTerminal

QUICK = "import commission.practice.server as s; s.TURNAROUND_S = 0.001; from commission.practice.__main__ import main"
"""A practice unit that answers in 1 ms, as a quick unit on Ethernet does."""

KEY_S = 0.005
"""What the bare program works for a key; about what a repainted screen takes."""

_READS = {Table.COIL: "coils", Table.DISCRETE: "discrete_inputs", Table.HOLDING: "holding_registers"}

_ECHO = f"""
import os, time, tty
tty.setraw(0)
os.write(1, b"ready")
while (key := os.read(0, 100)) != b"\\x11":
    until = time.thread_time() + {KEY_S}
    while time.thread_time() < until:
        pass
    os.write(1, b"<" + key + b">")
"""

_POLL = """
import asyncio, json, sys, time
from pymodbus.client import AsyncModbusTcpClient

async def main(port, unit_id, reads, period_s, cycles):
    client = AsyncModbusTcpClient("127.0.0.1", port=port, timeout=3, retries=0)
    await client.connect()
    due_s, seen_s = time.monotonic(), []
    for _ in range(cycles):
        await asyncio.sleep(max(0.0, due_s - time.monotonic()))
        for name, address, count in reads:
            sent_s = time.monotonic()
            await getattr(client, "read_" + name)(address, count=count, device_id=unit_id)
        seen_s.append((sent_s + time.monotonic()) / 2)
        due_s += (max(0.0, time.monotonic() - due_s) // period_s + 1) * period_s
    client.close()
    print(json.dumps(seen_s))

asyncio.run(main(*json.loads(sys.argv[1])))
"""


@contextmanager
def _quick_unit() -> Iterator[int]:
    """A practice unit in a process of its own; its port."""
    sheet = checklists_folder() / "units" / "xv-1101.toml"
    code = f"import sys; {QUICK}; sys.exit(main(sys.argv[1:]))"
    unit = subprocess.Popen([sys.executable, "-c", code, str(sheet)], stdout=subprocess.PIPE, start_new_session=True)
    try:
        assert unit.stdout is not None
        url: str = json.loads(unit.stdout.readline())["url"]
        yield int(url.rpartition(":")[2].partition("?")[0])
    finally:
        unit.terminate()
        unit.wait()
        if unit.stdout is not None:
            unit.stdout.close()


def echoes(keys: int, gap_s: float) -> list[float]:
    """Seconds from key to echo of a program at a terminal of its own that works `KEY_S` for each."""
    bare = AtTerminal("-c", _ECHO)
    try:
        bare.until("ready")
        found = []
        for _ in range(keys):
            waited_s = bare.key_to_paint("k", "<k>")
            assert waited_s is not None
            found.append(waited_s)
            bare.read_for(gap_s)
        return found
    finally:
        bare.end()


def poll_moments(plan: ReadPlan, period_s: float, cycles: int) -> list[float]:
    """When a bare client of the same library got what the app polls, from the same kind of unit at the same pace."""
    reads = [(_READS.get(block.table, "input_registers"), block.address, block.count) for block in plan.blocks]
    with _quick_unit() as port:
        arguments = json.dumps((port, plan.unit_id, reads, period_s, cycles))
        polled = subprocess.run(
            [sys.executable, "-c", _POLL, arguments], check=True, capture_output=True, start_new_session=True
        )
    moments: list[float] = json.loads(polled.stdout)
    return moments

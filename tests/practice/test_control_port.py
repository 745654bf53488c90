"""The people on site, played over a socket."""

import asyncio
import json

import pytest

from commission.practice.control_port import ControlPort, reply_to
from commission.practice.site import SiteDesk
from tests.practice.made import MakeUnit
from tests.virtual_time import run_virtual


def test_acts_and_looks_over_a_socket(make_unit: MakeUnit) -> None:
    """A line in, a line out: act, see the gauge fall, look at the truth."""

    async def main() -> None:
        unit = make_unit()
        port = ControlPort(SiteDesk(unit, lambda: unit.advance(3.0)))
        host, number = (await port.open()).split(":")
        reader, writer = await asyncio.open_connection(host, int(number))

        async def say(**request: object) -> dict[str, object]:
            writer.write(json.dumps(request).encode() + b"\n")
            return dict(json.loads(await reader.readline()))

        assert (await say(read="gauges"))["value"] == {"PG-1": 18.0, "PG-2": 18.0, "PG-3": 18.0}
        assert await say(act="bleed", which="BV-1", value=True) == {"done": True}
        gauges = (await say(read="gauges"))["value"]
        assert gauges == {"PG-1": 0.0, "PG-2": 0.0, "PG-3": 18.0}
        truth = (await say(read="truth"))["value"]
        assert isinstance(truth, dict)
        assert truth["travel_pct"] == 0.0
        await port.close()
        writer.close()

    run_virtual(main())


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (b"not json\n", "Expecting value"),
        (b"[1]\n", "expected {"),
        (b'{"act": "bleed", "read": "gauges"}\n', "expected {"),
        (b'{"act": "dance"}\n', "no act 'dance'"),
        (b'{"act": "selector", "value": [1]}\n', "Expected"),
        (b'{"read": "minds"}\n', "nothing called 'minds'"),
        (b"\xff\xfe\n", "decode"),
    ],
)
def test_what_cannot_be_done_is_answered(make_unit: MakeUnit, line: bytes, says: str) -> None:
    """Every bad line gets one error that says what was wrong."""
    reply = reply_to(SiteDesk(make_unit()), line)
    assert set(reply) == {"error"}
    assert says in str(reply["error"])

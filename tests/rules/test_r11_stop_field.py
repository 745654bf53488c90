"""Safety rule R11: the stop field says what the key does now, with the time measured at connect, and it is kept."""

import asyncio
from pathlib import Path

import pytest

from commission.procedures.full_stroke import full_stroke, safe_end
from commission.procedures.requests import SafeEnd
from commission.sheet import End
from commission.supervise.stop_field import stop_field
from tests.supervise.rig import TESS, rig
from tests.virtual_time import run_virtual


@pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])
def test_r11_what_the_field_promises_is_kept_at_the_unit(tmp_path: Path, *, rtu: bool) -> None:
    """It names STOP and seconds; pressed in mid-stroke, the frame is at the unit within them."""

    async def main() -> None:
        async with rig(tmp_path, start="open", rtu=rtu) as site:
            agreed, _ = safe_end(site.sheet, End.CLOSED)
            promised_s = site.link.facts.make_safe_s
            words = stop_field(site.sheet, agreed, promised_s, "SPACE")
            assert words.startswith(f"SPACE sends STOP, reaches the unit in {max(promised_s, 0.01):.2f} s")
            running = asyncio.ensure_future(site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1")))
            await site.until(lambda truth: truth.travel_pct < 60)
            pressed_s = asyncio.get_running_loop().time()
            site.supervisor.stop(TESS, "stop key")
            await running
            assert site.writes("command_stop")[0].at_s - pressed_s <= promised_s

    run_virtual(main())


def test_r11_where_nothing_stops_it_the_field_says_so(tmp_path: Path) -> None:
    """Send nothing, or no line: NOTHING HERE STOPS THIS STROKE, and where the local stop is."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            for words in (
                stop_field(site.sheet, SafeEnd.SEND_NOTHING, 0.05, "SPACE"),
                stop_field(site.sheet, SafeEnd.STOP, None, "SPACE"),
            ):
                assert words.startswith("NOTHING HERE STOPS THIS STROKE. Keep out.")
                assert site.sheet.behaviour.local_stop in words

    run_virtual(main())


def test_r11_return_is_called_return(tmp_path: Path) -> None:
    """The word is the act."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            assert stop_field(site.sheet, SafeEnd.RETURN, 0.05, "SPACE").startswith("SPACE sends RETURN")

    run_virtual(main())

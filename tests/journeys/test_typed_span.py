"""M1 line by line: what is told and typed at each point; a wrong word moves nothing, Enter alone stops."""

import asyncio
from pathlib import Path

import pytest

from commission.cli import in_motion
from commission.content import Text
from commission.job import bodies
from tests.cli.talking import talking
from tests.journeys.test_span import NEAR_BY, SPEED
from tests.virtual_time import run_virtual
from tests.visiting import CHECKLIST, TESS


@pytest.mark.long
def test_a_span_line_by_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Asked, settled, taken and counted down aloud; the valve moves on by its own word only, and a stop holds it."""
    checklist = (Text("strokes.toml", CHECKLIST + NEAR_BY),)

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=checklist, speed=SPEED) as talk:
            talk.typist._by = TESS
            await talk.go_live()
            talk.visit.record(bodies.StepBegun(step="K9", cautions=("pinch",)), TESS)
            for name, text, value in (("meter", "M-03", None), ("accuracy", "0.02 mA", None), ("scale", "0.1", 0.1)):
                talk.visit.record(bodies.Answered(step="K9", question=name, text=text, value=value), TESS)
            running = asyncio.get_running_loop().create_task(talk.there.run("K9"))
            talk.face(in_motion.show(talk.visit, running, talk.lines, talk.typist._questions, TESS))
            await talk.converse(("stem's scale", "0"), ("meter M-03 in the loop", "4,00"))
            await talk.expect(">> taken: 0 % up")
            await talk.converse(("Hands and tools", "y"))
            await talk.expect("leaves it where it is")
            await talk.quiet(2.0)
            assert talk.there.unit.desk.read("truth")["travel_pct"] < 0.5
            talk.type("m")
            await talk.expect(">> moves in 3 s")
            await talk.expect(">> moves in 1 s")
            told = await talk.expect("6 % up: stem's scale")
            assert ">> settled: 6 % up" in told
            assert "feedback 4." in told
            talk.type("")
            await talk.expect("STOP asked for")
            assert (await running).how == "stopped"

    run_virtual(main())

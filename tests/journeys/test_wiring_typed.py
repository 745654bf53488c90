"""I2 to I4 by somebody at the keyboard and hands at the valve: what is called, what is typed, what the record holds."""

from pathlib import Path

import pytest

from commission.analysis.wiring import Finding
from commission.content import Text
from commission.job import bodies
from commission.procedures.wiring_control_room import CLOCK, OFFSET
from commission.report.wiring import point_to_point
from commission.verify import verify_job
from tests.cli.talking import Talk, talking
from tests.virtual_time import run_virtual
from tests.visiting import TESS

STEPS = """
format = 1
name = "Wiring of one unit"
revision = "1"
phases = [{ id = "I", name = "energising" }]
cautions = [{ id = "pinch", word = "WARNING", text = "Stem can move. No hand inside." }]

[[steps]]
id = "I2"
title = "See each input change its own bit"
state = "control"
do = "Operate it as called."
cautions = ["pinch"]
procedures = [{ name = "see_contacts", arguments = { only = "low_fluid" } }]

[[steps]]
id = "I3"
title = "Prove the register map"
state = "control"
do = "Read the meter."
cautions = ["pinch"]
procedures = [{ name = "compare_values", arguments = { points = "supply_voltage:0.02" } }]

[[steps]]
id = "I4"
title = "Prove each signal to the control room"
state = "control"
do = "The controller reads aloud."
cautions = ["pinch"]
procedures = [{ name = "point_to_point", arguments = { signals = "low_fluid" } }]
"""


async def in_control(talk: Talk) -> None:
    """The unit in control, clocks compared."""
    talk.there.arrive()
    talk.visit.record(bodies.ClockCompared(when="start", offset_s=7.0, against="event log, by voice"), TESS)
    talk.there.cross("in operation", "locked", "control")


async def begin(talk: Talk, step: str) -> None:
    """Into a step, and the one go that a watch takes."""
    await talk.expect(f"{step}  ")
    await talk.expect("Ready?")
    talk.type("")
    await talk.expect("begin to watch; nothing moves, nothing is commanded")
    shown = await talk.expect("ends the watch")
    assert "STOPS THIS STROKE" not in shown
    talk.type("g")


def clock(talk: Talk) -> str:
    """What the event log shows now, 7 s behind the laptop."""
    from datetime import timedelta

    return f"{talk.visit.clock.utc() - timedelta(seconds=7):%H:%M:%S}"


def test_the_whole_proof_by_typed_lines_and_hands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Contacts need no key; the meter and the controller's words are typed; the record recomputes."""

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=(Text("wiring.toml", STEPS),)) as talk:
            await in_control(talk)
            desk, meter = talk.there.unit.desk, talk.there.unit.desk.read("meter")
            talk.walk()
            await begin(talk, "I2")
            await talk.expect("\a  >> NEXT  Lift the level switch's float by its test rod")
            desk.act("lift_float", True)
            await talk.expect("\a  >> SEEN  fluid low")
            await talk.expect("NEXT  Let the float go")
            desk.act("lift_float", False)
            await talk.expect("2 of 2 as they should be")
            await talk.expect("Everything of this step is recorded.")
            talk.type("")
            await begin(talk, "I3")
            asked = await talk.expect("good to 0.02 V: it reads")
            assert "24.3" not in asked, "nobody reads what the register expects"
            talk.type(f"{meter} V")
            await talk.expect("SEEN  supply voltage: the register reads 24.3")
            await talk.expect("Everything of this step is recorded.")
            talk.type("")
            await begin(talk, "I4")
            for value, words, text in ((True, "Lift", "XV-1101 TROUBLE"), (False, "Let the", "XV-1101 RETURNED")):
                await talk.expect(f"NEXT  {words}")
                desk.act("lift_float", value)
                log = clock(talk)
                await talk.expect("the controller reads aloud")
                talk.type(f"{text} {log}")
            await talk.expect("2 of 2 as they should be")
            _check_record(talk)
        check = verify_job(tmp_path / "XV-1101.job")
        assert check.recomputes
        assert len(check.figures) == 6

    run_virtual(main())


def _check_record(talk: Talk) -> None:
    """Both times, and how one becomes the other, are in the record."""
    run = talk.visit.job.runs["I4-1"]
    assert run.begun.arguments[OFFSET] == "7"
    assert run.begun.arguments[CLOCK].endswith("+00:00")
    assert run.proved is not None
    assert [point.finding for point in run.proved.points] == [Finding.RIGHT] * 2
    rows = point_to_point(talk.visit.job).rows
    assert [row[3] for row in rows] == ["XV-1101 TROUBLE", "XV-1101 RETURNED"]
    assert all(row[5] == TESS for row in rows)


def test_enter_alone_ends_the_watch_and_it_can_be_begun_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As any stop: nothing is concluded from half a proof, and a new go is asked for."""

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=(Text("wiring.toml", STEPS),)) as talk:
            await in_control(talk)
            talk.walk()
            await begin(talk, "I2")
            await talk.expect("NEXT  Lift")
            talk.type("")
            await talk.expect("I2 1: stopped")
            await talk.expect("I2 2: begin to watch")
            assert talk.visit.job.runs["I2-1"].results[0].verdict == "stopped"
            assert not [frame for frame in talk.there.unit.server.frames if frame.is_write]

    run_virtual(main())


def test_nothing_seen_is_said_by_a_typed_word_and_repeated_once_it_is_put_right(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The rod was not on the float: nothing changed, what to look at, and once more."""

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=(Text("wiring.toml", STEPS),)) as talk:
            await in_control(talk)
            talk.walk()
            await begin(talk, "I2")
            await talk.expect("NEXT  Lift")
            await talk.expect("Type done where nothing is seen")
            talk.type("done")
            await talk.expect("nothing changed. fluid (discrete 5) did not change")
            await talk.expect("Operate it again?")
            talk.type("again")
            await talk.expect("NEXT  Lift")
            talk.there.unit.desk.act("lift_float", True)
            await talk.expect("SEEN  fluid low")
            await talk.expect("NEXT  Let the float go")
            talk.there.unit.desk.act("lift_float", False)
            await talk.expect("2 of 2 as they should be, 1 only when forced again")

    run_virtual(main())

"""Somebody at a keyboard: confirming, stopping, several people, connecting (safety rules R11, R13, R16)."""

import asyncio
import os
import pty
import tty
from pathlib import Path

import pytest

from commission.checklist import Question
from commission.cli.in_motion import STOP_KEY
from commission.content import Text
from commission.energy import missing
from commission.face.dialogue import Left
from commission.job.bodies import EnergyBegun, EnergyEntered, EnergyProved, PersonAdded
from commission.walk.prompts import Ask
from tests.cli.talking import CONFIRM, Talk, talking
from tests.virtual_time import run_virtual
from tests.visiting import _BARS, _SAID, CHECKLIST, PEOPLE, TESS

JUNO = "Juno Demoval"
BACK_TO_CONTROL = """
[[steps]]
id = "I7"
title = "Back to control"
state = "locked"
crosses = "control"
do = "Cross."
cautions = ["pinch"]
"""


def motions(talk: Talk) -> list[str]:
    """How each motion of the job ended; `open` for one that has not."""
    return ["open" if run.ended is None else run.ended.how for run in talk.visit.job.runs.values()][1:]


async def to_the_confirmation(talk: Talk) -> None:
    """Live, at the prompt that confirms the first stroke."""
    await talk.go_live()
    talk.walk()
    await talk.converse(("Ready?", ""))
    await talk.expect("type the count of people")


def lock_by_juno(talk: Talk) -> None:
    """The isolation, every lock put on by Juno."""
    visit = talk.visit
    visit.record(PersonAdded(name=JUNO, role="fitter"), JUNO)
    visit.record(EnergyBegun(target="locked"), TESS)
    while needs := missing(visit.job.energy_log.now, visit.job.sheet):
        need = needs[0]
        reading = {"bar": _BARS.get(need.fact, 0.0), "read_on": "gauge", "minutes": 5}
        details = reading if need.ask == "reading" else _SAID.get(need.ask, {})
        proved = EnergyProved(fact=need.fact, subject=need.subject, details=details)
        visit.record(proved, JUNO if need.fact == "locked" else TESS)
    visit.record(EnergyEntered(state="locked"), TESS)


def test_r13_enter_alone_never_starts_a_motion(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """However often Enter is pressed at a confirmation, it is asked again and nothing moves."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            await to_the_confirmation(talk)
            for _ in range(3):
                talk.type("")
                await talk.expect("type the count of people")
            assert motions(talk) == []
            assert not talk.visit.in_motion

    run_virtual(main())


def test_r13_what_was_typed_ahead_confirms_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The right words, typed before the confirmation was shown, are dropped."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            await talk.go_live()
            talk.walk()
            await talk.expect("Ready?")
            talk.type("", CONFIRM, CONFIRM)
            await talk.expect("type the count of people")
            assert "Not so" not in await talk.quiet(30)
            assert motions(talk) == []
            talk.type(CONFIRM)
            await talk.expect("travel")
            assert motions(talk) == ["open"]

    run_virtual(main())


def test_r13_what_is_pasted_confirms_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Several lines at one instant are no person's typing."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            await to_the_confirmation(talk)
            talk.type(CONFIRM, "")
            await talk.expect("what is pasted confirms nothing")
            await talk.expect("type the count of people")
            assert motions(talk) == []

    run_virtual(main())


def test_r13_what_is_to_be_typed_is_not_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From the rule above the confirmation on, neither the plate's characters nor the count are shown."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            await to_the_confirmation(talk)
            shown = talk.all_shown.rpartition("-" * 80)[2]
            assert "confirm this movement" in shown
            assert "1101" not in shown
            assert f"{PEOPLE} counted" not in shown
            talk.type("9 1101 Mara Mockford")
            refused = await talk.expect("Expected:")
            assert "the count differs" in refused
            assert str(PEOPLE) not in refused.partition("Not so")[2]

    run_virtual(main())


def test_r13_a_repeat_counts_down_and_any_line_cancels(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The second stroke the same way takes one key and three seconds, which Enter cancels."""
    shut = (Text("strokes.toml", CHECKLIST.replace('direction = "open"', 'direction = "closed"')),)

    async def main() -> None:
        async with talking(tmp_path, capsys, checklist=shut) as talk:
            await to_the_confirmation(talk)
            talk.type(CONFIRM)
            await talk.expect("Result")
            await talk.expect("(press G")
            talk.type("x")
            await talk.expect("(press G")
            talk.type("g")
            await talk.expect("2 …")
            talk.type("")
            await talk.expect("cancelled; nothing was sent")
            assert len(motions(talk)) == 1
            await talk.expect("(press G")
            talk.type("g")
            await talk.expect("1 …")
            await talk.expect("no test (stopped before motion)")
            assert len(motions(talk)) == 2

    run_virtual(main())


def test_r11_any_line_stops_and_the_field_said_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Before and at the beginning of the motion the stop key's effect is said; any line does it."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            await to_the_confirmation(talk)
            assert f"{STOP_KEY} sends STOP, 0.0" in " ".join(talk.all_shown.split())
            talk.type(CONFIRM)
            shown = await talk.expect("moving")
            assert f"{STOP_KEY} sends STOP" in shown
            talk.type("what is this")
            await talk.expect("STOP asked for")
            await talk.expect("Ended    stopped")
            assert motions(talk) == ["stopped"]
            ended = list(talk.visit.job.runs.values())[-1].ended
            assert ended is not None
            assert ended.safe_end == "confirmed"

    run_virtual(main())


def test_a_terminal_that_is_gone_in_a_motion_stops_it_and_leaves(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The end of what is typed is a stop, and after the motion the visit is left rather than waited in for ever."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            await talk.go_live()
            walking = talk.walk()
            await talk.converse(("Ready?", ""), ("type the count of people", CONFIRM))
            await talk.expect("travel")
            talk.type(None)
            await talk.expect("Ended    stopped")
            with pytest.raises(Left, match="the terminal is gone"):
                await asyncio.wait_for(walking, 60)

    run_virtual(main())


def test_r07_the_gas_alarm_stops_and_says_leave(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`/gas` while the valve moves: stopped, recorded, the state unknown, and what to do."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            await to_the_confirmation(talk)
            talk.type(CONFIRM)
            await talk.expect("travel")
            talk.type("/gas")
            await talk.expect("Do not unplug anything")
            await talk.expect("Ended    stopped")
            assert str(talk.visit.job.energy_log.now.state) == "unknown"
            assert talk.visit.job.energy_log.now.reason == "gas alarm"

    run_virtual(main())


def test_r16_connecting_asks_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Who else is on the line and who agrees are asked before anything is sent; an empty line is no answer."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            talk.typist._by = TESS
            talk.face(talk.typist.line_needed(talk.visit))
            await talk.expect("is another master on this line")
            talk.type("")
            await talk.expect("is another master on this line")
            talk.type("the DCS polls it, told")
            await talk.expect("Who in the control room agrees?")
            assert talk.there.unit.server.frames == []
            talk.type("Mara Mockford")
            await talk.expect("PRACTICE")
            assert talk.there.unit.server.frames
            contact = talk.visit.job.contact
            assert contact.up

    run_virtual(main())


def test_r16_a_line_in_use_is_not_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where somebody else is heard on a serial line, nothing is sent, it is said, and it can be tried again."""
    master, slave = pty.openpty()

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            talk.typist._by = TESS
            talk.typist._url = f"rtu://{os.ttyname(slave)}?parity=N&unit=11"
            needing = talk.face(talk.typist.line_needed(talk.visit))
            await talk.converse(("is another master", "none"), ("control room agrees", "Mara Mockford"))
            await talk.expect("Listening to")
            os.write(master, b"\x0b\x03\x00\x10\x00\x02\xc5\x64")
            heard = " ".join((await talk.expect("Enter tries again")).split())
            assert "8 bytes in 5 s" in heard
            assert "0b 03 00 10" in heard
            assert talk.visit.link is None
            talk.type("")
            await needing

    try:
        tty.setraw(slave)
        run_virtual(main())
        os.set_blocking(master, False)
        with pytest.raises(BlockingIOError):
            os.read(master, 1)
    finally:
        os.close(master)
        os.close(slave)


def test_a_unit_that_is_not_there_can_be_tried_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A closed port is a sentence and another try; leaving then says that the unit was not reached."""

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            talk.typist._by = TESS
            talk.typist._url = "tcp://127.0.0.1:9?unit=11"
            needing = talk.face(talk.typist.line_needed(talk.visit))
            await talk.converse(("is another master", "none"), ("control room agrees", "Mara Mockford"))
            await talk.expect("Enter tries again")
            talk.type("/leave")
            with pytest.raises(Left) as left:
                await needing
            assert left.value.unreached

    run_virtual(main())


def test_who_is_at_the_keyboard_is_asked_until_it_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An empty line is nobody; the name and role are recorded."""

    async def main() -> None:
        async with talking(tmp_path, capsys) as talk:
            introducing = talk.face(talk.typist.introduce(talk.visit))
            await talk.converse(("Who is at the keyboard?", ""), ("Who is at the keyboard?", "Juno Demoval, fitter"))
            await introducing
            assert talk.visit.job.register.people["Juno Demoval"].role == "fitter"

    run_virtual(main())


def test_a_lock_is_taken_off_by_its_owner_at_somebody_elses_keyboard(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The prompt says whose lock it is; `lock N by NAME` is the owner's word, and nobody else's is taken."""
    checklist = (Text("strokes.toml", f"{CHECKLIST}{BACK_TO_CONTROL}"),)

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False, checklist=checklist) as talk:
            talk.there.arrive()
            talk.there.cross("in operation")
            lock_by_juno(talk)
            talk.walk()
            await talk.converse(
                ("Ready?", ""),
                ("Begin to bring the unit to CONTROL", ""),
                ("Tools out", "tools out, covers shut"),
                ("Count", "4"),
                ("at neutral", "Mara Mockford reads neutral"),
                ("fail position", "closed"),
                (f"This lock is {JUNO}'s", "lock L-07"),
                ("absent owner", ""),
                (f"This lock is {JUNO}'s", f"lock L-07 by {JUNO.lower()}"),
            )
            await talk.expect("left)")
            facts = talk.visit.job.energy_log.now.facts
            assert [fact.by for fact in facts if fact.fact == "lock removed"] == [JUNO]
            assert {fact.by for fact in facts if fact.fact != "lock removed"} == {TESS}

    run_virtual(main())


def test_an_absurd_number_is_asked_for_once_more(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With what is expected; the same again takes it; a near one is shown as read."""
    bond = Question(id="bond", ask="Frame to station earth", kind="number", unit="ohm", most="0.1", origin="test")

    async def main() -> None:
        async with talking(tmp_path, capsys, connected=False) as talk:
            talk.typist._by = TESS
            step = talk.visit.job.checklist.steps[0]
            asked = talk.face(talk.typist.reply(talk.visit, step, Ask(bond)))
            talk.type("5")
            shown = await talk.expect("type the same again if it is so")
            assert "5 ohm? expected at most 0.1 ohm" in " ".join(shown.split())
            talk.type("0,05")
            assert await asked is None
            asked = talk.face(talk.typist.reply(talk.visit, step, Ask(bond)))
            talk.type("5", "5")
            assert (await asked).text == "5"
            asked = talk.face(talk.typist.reply(talk.visit, step, Ask(bond)))
            talk.type("0,05")
            await talk.expect("= 0.05 ohm")
            assert (await asked).text == "0,05"

    run_virtual(main())

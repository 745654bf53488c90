"""Whatever ends the program in mid-stroke, the valve gets its safe end first, and the process is gone soon after."""

import asyncio
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from commission.cli.answers_file import load_answers
from commission.cli.crew import Crew
from commission.cli.host import hold
from commission.cli.site import Site
from commission.clock import Clock
from commission.energy import EnergyState
from commission.face.dialogue import walk
from commission.visit import Visit
from tests.journeys.programs import Program, Terminal
from tests.journeys.records import archive, ended, run_of, sent_in
from tests.journeys.short_walk import answers
from tests.journeys.site import Desk, now_s, wait_for
from tests.journeys.typed import TO_THE_STROKE

STOP_WITHIN_S = 1.0
"""From the cause to the pump being off, on a loaded machine."""

GONE_WITHIN_S = 6.0
"""3 s for the safe end, the rest for the report and a loaded machine."""

Unit = Callable[..., Desk]
ByFile = Callable[..., Program]


def check_stopped(job: Path, why: str) -> None:
    """The record: one opening command, a stop seen received, and the session's end with its cause."""
    run = run_of(job)
    assert ended(run) == ("stopped", "confirmed")
    assert sent_in(run, "procedure") == ["command_open"]
    assert set(sent_in(run, "safe end")) == {"command_stop"}
    last = archive(job).events[-1]
    assert last.kind == "session_ended"
    assert why in last.body["reason"]


def test_a_closed_terminal(job: Path, unit: Unit, terminal: Callable[..., Terminal]) -> None:
    """The window is closed in mid-stroke: STOP, its confirmation, then the end."""
    desk = unit(speed=10.0)
    typist = terminal("run", job, "--connect", desk.url)
    typist.converse(TO_THE_STROKE)
    desk.moving()
    closed_s = typist.hang_up()
    desk.stopped_within(closed_s, STOP_WITHIN_S)
    typist.ended_within(closed_s, GONE_WITHIN_S)
    assert desk.stands()
    check_stopped(job, "")


@pytest.mark.parametrize("signals", [1, 2], ids=["once", "twice"])
def test_told_to_end(job: Path, unit: Unit, by_file: ByFile, signals: int) -> None:
    """SIGTERM in mid-stroke, and a second one at once: the safe end is carried out all the same."""
    desk = unit(speed=10.0)
    program = by_file(job, desk)
    desk.moving()
    told_s = now_s()
    for _ in range(signals):
        program.send(signal.SIGTERM)
    desk.stopped_within(told_s, STOP_WITHIN_S)
    program.ended_within(told_s, GONE_WITHIN_S)
    assert program.process.returncode == 1
    assert desk.stands()
    check_stopped(job, "ended by the system")


def _has_moved(visit: Visit) -> bool:
    view = None if visit.supervisor is None else visit.supervisor.view
    return view is not None and view.latest is not None and (view.latest.value("travel") or 0.0) > 0.03


def test_a_face_that_fails(job: Path, unit: Unit, tmp_path: Path) -> None:
    """What is shown fails in mid-stroke: the valve is stopped before the failure is told."""
    desk = unit(speed=10.0)

    class Fails(Crew):
        """A speaker that cannot show a moving valve."""

        async def moving(self, visit: Visit, running: "asyncio.Task[object]") -> None:
            """Fail once it has moved a little, whatever becomes of the run."""
            assert not running.done()
            while not _has_moved(visit):
                await visit.clock.sleep_wire(0.01)
            raise OSError("the screen is gone")

    async def main() -> None:
        speaker = Fails(load_answers(answers(tmp_path))[0], Site(desk.address))
        visit = Visit.resume(job, Clock(), speaker)

        async def face() -> int:
            await visit.connect(desk.url, other_master="none", agreed_by="nobody: practice", by="program")
            await walk(visit, speaker)
            return 0

        with pytest.raises(OSError, match="the screen is gone"):
            await hold(visit, face())

    begun_s = now_s()
    asyncio.run(main())
    assert now_s() - begun_s < 10.0
    assert desk.stands()
    check_stopped(job, "the screen is gone")


@pytest.mark.long
@pytest.mark.slow
def test_a_silent_unit(job: Path, unit: Unit, by_file: ByFile) -> None:
    """The unit falls silent in mid-stroke: STOP is tried for its life of 3 s, is unconfirmed, and never sent again."""
    desk = unit(speed=5.0)
    program = by_file(job, desk)
    desk.moving()
    desk.freeze()
    program.wait_for_words("safe end unconfirmed")
    run = run_of(job)
    assert ended(run) == ("aborted", "unconfirmed")
    tried_s = [sent.at_ns / 1e9 / desk.unit.at.speed for sent in run.sent if sent.purpose == "safe end"]
    assert 2 <= len(tried_s) <= 12
    assert max(tried_s) - min(tried_s) <= 3.2
    program.process.wait(30)
    assert program.process.returncode == 3
    desk.thaw()
    assert run_of(job).sent == run.sent


@pytest.mark.parametrize(
    ("act", "value", "guards"),
    [("esd_button", True, {"ESD"}), ("selector", "LOCAL", {"selector", "automatic", "not in automatic alarm"})],
    ids=["ESD", "LOCAL"],
)
def test_somebody_else_takes_the_valve(
    job: Path, unit: Unit, by_file: ByFile, act: str, value: object, guards: set[str]
) -> None:
    """ESD or LOCAL in mid-stroke: nothing more is sent, and the record says who has the valve."""
    desk = unit(speed=10.0)
    program = by_file(job, desk)
    desk.moving()
    desk.act(act, value)
    program.wait_for_words("safe end withheld")
    program.send(signal.SIGTERM)
    program.process.wait(30)
    run = run_of(job)
    assert ended(run)[1] == "withheld"
    assert sent_in(run, "safe end") == []
    assert run.tripped is not None
    assert run.tripped.taken_over
    assert run.tripped.guard in guards
    assert run.ended is not None
    assert run.ended.reason == run.tripped.reason


@pytest.mark.slow
def test_a_program_that_slept(job: Path, unit: Unit, by_file: ByFile) -> None:
    """The program stands still for over 2 s in mid-stroke: on waking it stops the valve, and the state is unknown."""
    desk = unit(speed=5.0)
    program = by_file(job, desk)
    desk.moving()
    before = desk.truth()
    program.send(signal.SIGSTOP)
    wait_for(lambda: desk.truth()["at_s"] - before["at_s"] > 2.6 * 5.0, "2.6 s without the program")
    assert desk.truth()["travel_pct"] > before["travel_pct"]
    woken_s = program.send(signal.SIGCONT)
    desk.stopped_within(woken_s, STOP_WITHIN_S)
    program.wait_for_words("UNKNOWN since")
    program.send(signal.SIGTERM)
    program.process.wait(30)
    held = archive(job).job
    assert ended(held.runs["K1-open-1"])[1] == "confirmed"
    lost = [entry for entry in held.energy_log.crossed if "not awake" in entry.reason]
    assert lost
    assert lost[0].target is EnergyState.UNKNOWN

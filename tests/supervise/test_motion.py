"""One open motion: guards, gaps, commands, questions and waits, against a real practice unit in virtual time."""

import asyncio
from pathlib import Path

import pytest

from commission.analysis.observed import StrokeObserved
from commission.job.bodies import (
    CommandSent,
    GapSeen,
    GuardTripped,
    LeaveWithdrawn,
    MotionBegun,
    MotionEnded,
    Noted,
    ProcedureAnswered,
    ProcedureDwelt,
    SamplesStored,
)
from commission.procedures.full_stroke import full_stroke
from commission.procedures.requests import Answer, Command, Dwelt, Procedure, SafeEnd, Tripped
from commission.record.reader import Reader
from commission.sample import Outcome, Sample
from commission.sheet import End
from commission.sheet.decode import Decoder, Readings
from commission.supervise.order import Ended
from commission.supervise.safe_end import SafeEndSeen
from tests.supervise.rig import TESS, Site, rig
from tests.supervise.small import asks, asks_for_ever, begin, closes, watches_asking, watches_for_ever
from tests.virtual_time import run_virtual


async def closing_until(site: Site, travel_pct: float) -> "asyncio.Future[Ended[StrokeObserved]]":
    """A closing stroke that has come so far."""
    running = asyncio.ensure_future(site.run(full_stroke(site.sheet, End.CLOSED, "K1 closed 1")))
    await site.until(lambda truth: truth.travel_pct < travel_pct)
    return running


@pytest.mark.parametrize(
    ("act", "value", "guards"),
    [
        ("esd_button", True, {"ESD"}),
        ("selector", "LOCAL", {"selector", "not in automatic alarm"}),
        ("selector", "OFF", {"selector", "not in automatic alarm"}),
    ],
)
def test_r10_taken_over_in_mid_stroke_sends_nothing(tmp_path: Path, act: str, value: object, guards: set[str]) -> None:
    """
    ESD, LOCAL or OFF seen: nothing more is sent, all leave is gone at once, and what the valve does is kept.

    The selector is seen by two points; which of them first depends on which is read next.
    """

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = await closing_until(site, 60)
            site.desk.act(act, value)  # type: ignore[arg-type]  # a parameter of the test
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("aborted", SafeEndSeen.WITHHELD)
            tripped = site.bodies(GuardTripped)[0]
            assert tripped.guard in guards
            assert ended.reason == tripped.reason
            assert len(site.writes()) == 1, "only the command itself"
            assert tripped.taken_over
            assert tripped.reason in site.bodies(LeaveWithdrawn)[0].reason
            assert site.truth().travel_pct == 0
            assert _last_travel(site) == pytest.approx(0, abs=0.01), "kept until at rest"

    run_virtual(main())


def _last_travel(site: Site) -> float:
    """Travel in the last sample of the record."""
    with Reader(site.recorder.path) as reader:
        chunk = reader.samples(site.bodies(SamplesStored)[-1].chunk)
    last = [item for item in chunk.items if isinstance(item, Sample)][-1]
    travel = Decoder(site.sheet, site.bodies(MotionBegun)[0].plan).decode(last).value("travel")
    assert travel is not None
    return travel


def test_leave_is_gone_while_evidence_is_kept(tmp_path: Path) -> None:
    """The moment somebody else has the valve the slot is empty, not only when it has come to rest."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = await closing_until(site, 60)
            site.desk.act("esd_button", True)
            await asyncio.sleep(0.2)
            assert site.supervisor.view is not None
            assert site.supervisor.view.ending
            assert site.slot.current is None
            assert "ESD" in site.slot.why_empty
            await running

    run_virtual(main())


def test_guard_that_trips_stops_the_valve(tmp_path: Path) -> None:
    """An abort condition that leaves the valve ours: stop, seen received, the guard named."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = await closing_until(site, 60)
            site.desk.act("lift_float", True)
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("aborted", SafeEndSeen.CONFIRMED)
            tripped = site.bodies(GuardTripped)[0]
            assert not tripped.taken_over
            assert tripped.reason == ended.reason
            assert 20 < site.truth().travel_pct < 60

    run_virtual(main())


def test_guard_sees_each_sample_before_the_procedure(tmp_path: Path) -> None:
    """The sample that trips a guard is never handed to the procedure."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            seen: list[int] = []

            def third(readings: Readings) -> Tripped | None:
                return Tripped("the third") if readings.number == 3 else None

            def looking() -> Procedure[None]:
                yield begin(guards={"third": third})
                for item in watches_for_ever():
                    reply = yield item
                    assert isinstance(reply, Readings)
                    seen.append(reply.number)

            ended = await site.run(looking())
            assert (ended.how, ended.reason, seen) == ("no test", "the third", [1, 2])

    run_virtual(main())


@pytest.mark.parametrize("hung_up", [False, True], ids=["deaf", "connection-lost"])
def test_silent_unit_ends_the_motion(tmp_path: Path, *, hung_up: bool) -> None:
    """After `gap_s` of silence the motion is aborted, also while the line is still trying to come back."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            running = await closing_until(site, 60)
            site.server.deaf = True
            if hung_up:
                site.drop_line()
            at_s = asyncio.get_running_loop().time()
            await site.until(lambda _: site.supervisor.view is None or site.supervisor.view.ending)
            assert 1.9 <= asyncio.get_running_loop().time() - at_s <= 2.6
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("aborted", SafeEndSeen.UNCONFIRMED)
            assert "no answer for 2" in ended.reason
            assert site.bodies(GapSeen)

    run_virtual(main())


def test_gap_is_wire_time_at_practice_speed(tmp_path: Path) -> None:
    """At speed 5 a silence of 0.6 s of wire time is 3 s of unit time, and no reason to abort at a gap of 2 s."""

    async def main() -> None:
        async with rig(tmp_path, start="open", speed=5) as site:
            running = await closing_until(site, 80)
            site.server.deaf = True
            await asyncio.sleep(0.6)
            site.server.deaf = False
            ended = await running
            assert ended.how == "finished", ended
            assert site.bodies(GapSeen)

    run_virtual(main())


def test_samples_reach_the_procedure_while_a_question_is_open(tmp_path: Path) -> None:
    """Each answer is recorded with the sample it came after; a question that is not asked any more is taken back."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            site.folk.after_s = 1.0
            ended = await site.run(watches_asking())
            assert ended.observed is not None, ended
            passed, said = ended.observed
            assert (passed > 10, said) == (True, ("q0", "q1"))
            first, second = site.bodies(ProcedureAnswered)
            assert 0 < first.sample < second.sample
            assert [ask.id for ask in site.folk.asked] == ["q0", "q1", "taken back"], "each is asked once"
            assert [note.mark for note in site.bodies(Noted)] == ["heard q0", "heard q1"]

    run_virtual(main())


def test_what_is_said_loud_is_in_the_view(tmp_path: Path) -> None:
    """Both faces show it from there; the newest is last."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            site.folk.after_s = 0.2
            running = asyncio.ensure_future(site.run(watches_asking(3)))
            seen: set[tuple[str, ...]] = set()
            while not running.done():
                await asyncio.sleep(0.01)
                if site.supervisor.view is not None:
                    seen.add(site.supervisor.view.said)
            assert ("heard q0", "heard q1") in seen
            assert site.supervisor.view is None
            assert site.supervisor.said[-1] == "heard q2", "the last word outlives the motion"

    run_virtual(main())


def test_ask_and_dwell_go_on_sampling(tmp_path: Path) -> None:
    """While a person is asked and while it waits, samples are kept; the answer says up to which they passed."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            ended = await site.run(asks(dwell_s=1.0))
            assert ended.observed is not None
            answer, dwelt, seen = ended.observed
            assert isinstance(answer, Answer)
            assert (answer.text, answer.by, dwelt) == ("seen", TESS, Dwelt(1.0))
            assert isinstance(seen, Readings)
            answered, waited = site.bodies(ProcedureAnswered)[0], site.bodies(ProcedureDwelt)[0]
            assert 1 < answered.sample < waited.sample < seen.number
            assert sum(chunk.count for chunk in site.bodies(SamplesStored)) == seen.number

    run_virtual(main())


def test_answer_counts_silences_too(tmp_path: Path) -> None:
    """Silences that passed during a question are counted as passed, or a replay would hand them out again."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            site.folk.after_s = 0.6
            running = asyncio.ensure_future(site.run(asks()))
            await asyncio.sleep(0.45)
            site.server.deaf = True
            await asyncio.sleep(0.5)
            site.server.deaf = False
            ended = await running
            assert ended.how == "finished"
            answered = site.bodies(ProcedureAnswered)[0]
            with Reader(site.recorder.path) as reader:
                items = [item for chunk in site.bodies(SamplesStored) for item in reader.samples(chunk.chunk).items]
            passed = [item for item in items if item.number <= answered.sample]
            assert not isinstance(passed[-1], Sample)

    run_virtual(main())


def test_stop_does_not_wait_for_an_answer_of_a_person(tmp_path: Path) -> None:
    """No time-out on a person, and none needed: the stop ends the question."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            site.folk.after_s = None
            running = asyncio.ensure_future(site.run(closes(asks_for_ever())))
            await site.until(lambda truth: truth.travel_pct < 80)
            assert site.folk.asked
            site.supervisor.stop(TESS, "stop key")
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.CONFIRMED)

    run_virtual(main())


def test_refused_command_is_told_and_needs_its_safe_end_seen(tmp_path: Path) -> None:
    """Refused by the unit: no movement, said in words, the record has it as refused."""

    async def main() -> None:
        async with rig(tmp_path, start="closed") as site:
            site.desk.act("selector", "LOCAL")

            def opens() -> Procedure[Outcome]:
                yield begin("command_open")
                sent = yield Command("command_open")
                return sent.outcome  # type: ignore[union-attr]  # the reply to a command

            ended = await site.run(opens())
            assert ended.observed is Outcome.REFUSED
            assert site.truth().travel_pct == 0
            sent = site.bodies(CommandSent)[0]
            assert (sent.outcome, sent.purpose) == ("refused", "procedure")
            assert "exception" in sent.reason

    run_virtual(main())


def test_unanswered_command_is_stopped_because_it_may_have_been_received(tmp_path: Path) -> None:
    """No answer to the command: it counts as sent, so the safe end goes out."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:

            def once() -> Procedure[Outcome]:
                yield begin("command_close")
                site.server.mute_writes = 1
                sent = yield Command("command_close")
                return sent.outcome  # type: ignore[union-attr]  # the reply to a command

            ended = await site.run(once())
            assert ended.observed is Outcome.UNANSWERED
            assert ended.safe_end.seen is SafeEndSeen.CONFIRMED
            assert site.truth().wanted == "stopped"
            assert [body.purpose for body in site.bodies(CommandSent)][:2] == ["procedure", "safe end"]

    run_virtual(main())


def test_stop_does_not_wait_for_the_answer_of_a_command(tmp_path: Path) -> None:
    """A stop during a command that is not answered goes out at once; the command is kept as perhaps sent."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            site.server.mute_writes = 1
            running = asyncio.ensure_future(site.run(closes(watches_for_ever())))
            await site.until(lambda _: bool(site.writes()))
            at_s = asyncio.get_running_loop().time()
            site.supervisor.stop(TESS, "stop key")
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.CONFIRMED)
            assert site.writes("command_stop")[0].at_s - at_s <= site.link.facts.make_safe_s
            assert "may have been sent" in site.bodies(CommandSent)[0].reason

    run_virtual(main())


def test_stop_of_a_stroke_that_nothing_stops_keeps_watching(tmp_path: Path) -> None:
    """Agreed: send nothing. A stop sends nothing, says so, and the stroke is kept to its end."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            first = begin("command_close", safe_end=SafeEnd.SEND_NOTHING)
            running = asyncio.ensure_future(site.run(closes(watches_for_ever(), first)))
            await site.until(lambda truth: truth.travel_pct < 80)
            site.supervisor.stop(TESS, "stop key")
            ended = await running
            assert (ended.how, ended.safe_end.seen) == ("stopped", SafeEndSeen.WITHHELD)
            assert not site.writes("command_stop")
            assert site.truth().travel_pct == 0
            assert site.bodies(MotionEnded)[0].safe_end == "withheld"

    run_virtual(main())


def test_program_that_ends_does_not_wait_for_evidence_longer_than_a_safe_end(tmp_path: Path) -> None:
    """With nothing to send, a program told to end is gone within 3 s, stroke or no stroke."""

    async def main() -> None:
        async with rig(tmp_path, start="open") as site:
            first = begin("command_close", safe_end=SafeEnd.SEND_NOTHING)
            running = asyncio.ensure_future(site.run(closes(watches_for_ever(), first)))
            await site.until(lambda truth: truth.travel_pct < 95)
            at_s = asyncio.get_running_loop().time()
            site.supervisor.stop("program", "the terminal was closed")
            await running
            assert asyncio.get_running_loop().time() - at_s < 3.5

    run_virtual(main())


def test_view_says_how_far_the_command_has_got(tmp_path: Path) -> None:
    """Sent or answered, then received where the motor shows it, then moving (safety rule R12)."""

    async def main() -> None:
        async with rig(tmp_path, start="closed") as site:
            running = asyncio.ensure_future(site.run(full_stroke(site.sheet, End.OPEN, "K1 open 1")))
            words: list[str] = []
            while site.truth().travel_pct < 5:
                view = site.supervisor.view
                if view is not None and view.command not in words[-1:]:
                    words.append(view.command)
                await asyncio.sleep(0.01)
            site.supervisor.stop(TESS, "stop key")
            await running
            assert [word for word in words if word] == ["sent", "answered", "received", "moving"]

    run_virtual(main())

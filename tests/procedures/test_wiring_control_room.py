"""I4: what the unit showed and what the controller read, both times through the clock offset."""

import asyncio
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from commission.analysis.wiring import Finding, WiringSeen
from commission.practice.condition import HEALTHY, Condition
from commission.procedures.requests import Answer, Ask, Begin
from commission.procedures.wiring_control_room import Clocks, point_to_point
from tests.hands import Hands
from tests.procedures.playbook import Playbook
from tests.supervise.rig import Site, demo_sheet, rig
from tests.virtual_time import run_virtual

SHEET = demo_sheet()
MARA = "Mara Mockford"
AT_0 = datetime(2026, 5, 12, 11, 0, tzinfo=UTC)
TEXTS = {
    "low_fluid there": "XV-1101 TROUBLE",
    "low_fluid back": "XV-1101 TROUBLE RETURNED",
    "closed_limit there": "XV-1101 NOT CLOSED",
    "closed_limit back": "XV-1101 CLOSED",
}


class Radio:
    """Hands at the valve, and a controller 7 s behind the laptop who reads from the event log."""

    def __init__(self, site: Site, texts: Mapping[str, str], log_late_s: float = 1.0) -> None:
        self._site = site
        self._hands = Hands(site.desk)
        self._texts = texts
        self._late_s = log_late_s
        self._acted_ns = 0
        self.asked: list[str] = []

    async def ask(self, question: Ask) -> Answer:
        """Operate it, or read it back."""
        self.asked.append(question.id)
        if not question.id.endswith(" controller"):
            self._acted_ns = self._site.clock.unit_ns() + 1_000_000_000
            return await self._hands.ask(question)
        await asyncio.sleep(20.0)  # a radio is slow, and the log is not
        log = AT_0 + timedelta(microseconds=self._acted_ns / 1000, seconds=self._late_s - 7)
        text = self._texts[question.id.removesuffix(" controller")]
        return Answer(question.id, text.replace("{log}", f"{log:%H:%M:%S}"), MARA, 0)


async def proved(
    site: Site, texts: Mapping[str, str] | None = None, log_late_s: float = 1.0, signals: str = "low_fluid"
) -> tuple[WiringSeen, Radio]:
    """The float's signal, or these, proved to the control room."""
    timed = {name: f"{text} {{log}}" for name, text in TEXTS.items()} | dict(texts or {})
    radio = Radio(site, timed, log_late_s)
    site.supervisor._people = radio
    arguments = {"test": "I4 1", "signals": signals, "utc_at_0": AT_0.isoformat(), "offset_s": "7"}
    ended = await site.run(point_to_point(SHEET, arguments))
    assert ended.observed is not None, ended
    return ended.observed, radio


def test_each_signal_has_who_read_what_and_both_times(tmp_path: Path) -> None:
    """There and back; the time is that of the event, not that of the radio."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            seen, radio = await proved(site, signals="low_fluid closed_limit")
            assert seen.proved, seen.words
            first = seen.points[0]
            assert (first.seen_by, first.read_back) == (MARA, "XV-1101 TROUBLE")
            ours = (AT_0 + timedelta(microseconds=first.at_ns / 1000)).time()
            assert f"{ours:%H:%M:%S} UTC" in first.seen
            assert "fluid low" in first.seen
            assert len(first.their_time) == 8
            assert radio.asked[:2] == ["low_fluid there", "low_fluid there controller"]
            assert "feedback current: at points up and down (M1, M2)" in seen.not_forced
            assert not site.writes()

    run_virtual(main())


@pytest.mark.parametrize(
    ("texts", "log_late_s", "place", "finding", "words"),
    [
        ({"low_fluid there": "wrong: XV-1102 trouble"}, 1.0, 0, Finding.WRONG_TEXT, "look at the core to the control"),
        *(
            pytest.param(*case, marks=pytest.mark.long)
            for case in (
                ({"low_fluid there": "Wrong, clears {log}"}, 1.0, 0, Finding.WRONG_TEXT, "which state is alarm there"),
                ({"low_fluid back": "XV-1101 trouble {log}"}, 1.0, 1, Finding.WRONG_TEXT, "the same words both ways"),
                ({}, 60.0, 0, Finding.LATE, "later than ours, clock offset taken out: was it this event?"),
            )
        ),
        ({}, -9.0, 1, Finding.LATE, "earlier than ours"),
    ],
)
def test_what_the_control_room_sees_otherwise_is_named(
    tmp_path: Path, texts: dict[str, str], log_late_s: float, place: int, finding: Finding, words: str
) -> None:
    """Another tag, the opposite sense, words that do not change, a time that is another event's."""

    async def main() -> None:
        async with rig(tmp_path) as site:
            seen, _ = await proved(site, texts, log_late_s)
            assert not seen.proved
            point = seen.points[place]
            assert point.finding is finding, seen.words
            assert words in point.words

    run_virtual(main())


def test_what_the_unit_shows_wrong_stays_the_finding(tmp_path: Path) -> None:
    """A controller who reads it right heals no crossed core; what they read is kept beside it."""

    async def main() -> None:
        condition = Condition(crossed_contacts=(("low_fluid", "esd_healthy"),))
        assert condition != HEALTHY
        async with rig(tmp_path, condition=condition) as site:
            seen, _ = await proved(site)
            assert [point.finding for point in seen.points] == [Finding.WRONG_POINT] * 2
            assert seen.points[0].read_back == "XV-1101 TROUBLE"

    run_virtual(main())


def test_a_reading_without_a_time_is_asked_again() -> None:
    """The event log's time is half of the proof."""
    asked: list[str] = []

    async def main(tmp: Path) -> None:
        async with rig(tmp) as site:
            radio = Radio(site, {})
            answers = iter(["XV-1101 TROUBLE", "14:02:11", "XV-1101 TROUBLE 14:02:11", "RETURNED; 14:02:19"])

            async def ask(question: Ask) -> Answer:
                asked.append(question.text)
                if question.id.endswith(" controller"):
                    return Answer(question.id, next(answers), MARA, 0)
                return await radio._hands.ask(question)

            radio.ask = ask  # type: ignore[method-assign]  # somebody who forgets the time
            site.supervisor._people = radio
            ended = await site.run(point_to_point(SHEET, {"test": "I4 1", "signals": "low_fluid"}))
            assert ended.observed is not None
            first, back = ended.observed.points
            assert (first.read_back, first.their_time) == ("XV-1101 TROUBLE", "14:02:11")
            assert (back.read_back, back.their_time) == ("RETURNED", "14:02:19")
            assert first.is_right, "without a comparison of clocks the time is kept, and judges nothing"
            assert "UTC" not in first.seen

    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        run_virtual(main(Path(folder)))
    assert sum(text.startswith("With the time of their event log. ") for text in asked) == 2


@pytest.mark.parametrize(
    ("offset_s", "theirs", "late_s"),
    [(7, "11:00:03", 0.0), (7, "11:00:08", 5.0), (0, "10:59:58", -12.0), (-3, "05:30:13", 0.0), (7, "23:00:03", 0.0)],
)
def test_their_time_is_compared_through_the_offset_whatever_the_time_zone(
    offset_s: float, theirs: str, late_s: float
) -> None:
    """10 s after 11:00 UTC by the laptop, which is so much ahead; whole half hours are a time zone (trade guide B2)."""
    clocks = Clocks(AT_0, offset_s)
    assert clocks.late_s(10_000_000_000, theirs) == late_s
    assert Clocks().late_s(10_000_000_000, theirs) is None
    assert clocks.utc(0) is None


def test_its_beginning_commands_nothing_and_bad_clocks_are_refused() -> None:
    """A clock that is no time is the program's mistake, and said before anything is watched."""
    play = Playbook(point_to_point(SHEET, {"test": "I4 1"}))
    begun = play.requests[0]
    assert isinstance(begun, Begin)
    assert begun.commands == ()
    Playbook.unfinished.remove(play)
    with pytest.raises(ValueError, match="Invalid isoformat"):
        next(point_to_point(SHEET, {"test": "I4 1", "utc_at_0": "noon"}))
    with pytest.raises(ValueError, match="no contact"):
        next(point_to_point(SHEET, {"test": "I4 1", "signals": "travel"}))

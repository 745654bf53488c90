"""
N1 to N9: one protection caused, seen at the unit and in the control room, taken away and reset; nothing is sent.

Cause, the unit's own indication, its bit, what the controller reads and when, what is tried against it, how it goes
again, and that nothing moves by itself: one order for all of them, the differences are data (`analysis.protection`).
"""

from collections.abc import Callable, Generator, Mapping
from datetime import UTC, datetime

import msgspec

from commission.analysis.protection import DID_NOT_ACT, MOTOR, PROTECTIONS, ProtectionSeen
from commission.procedures.onlooker import CANNOT, GAP_S, Onlooker
from commission.procedures.requests import Ask, Begin, Note, Procedure, Reply, Request, SafeEnd
from commission.procedures.wiring_control_room import EARLY_S, LATE_S, Clocks
from commission.sheet import Sheet
from commission.sheet.decode import Readings

TEST = "protection"
TEST_TIMED = "protection_timed"
LONGEST_S = 900.0
CAUSE, WATCHING, TRY, PANEL, ROOM, BACK, RESET = "cause it", "watching", "try", "panel", "room", "back", "reset"

WATCHED_S = 5.0
"""What follows an act is seen by then: the unit's scan and some seconds (common practice, no source)."""

STANDS_WITHIN_S = 60.0
"""Longer than a spring stroke, shorter than any opening by the pump."""

MOVED = 0.01
_BEFORE_S = 1.0

Steps = Generator[Request, Reply, None]


class _Over(Exception):  # a way out of a run, not a fault
    """It cannot go on; the message says why."""


def protection(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[ProtectionSeen]:
    """
    One protection.

    Args:
        sheet: The unit's sheet.

        arguments: `which` is a name of `analysis.protection.PROTECTIONS`; `test` names the run; the control room's
            clock as for `point_to_point`.

    Returns:
        What was seen of it.

    Raises:
        ValueError: no such protection, or the unit has no point for its alarm.
    """
    which = arguments.get("which", "")
    if which not in PROTECTIONS:
        raise ValueError(f"which is one of {', '.join(PROTECTIONS)}, not {which!r}")
    spec, test = PROTECTIONS[which], arguments.get("test", which)
    for needed in (spec.alarm, *filter(None, (spec.begins,))):
        if not sheet.has(needed):
            raise ValueError(f"to prove {spec.title} the unit needs a point for {needed}; it has none")
    wanted = (spec.alarm, "alarm_relay", MOTOR, "travel", "open_limit", "closed_limit", "cylinder_pressure")
    roles = tuple(dict.fromkeys(role for role in wanted if sheet.has(role)))
    yield Begin(test, (), SafeEnd.SEND_NOTHING, None, {}, roles, LONGEST_S, GAP_S)
    run = Run(ProtectionSeen(test=test, which=which), Clocks.of(arguments))
    try:
        yield from run.whole()
    except _Over as over:
        run.keep(why=str(over))
    return run.known


class Run:
    """
    What has been seen of one protection so far.

    Args:
        known: Which, and nothing more yet.

        clocks: How unit time maps to the control room's clock.
    """

    def __init__(self, known: ProtectionSeen, clocks: Clocks) -> None:
        self.known = known
        self._spec, self._clocks = known.spec, clocks
        self._seen = Onlooker()
        self._acted_ns = self._unseen_ns = 0

    def keep(self, **fields: object) -> None:
        """Keep what was seen."""
        self.known = msgspec.structs.replace(self.known, **fields)

    def _wrong(self, words: str) -> None:
        self.keep(wrong=(*self.known.wrong, words))

    def whole(self) -> Steps:
        """From the healthy unit and back to it."""
        yield from self._seen.watch_for(_BEFORE_S)
        if self._spec.by_log:
            yield from self._without_the_unit()
            return
        if self._on:
            raise _Over(f"{self._spec.title} is on before anything was caused")
        yield from self._until_it_acts()
        yield from self._told()
        yield from self._tried()
        yield from self._room()
        yield from self._taken_away()

    @property
    def _on(self) -> bool:
        return bool(self._seen.bit(self._spec.alarm))

    def _until_it_acts(self) -> Steps:
        """Cause it, and watch until its bit comes; what takes long is waited for with another question."""
        yield from self._open(Ask(CAUSE, f"{self._spec.cause}. (Type: nothing, or: cannot, and why)"), self._begun)
        if not self._on:
            words = "It runs. Leave it so until it acts. (Type: nothing, or: cannot, and why)"
            yield from self._open(Ask(WATCHING, words), lambda: self._on)
        before = tuple(item for item in self._seen.items if isinstance(item, Readings))
        self.keep(before=before, cause=self._spec.cause, acted=True)
        self._acted_ns = self._seen.at_ns
        self._unseen_ns = before[-1].at_ns - before[-2].at_ns if len(before) > 1 else 0
        yield Note(f"SEEN  {self._spec.title}: its bit came", loud=True)

    def _begun(self) -> bool:
        return self._on or (bool(self._spec.begins) and bool(self._seen.bit(self._spec.begins)))

    def _open(self, question: Ask, done: Callable[[], bool], nothing: str = DID_NOT_ACT) -> Steps:
        """Say what to do; watch with the question open until it is seen, or somebody says that nothing comes."""
        yield Note(f"NEXT  {question.text}", loud=True)
        while not done():
            if not (yield from self._seen.look(question)):
                said = "" if self._seen.answer is None else self._seen.answer.text.strip()
                if said.lower().startswith(CANNOT):
                    raise _Over(said)
                if said.lower().startswith("nothing"):
                    self.keep(cause=self._spec.cause)
                    self._wrong(nothing)
                    raise _Over("")

    def _told(self) -> Steps:
        """The unit's own panel, its relay, and the pump where it has to stop."""
        yield from self._seen.watch_for(WATCHED_S)
        self.keep(indication=(yield from self._said(Ask(PANEL, "What does the unit's own panel show?"))))
        if self._seen.bit("alarm_relay"):
            self._wrong("the alarm relay stayed healthy")
        if self._spec.stops_pump and self._seen.bit(MOTOR):
            self._wrong("the pump was not stopped")

    def _tried(self) -> Steps:
        if not self._spec.tries:
            return
        travel = self._seen.level("travel")
        self.keep(tried=(yield from self._said(Ask(TRY, f"{self._spec.tries}. Type what it did"))))
        if (yield from self._moves(travel)):
            self._wrong("it started or moved although the protection was on")

    def _room(self) -> Steps:
        """What the controller reads, and when by their log; held against our time through the offset."""
        late_s = yield from self._heard("Controller, with the time of the event log: text, HH:MM:SS", self._acted_ns)
        self.keep(late_s=late_s)
        unseen_s = self._unseen_ns / 1e9  # it may have come at any moment since the reading before
        if late_s is not None and not -EARLY_S - unseen_s <= late_s <= LATE_S + WATCHED_S:
            self._wrong(f"the control room's time is {late_s:+.0f} s off: was it this event?")

    def _heard(self, text: str, at_ns: int) -> Generator[Request, Reply, float | None]:
        """What the controller read and when, and how much later than ours that is; None where nobody can tell."""
        said = yield from self._said(Ask(ROOM, text))
        words, _, time = (part.strip() for part in said.rpartition(","))
        witness = "" if self._seen.answer is None else self._seen.answer.by
        if not words or not _is_time(time):
            self.keep(room_text=said, witness=witness)
            self._wrong(f"the control room did not see it, or gave no time: {said}")
            return None
        self.keep(room_text=words, room_time=time, witness=witness)
        late_s = self._clocks.late_s(at_ns, time)
        return None if late_s is None else round(late_s, 1)

    def _taken_away(self) -> Steps:
        """The cause away: it goes by itself, or stays until the reset, as it should; and nothing moves by itself."""
        spec, seen = self._spec, self._seen
        yield from self._said(Ask(BACK, f"{spec.back}. Then type: done"))
        yield from seen.hear_again(60.0)
        if (yield from self._goes_on()):
            self._wrong("pump or valve went on by itself once its cause was away")
        stays = self._on
        if stays and not spec.stays:
            self._wrong("it did not go with its cause")
        travel = seen.level("travel")
        if stays:
            yield from self._open(
                Ask(RESET, "Press RESET at the unit. (Type: nothing, where it stays)"), lambda: not self._on
            )
        self.keep(returned="went after the reset" if stays else "went with its cause")
        if (yield from self._moves(travel)):
            self._wrong("it started or moved by itself afterwards")

    def _without_the_unit(self) -> Steps:
        """Contact lost: only the control room sees it, so the time is theirs."""
        seen, spec = self._seen, self._spec
        yield from self._open(Ask(CAUSE, f"{spec.cause}. (Type: cannot, and why)"), lambda: seen.latest is None)
        before = tuple(item for item in seen.items if isinstance(item, Readings))
        self.keep(before=before, cause=spec.cause)
        log_s = yield from self._heard("When the alarm comes: the controller's text, HH:MM:SS", before[-1].at_ns)
        self.keep(log_s=log_s, acted=bool(self.known.room_time))
        yield from self._said(Ask(BACK, f"{spec.back}. Then type: done"))
        travel = before[-1].value("travel")
        if not (yield from seen.hear_again(120.0)):
            raise _Over("the unit is not heard again")
        if (yield from self._moves(travel)):
            self._wrong("it moved when contact came back")
        self.keep(returned="nothing was kept for later")

    def _said(self, question: Ask) -> Generator[Request, Reply, str]:
        yield Note(f"NEXT  {question.text}", loud=True)
        said = yield from self._seen.ask(question)
        if said.lower().startswith(CANNOT):
            raise _Over(said)
        return said

    def _goes_on(self) -> Generator[Request, Reply, bool]:
        """Whether the pump still runs, or the valve still goes, when it has had time to be brought to rest."""
        begun_ns = still_ns = self._seen.at_ns
        level = self._seen.value("travel")
        while self._seen.at_ns - still_ns < WATCHED_S * 1e9:
            if self._seen.at_ns - begun_ns > STANDS_WITHIN_S * 1e9:
                return True
            yield from self._seen.look()
            now = self._seen.value("travel")
            if self._seen.bit(MOTOR) or (now is not None and (level is None or abs(now - level) > MOVED)):
                level, still_ns = now, self._seen.at_ns
        return False

    def _moves(self, travel: float | None) -> Generator[Request, Reply, bool]:
        """Whether the motor runs or the valve moves in the next seconds."""
        begun_ns = self._seen.at_ns
        while self._seen.at_ns - begun_ns < WATCHED_S * 1e9:
            yield from self._seen.look()
            now = self._seen.value("travel")
            if self._seen.bit(MOTOR) or (travel is not None and now is not None and abs(now - travel) > MOVED):
                return True
        return False


def _is_time(text: str) -> bool:
    try:
        datetime.strptime(text, "%H:%M:%S").replace(tzinfo=UTC)
    except ValueError:
        return False
    return True

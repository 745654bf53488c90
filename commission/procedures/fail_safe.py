"""
K3 to K6: a stroke that the loss of something causes, watched.

Nothing is sent from here: the valve belongs to whoever gives the cause, and nothing here stops it. See it stand; wait
for the cause; watch it home, or through the silence of a unit without supply; take what timed it from outside; have the
stem looked at. Then each act that follows (the supply back, the cause away, the reset) is watched by itself, because
none of them may move the valve.
"""

from collections.abc import Generator, Mapping

from commission.analysis.edges import mean_and_noise
from commission.analysis.fail_safe import MOVED, Cause, FailSafeEnd, FailSafeObserved, Proof
from commission.analysis.outside_times import OutsideTimes, Source
from commission.procedures.fail_safe_plan import PEOPLE_S, FailSafePlan, away_from, fail_safe_plan, safe_end_of
from commission.procedures.full_stroke import watched_roles
from commission.procedures.onlooker import CANNOT, GAP_S, Onlooker
from commission.procedures.outside_clock import home_by_key, typed_times
from commission.procedures.requests import Ask, Begin, Note, Procedure, Reply, Request, SafeEnd
from commission.sample import Silence
from commission.sheet import End, Sheet
from commission.sheet.decode import Readings

RETURN_WATCHED_S = 10.0
"""Power that comes back is watched for so long: longer than a unit takes to start (common practice, no source)."""

ACT_WATCHED_S = 5.0
STILL_S = 1.0
_BEFORE_S = 3.0
_SILENT_ITEMS = 5
"""One lost answer is a bad line; so many running are a unit without supply (common practice, no source)."""

_KEY_LATE_S = 1.0
"""A key later than this after the unit showed the cause times nothing; the stroke is then timed by the samples."""

_UNDER_WAY = (0.2, 0.8)
_ALSO_READ = ("esd_healthy", "remote", "command_current", "alarm_signal_lost", "system_pressure", "alarm_relay")
_CHARGE_ROOM_PA = 1e5
"""At cut-in: at most a bar above it (common practice, no source)."""

_SILENT = "the unit was silent: where it went is seen only afterwards, and not when"
_OVER = Ask("over", "Nothing is heard of the unit. Say when the stem is seen at rest, from outside the guard.")

_GIVE = {
    Cause.SIGNAL: "Take the command signal away at its source, as agreed",
    Cause.MOTOR: "Take the motor supply away at its isolator; control supply stays on",
    Cause.CONTROL: "Take the control supply away at its isolator; motor supply stays on",
    Cause.ALL: "Take all supplies away",
    Cause.ESD: "Cause the ESD from its real initiator",
    Cause.LOCAL_ESD: "Press the ESD at the unit",
}


def fail_safe(sheet: Sheet, arguments: Mapping[str, str]) -> Procedure[FailSafeObserved]:
    """
    One stroke, or one holding, that somebody's act causes.

    Args:
        sheet: The unit's sheet.

        arguments: See `fail_safe_plan`; `test` names the run.

    Returns:
        All that was seen, what was typed in, and what followed afterwards.

    Raises:
        ValueError: the plan makes no sense on this unit.
    """
    run = FailSafe(sheet, fail_safe_plan(sheet, arguments), arguments)
    yield run.begin()
    yield from run.seen.watch_for(STILL_S)
    why = (yield from run.turn_selector()) or (yield from run.let_down()) or run.why_not_ready()
    if not why and run.plan.opposite:
        why = yield from run.set_under_way()
    if why:
        yield Note(why, loud=True)
        return run.observed(FailSafeEnd.NOT_READY, why)
    if why := (yield from run.see_caused()):
        yield Note(why, loud=True)
        return run.observed(FailSafeEnd.NOT_CAUSED, why)
    ended, why = yield from run.see_home()
    yield from run.hear_of_it()
    yield from run.put_back()
    return run.observed(ended, why)


class FailSafe:
    """One run: what has been seen, said and proved so far."""

    def __init__(self, sheet: Sheet, plan: FailSafePlan, arguments: Mapping[str, str]) -> None:
        self.sheet, self.plan = sheet, plan
        self.seen = Onlooker()
        self._arguments = arguments
        self._proofs: list[Proof] = []
        self._outside: OutsideTimes | None = None
        self._stem = ""
        self._begun_ns = 0
        self._by_key_ns: int | None = None
        self._whole: list[Readings | Silence] | None = None

    def begin(self) -> Begin:
        """Nothing is commanded, and nothing guards: what happens is what is wanted."""
        return Begin(
            test=self._arguments.get("test", "fail-safe"),
            commands=(),
            safe_end=SafeEnd.SEND_NOTHING,
            safe_command=None,
            guards={},
            roles=watched_roles(self.sheet, _ALSO_READ),
            longest_s=self.plan.longest_s + PEOPLE_S,
            gap_s=GAP_S,
        )

    def turn_selector(self) -> Generator[Request, Reply, str]:
        """Have the selector turned where the run wants it, its bit tells REMOTE from the others; why not, or empty."""
        wanted = self.plan.selector
        if not wanted:
            return ""
        asked = Ask(
            "selector", f"The selector has to stand in {wanted}: what does the panel show? (local, off, remote)"
        )
        while True:
            said = yield from self.seen.ask(asked, words=("local", "off", "remote"))
            yield from self.seen.watch_for(ACT_WATCHED_S / 10)
            remote = self.seen.bit("remote")
            if said == wanted.lower() and remote in (None, wanted == "REMOTE"):
                return ""
            if said.lower().startswith(CANNOT):
                return said
            yield Note(f"selector {said}, its bit {remote}: {wanted} is wanted", loud=True)

    def let_down(self) -> Generator[Request, Reply, str]:
        """For stored energy alone: motor off, oil let out until the worst legal charge is left; why not, or empty."""
        if not self.plan.pump_off:
            return ""
        cut_in = f"{self.sheet.pump.cut_in_bar:g} bar"
        words = f"Motor locked off at its isolator; let oil out until {cut_in} is left, shut the bleed. Say so"
        while not self._is_let_down():
            said = yield from self.seen.ask(Ask("charge", words))
            if said.lower().startswith(CANNOT):
                return said
            yield from self.seen.watch_for(STILL_S)
            shown = self.seen.level("system_pressure")
            if not self._is_let_down() and shown is not None:
                yield Note(f"{shown / 1e5:.1f} bar is above cut-in, {cut_in}: let out more", loud=True)
        return ""

    def _is_let_down(self) -> bool:
        """A unit that does not show it is believed once somebody says so."""
        shown = self.seen.level("system_pressure")
        if shown is None:
            return self.seen.answer is not None
        return shown <= self.sheet.pump.cut_in_bar * 1e5 + _CHARGE_ROOM_PA

    def why_not_ready(self) -> str:
        """Why it cannot be caused from here, or empty."""
        if self.seen.latest is None:
            return "the unit is not heard"
        if self.seen.bit("esd_healthy") is False:
            return "an ESD is up already: reset it first"
        goes_to = self.plan.goes_to
        if goes_to is not None and self.seen.bit(f"{goes_to.value}_limit") is not self.plan.opposite:
            where = "not at" if self.plan.opposite else "already at"
            return f"the valve is {where} its {goes_to.value} end"
        return ""

    def set_under_way(self) -> Generator[Request, Reply, str]:
        """Have the valve sent the other way, until it is well under way; why it is not, or empty."""
        away = away_from(self.plan.goes_to or End.CLOSED)
        question = Ask("opposite", f"Command {away.value} from panel or control room. (Or: cannot, and why)")
        asking: Ask | None = question
        begun_ns = self.seen.at_ns
        while True:
            if not (yield from self.seen.look(asking)):
                said = "" if self.seen.answer is None else self.seen.answer.text.lower()
                if said.startswith(CANNOT):
                    return said
                asking = None
            travel = self.seen.value("travel")
            way = None if travel is None else travel if away is End.OPEN else 1 - travel
            if way is not None and _UNDER_WAY[0] <= way <= _UNDER_WAY[1]:
                yield Note(f"NOW: {_GIVE[self.plan.cause]}", loud=True)
                return ""
            if self.seen.bit(f"{away.value}_limit"):
                return f"the valve is {away.value} already: the ESD has to come on the way"
            if self.seen.at_ns - begun_ns > PEOPLE_S * 1e9:
                return f"it did not set out in {PEOPLE_S:g} s"

    def see_caused(self) -> Generator[Request, Reply, str]:
        """Wait for the cause, hands-free; why it did not come, or empty."""
        self.seen.forget()
        level = self.seen.level("travel")
        question = self._question_of_cause()
        yield Note(f"WAITING: {question.text}", loud=True)
        begun_ns = self.seen.at_ns
        while True:
            if not (yield from self.seen.look(question)):
                answer = self.seen.answer
                if answer is not None and answer.text.lower().startswith(CANNOT):
                    return answer.text
                self._begun_ns = self.seen.at_ns if answer is None else answer.at_ns
                self._by_key_ns = self._begun_ns if self.plan.timer.source is Source.KEY else None
                return ""
            if self._begun_ns or self._shows_cause(level):
                self._begun_ns = self._begun_ns or self.seen.at_ns
                if self.plan.timer.source is not Source.KEY or self.seen.at_ns - self._begun_ns > _KEY_LATE_S * 1e9:
                    return ""
            else:
                self.seen.forget(_BEFORE_S)
            if self.seen.at_ns - begun_ns > PEOPLE_S * 1e9:
                return f"nothing was caused in {PEOPLE_S:g} s"

    def see_home(self) -> Generator[Request, Reply, tuple[FailSafeEnd, str]]:
        """Watch until it is home, through a silence too; how that ended."""
        goes_to = self.plan.goes_to
        yield Note("caused")
        if self._by_key_ns is not None and goes_to is not None:
            self._outside = yield from home_by_key(self.seen, self.plan, self._by_key_ns)
        asking: Ask | None = None
        while True:
            if not (yield from self.seen.look(asking)):
                return FailSafeEnd.DONE, _SILENT
            silent = self.seen.latest is None and self.plan.cause.is_supply
            asking = _OVER if silent and goes_to is not None else None
            late = self.seen.at_ns - self._begun_ns > self.plan.longest_s * 1e9
            if goes_to is not None and self._is_home(goes_to):
                yield from self.seen.watch_for(STILL_S)
                return FailSafeEnd.DONE, ""
            if late and self.seen.latest is None:
                return FailSafeEnd.DONE, _SILENT
            if late and goes_to is None:
                return FailSafeEnd.DONE, ""
            if late and goes_to is not None:
                return FailSafeEnd.NOT_HOME, f"it did not reach its {goes_to.value} end in {self.plan.longest_s:g} s"

    def hear_of_it(self) -> Generator[Request, Reply, None]:
        """What timed it from outside, and what the stem mark shows."""
        self._keep()
        if self.plan.goes_to is not None and self._outside is None:
            self._outside = yield from typed_times(self.plan, self._arguments)
        words = (End.CLOSED.value, End.OPEN.value, "between")
        asked = Ask("mark", "From outside the guard: the stem mark itself stands at? (closed, open, between)")
        self._stem = yield from self.seen.ask(asked, words=words)
        yield Note(f"stem mark at {self._stem}")

    def put_back(self) -> Generator[Request, Reply, None]:
        """Everything that follows, act by act: none may move the valve."""
        cause, stands = self.plan.cause, self._end_it_stands_at()
        if self.plan.reset_proof:
            yield from self._prove("reset with the cause still there", "pressed alone", self._reset_words(), stands)
        words = "Give the supply back" if cause.is_supply else "Put the cause back to normal"
        dwell_s = RETURN_WATCHED_S if cause.is_supply else ACT_WATCHED_S
        act = f"{cause.value} given back" if not cause.is_esd else "cause of the ESD taken away"
        question = Ask("restored", f"{words}. Hands off after that; say what was done")
        yield from self._keep_proof((yield from self.seen.after(act, question, dwell_s, stands=stands)))
        if self._whole is not None and not any(isinstance(item, Readings) for item in self._whole[-1:]):
            self._keep()  # what was home in the silence is first seen now
        if self.seen.bit("esd_healthy") is not False:
            return
        if self.plan.reset_proof:
            away = away_from(stands or safe_end_of(self.sheet))
            asked = Ask("refused", f"Before the reset somebody commands {away.value}: what happens? (refused, obeyed)")
            proof = yield from self.seen.after(
                f"command {away.value} before the reset",
                asked,
                ACT_WATCHED_S,
                stands=stands,
                words=("refused", "obeyed"),
            )
            yield from self._keep_proof(proof)
        yield from self._prove("reset", "pressed", self._reset_words(), stands)

    def observed(self, ended: FailSafeEnd, why: str = "") -> FailSafeObserved:
        """All that was seen."""
        return FailSafeObserved(
            test=self._arguments.get("test", "fail-safe"),
            cause=self.plan.cause,
            by=self.plan.by,
            goes_to=self.plan.goes_to,
            opposite=self.plan.opposite,
            pump_off=self.plan.pump_off,
            seen=tuple(self.seen.items if self._whole is None else self._whole),
            ended=ended,
            why=why,
            outside=self._outside,
            stem=self._stem,
            proofs=tuple(self._proofs),
        )

    def _prove(self, act: str, name: str, words: str, stands: End | None) -> Generator[Request, Reply, None]:
        """One reset: alone it must leave the trip standing, after the cause is gone it must take it away."""
        proof = yield from self.seen.after(act, Ask(name, words), ACT_WATCHED_S, stands=stands)
        healthy, alone = self.seen.bit("esd_healthy"), name != "pressed"
        if healthy is not None and healthy is alone:
            fault = "the trip was taken away by it alone" if alone else "the trip stands all the same"
            proof = Proof(act=act, watched_s=proof.watched_s, moved=proof.moved, fault=proof.wrong or fault)
        yield from self._keep_proof(proof)

    def _keep_proof(self, proof: Proof) -> Generator[Request, Reply, None]:
        self._proofs.append(proof)
        yield Note(proof.words, loud=True)

    def _reset_words(self) -> str:
        return "Press RESET as it is pressed on this unit. Hands off after that; say what was done"

    def _question_of_cause(self) -> Ask:
        who = f" ({self.plan.by})" if self.plan.by else ""
        words = f"{_GIVE[self.plan.cause]}{who}."
        if self.plan.timer.source is Source.KEY:
            return Ask("given", f"{words} Any key at that very moment.", "key")
        return Ask("given", f"{words} (Type done where nothing is seen of it; or: cannot, and why)")

    def _shows_cause(self, level: float | None) -> bool:
        """Whether the unit shows it: its ESD bit, silence, its limit dropping, or travel that leaves where it stood."""
        if self.seen.latest is None:
            return self.plan.cause.is_supply and self.seen.silences >= _SILENT_ITEMS
        if self.plan.opposite or self.plan.cause.is_esd:
            return self.seen.bit("esd_healthy") is False
        if self.plan.goes_to is None:
            return False
        start = away_from(self.plan.goes_to)
        travel = self.seen.value("travel")
        left = level is not None and travel is not None and abs(travel - level) > MOVED
        return left or self.seen.bit(f"{start.value}_limit") is False or self.seen.bit("esd_healthy") is False

    def _is_home(self, end: End) -> bool:
        """Whether its limit has been made for a second and travel stands still."""
        if not self.seen.bit(f"{end.value}_limit"):
            return False
        recent = [i for i in self.seen.items if isinstance(i, Readings) and self.seen.at_ns - i.at_ns <= STILL_S * 1e9]
        if not all(item.bit(f"{end.value}_limit") for item in recent) or len(recent) < 2:
            return False
        travels = [track for item in recent if (track := item.get("travel")) is not None]
        return not travels or mean_and_noise(travels)[1] < MOVED / 5

    def _end_it_stands_at(self) -> End | None:
        """Where a valve that was to go somewhere stands now; one that holds may stand anywhere."""
        at = self.plan.goes_to
        return at if at is None or self.seen.latest is None or self.seen.bit(f"{at.value}_limit") else None

    def _keep(self) -> None:
        self._whole = list(self.seen.items)

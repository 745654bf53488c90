"""
Visits in memory: a job built by appending events, and a scripted person who answers whatever the walk asks.

No database and no wire: the events are the ones that the product's visit would append, in the same order.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from functools import lru_cache

import msgspec

from commission.checklist import LOOKS, PULSE, Step, load_checklist
from commission.content import Text, checklists_folder
from commission.energy import Need
from commission.figure import make_figure
from commission.job.bodies import (
    Body,
    Connected,
    EnergyLost,
    FiguresComputed,
    JobOpened,
    MotionBegun,
    MotionEnded,
    ResultDecided,
    SessionStarted,
    kind_of,
)
from commission.job.state import Job, needed, opened
from commission.procedures.fail_safe_plan import BROUGHT, FAIL_SAFE
from commission.record.event import Event
from commission.sample import ReadPlan
from commission.sheet import load_sheet
from commission.walk.answers import answer
from commission.walk.confirm import Confirmation, tag_characters
from commission.walk.gate import refusal
from commission.walk.partial import PARTIAL
from commission.walk.prompts import (
    Accept,
    Ask,
    BeginStep,
    Conclude,
    ConfirmMovement,
    Cross,
    Evidence,
    Prompt,
    RunProcedure,
    TakeOff,
    pending,
)
from commission.walk.route import current

START = datetime(2026, 5, 12, 6, 40, tzinfo=UTC)
TESS = "Tess Placeholder"
OLLIE = "Ollie Sampleton"
PEOPLE = 4

LOCK_NUMBERS: Mapping[str, str] = {
    name: str(number)
    for number, name in enumerate(
        ("motor", "control", "loop-24v", "battery", "array", "accumulator", "sensing-line"), start=11
    )
}


@lru_cache
def texts() -> tuple[Text, tuple[Text, ...]]:
    """The texts of the invented unit's sheet and of the commissioning checklist."""
    folder = checklists_folder()
    _, sheet = load_sheet(folder / "units" / "xv-1101.toml")
    _, checklist = load_checklist(folder / "commissioning.toml")
    return sheet, checklist


class Visit:
    """
    A job in memory, with its clock.

    Args:
        sheet: Text of the sheet; the invented XV-1101 unless given.

        checklist: Texts of the checklist; the commissioning checklist unless given.
    """

    def __init__(self, sheet: Text | None = None, checklist: tuple[Text, ...] | None = None) -> None:
        sheet_text, checklist_texts = texts()
        self.now = START
        self.events: list[Event] = []
        body = JobOpened(
            tag="XV-1101",
            sheet=sheet or sheet_text,
            checklist=checklist or checklist_texts,
            program_version="0",
        )
        self.events.append(self._event(body, TESS, 1))
        self.job = opened(self.events[0])
        self.record(SessionStarted(program_version="0", resumed=False), "program")

    def _event(self, body: Body, by: str, n: int) -> Event:
        return Event(
            n=n,
            session="s1",
            at_utc=self.now.isoformat(),
            at_mono_ns=n,
            by=by,
            kind=kind_of(type(body)),
            v=1,
            need=needed(body),
            body=msgspec.to_builtins(body),
        )

    def record(self, body: Body, by: str = TESS) -> None:
        """Append one event; what is not legal raises and changes nothing."""
        event = self._event(body, by, self.job.last_n + 1)
        self.job = self.job.after(event)
        self.events.append(event)

    def wait(self, minutes: float) -> None:
        """Let time pass."""
        self.now += timedelta(minutes=minutes)

    def connect(self) -> None:
        """The unit answers."""
        self.record(
            Connected(
                url="tcp://127.0.0.1:5020?unit=11",
                practice_speed=None,
                round_trip_p50_s=0.03,
                round_trip_p99_s=0.05,
                make_safe_s=0.05,
                echoes=False,
                identity=1101,
                other_master="none",
                agreed_by="Mara Mockford",
            )
        )

    def lose_state(self, reason: str = "the lid was closed") -> None:
        """The energy state becomes unknown."""
        self.record(EnergyLost(reason=reason), "program")

    def restart(self) -> None:
        """The program is started again on the same job, and connects."""
        self.record(SessionStarted(program_version="0", resumed=True), "program")
        self.connect()

    def run(self, step: Step, prompt: RunProcedure, verdict: str = "pass") -> None:
        """A motion is run, finished and judged."""
        run = f"{step.id}-{prompt.test.number}"
        arguments = {**prompt.use.arguments, "test": prompt.test.name}
        stroke = {"command_open" if prompt.test.direction == "open" else "command_close": 1}
        commands = COMMANDS.get(prompt.use.name, stroke)
        commands = {} if prompt.use.name in (*LOOKS, FAIL_SAFE, BROUGHT) else commands
        self.record(
            MotionBegun(
                run=run,
                step=step.id,
                procedure=prompt.use.name,
                arguments=arguments,
                test=prompt.test.name,
                commands=commands,
                safe_end="stop",
                guards=(),
                plan=ReadPlan(unit_id=11, blocks=()),
            )
        )
        self.wait(prompt.test.longest_s / 120)
        self.record(MotionEnded(run=run, how="finished", reason="", safe_end="not needed"))
        if prompt.use.name == PARTIAL:
            computed = FiguresComputed(run=run, figures=PARTIAL_FIGURES, timed_by="samples", commanded_by="laptop")
            self.record(computed, "program")
        self.record(
            ResultDecided(
                run=run,
                step=step.id,
                test=prompt.test.name,
                figure="response_time",
                verdict=verdict,
                rule="guarded",
                limit_low="6",
                limit_high="10",
                origin="sheet",
            ),
            "program",
        )


COMMANDS: Mapping[str, dict[str, int]] = {
    PULSE: {"command_open": 1, "command_close": 1, "command_stop": 1, "command_partial_stroke": 1},
    PARTIAL: {"command_partial_stroke": 1},
}
"""What a procedure that is no stroke to an end may command."""

PARTIAL_FIGURES = tuple(
    make_figure(name, value, spread, unit, "partial.stroke/1")
    for name, value, spread, unit in (
        ("time_to_target", 10.1, 0.05, "s"),
        ("breakaway_pressure", 53.5e5, 0.2e5, "Pa"),
        ("return_time", 26.4, 0.1, "s"),
    )
)

Script = Mapping[str, str]
"""Answers by `step.question`, or by question where it is the same everywhere; the rest has defaults."""


class Person:
    """
    Somebody who answers every prompt, sensibly unless told otherwise.

    Args:
        visit: The visit.

        script: Other answers than the sensible ones.

        measured: What the unit reads, by role, in the question's unit.
    """

    def __init__(self, visit: Visit, script: Script | None = None, measured: Mapping[str, float] | None = None) -> None:
        self.visit = visit
        self.script = dict(script or {})
        self.measured = {**READINGS, **(measured or {})}
        self.walked: list[str] = []

    def act(self, step: Step, prompt: Prompt) -> None:
        """Do what one prompt asks."""
        visit = self.visit
        visit.wait(0.1)
        if isinstance(prompt, RunProcedure):
            visit.run(step, prompt)
            return
        if isinstance(prompt, Evidence) and prompt.need.fact == "no rise":
            visit.wait(5.1)
        measured = None
        if isinstance(prompt, Ask) and prompt.question.role:
            measured = self.reading(step, prompt)
        text = self.words(step, prompt)
        for body in answer(visit.job, step, prompt, text, TESS, visit.now, measured):
            visit.record(body)
        if isinstance(prompt, BeginStep):
            self.walked.append(step.id)

    def walk_step(self, step: Step) -> None:
        """Begin a step and answer until it has its verdict."""
        visit = self.visit
        refused = refusal(visit.job, step, visit.now)
        assert refused is None, f"{step.id}: {refused}"
        for _ in range(200):
            prompt = pending(visit.job, step, visit.now)
            self.act(step, prompt)
            if isinstance(prompt, Conclude):
                return
        raise AssertionError(f"{step.id} does not end")

    def walk(self, until: Callable[[Job], bool] = lambda _job: False) -> None:
        """Walk what is current, step after step, until `until` holds or the walk is at its end."""
        for _ in range(200):
            step = current(self.visit.job)
            if step is None or until(self.visit.job):
                return
            self.walk_step(step)
        raise AssertionError(f"the walk does not end: {self.walked}")

    def walk_to(self, step: str) -> Step:
        """Walk until this step is current; it is not begun."""
        self.walk(lambda job: (ahead := current(job)) is not None and ahead.id == step)
        return self.visit.job.checklist.step(step)

    def reading(self, step: Step, prompt: Ask) -> float:
        """What the unit reads for a measured question."""
        key = f"{step.id}.{prompt.question.id}"
        return self.measured.get(key, self.measured[prompt.question.role])

    def words(self, step: Step, prompt: Prompt) -> str:
        """What this person types."""
        match prompt:
            case BeginStep():
                return "begin"
            case Conclude():
                return "conclude"
            case Cross():
                return str(prompt.target)
            case Evidence():
                return self.script.get(prompt.need.fact) or evidence_words(prompt.need)
            case TakeOff():
                return f"{OLLIE}, seen and tried"
            case Accept():
                return "Piet Exampler, part on order"
            case ConfirmMovement():
                full = f"{PEOPLE} {tag_characters(self.visit.job.tag)} Mara Mockford"
                return full if prompt.kind is Confirmation.FULL else "g"
            case Ask():
                return self._asked(step, prompt)
        raise AssertionError(f"nothing to say to {prompt}")

    def _asked(self, step: Step, prompt: Ask) -> str:
        question = prompt.question
        for key in (f"{step.id}.{question.id}", question.id):
            if key in self.script:
                return self.script[key]
        if question.kind == "choice":
            return question.choices[0]
        if question.effect == "clock":
            return (self.visit.now - timedelta(seconds=7)).strftime("%H:%M:%S")
        if question.effect == "stem mark":
            return "closed to open" if question.about == "open" else "open to closed"
        if question.effect in ("temporary on", "lowered limit"):
            return "none"
        if question.effect == "instrument" and question.about == "due":
            return "2027-03-31"
        if question.effect == "argument":
            return METER[question.about]
        if prompt.expected is not None:
            return prompt.expected.text
        return SENSIBLE[question.kind]


SENSIBLE: Mapping[str, str] = {
    "text": "as seen and said",
    "person": "Mara Mockford",
    "count": "0",
    "number": "0",
    "time": "23:00",
    "measured": "read",
}

METER: Mapping[str, str] = {
    "meter": "M-03",
    "meter_full_scale_ma": "24",
    "meter_digit_ma": "0.01",
    "meter_accuracy": "0.02 mA",
    "stem_step": "0.5",
    "by": "Juno Demoval, at the cabinet",
    "timed_by": "recorder 0.02 s",
    "gauge": "G-12; 0-100 bar; 0.1 bar; 0.1 bar",
}
"""What the data sheets of the invented clamp meter and gauge say."""

READINGS: Mapping[str, float] = {
    "alarm_supply": 0.0,
    "P3.seen": 1.0,
    "identity": 1101.0,
    "remote": 1.0,
    "closed_limit": 1.0,
    "line_damaged": 0.0,
    "line_unanswered": 0.0998,
    "supply_voltage": 24.37,
    "run_limit": 300.0,
    "starts_allowed": 6.0,
    "travel_timeout_open": 240.0,
    "travel_timeout_close": 15.0,
    "trip_high": 70.0,
    "trip_low": 50.0,
    "trip_high_delay": 3.0,
    "trip_low_delay": 5.0,
}
"""What the invented unit reads, in the units that the questions ask for."""

GOOD_SCRIPT: Script = {
    "B5.people": "4",
    "B5.jumpers": "none",
    "F2.bond": "0.04",
    "F3.insulation": "180",
    "F3.winding": "18",
    "F3.lifted": "motor cores U V W; terminals TB-1; to keep 500 V off the electronics",
    "G4.gas_temperature": "4",
    "G4.found": "62",
    "G4.left": "90",
    "H1.open": "90",
    "H1.closed": "0",
    "H2.open": "1,5",
    "H2.closed": "1.2",
    "L1.line_change": "2 bar",
    "L2.baseline": "Piet Exampler",
}
"""The invented commissioning day: precharge low as found, everything else good."""


def evidence_words(need: Need) -> str:
    """Sensible evidence for a need, in the words that a person types."""
    if need.ask == "lock":
        return f"lock {LOCK_NUMBERS[need.subject]}"
    if need.ask == "reading":
        return {"seen above zero": "96 bar", "seen to fall": "12 bar"}.get(need.fact, "0 bar gauge")
    words = {
        "count": str(PEOPLE),
        "place": "closed",
        "meter": "24.1 0.0 24.1",
        "names": "Mara Mockford",
        "word": "seen and said aloud",
    }
    return "blocked by screw cap SC-2" if need.fact == "dump held" else words[need.ask]


def good_person() -> Person:
    """A person on the invented commissioning day, connected to the unit."""
    visit = Visit()
    visit.connect()
    return Person(visit, GOOD_SCRIPT)

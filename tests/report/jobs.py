"""Jobs built in memory, event by event, in the invented scenario: what the report tests are made of."""

import math
from datetime import UTC, datetime, timedelta

import msgspec

from commission.content import Text, checklists_folder, read_text
from commission.energy import EnergyState, missing
from commission.figure import Figure, make_figure
from commission.job import bodies
from commission.job.state import Job
from commission.job.state import opened as job_opened
from commission.record.event import Event
from commission.report.trace import Trace
from commission.sample import Block, ReadPlan, Table

DIGEST = "9f2c4e81" * 8
MADE = "2026-11-24T16:20:00+00:00"
TESS, MARA, PIET, OLLIE = "Tess Placeholder", "Mara Mockford", "Piet Exampler", "Ollie Sampleton"
RULE = (
    "pass where the value is inside the limit by at least its 95 % uncertainty, fail where it is outside by more,"
    " between them not decided (guard band w = U, ILAC-G8:09/2019, 4.2.2)"
)

CHECKLIST = """
format = 1
name = "Commissioning of one unit"
revision = "1"
phases = [{ id = "B", name = "arrival" }, { id = "H", name = "ends" }, { id = "K", name = "strokes" },
          { id = "N", name = "protections" }]
cautions = [{ id = "pinch", word = "WARNING", text = "Stem can move. No hand inside." }]
voids = [{ id = "closed-limit", touched = "limit cam", voids = ["K1"] }]
temporary = [{ id = "setting", name = "raised setting" }]

[[steps]]
id = "B4"
title = "Read the tag plate"
state = "any"
do = "Read the plate aloud."
cautions = ["pinch"]
questions = [{ id = "serial", ask = "Serial on the plate" }]

[[steps]]
id = "H2"
title = "Set the closed limit"
state = "locked"
do = "Set the cam."
cautions = ["pinch"]
[[steps.questions]]
id = "gap"
ask = "Gap at the cam"
kind = "number"
unit = "mm"
least = "0.5"
most = "1.5"
origin = "sheet revision D"

[[steps]]
id = "K1-open"
title = "Time the opening stroke"
state = "live"
moves = true
do = "Stroke it."
cautions = ["pinch"]
procedures = [{ name = "full_stroke", arguments = { direction = "open" }, times = 3 }]

[[steps]]
id = "K1-close"
title = "Time the closing stroke"
state = "live"
moves = true
do = "Stroke it."
cautions = ["pinch"]
procedures = [{ name = "full_stroke", arguments = { direction = "closed" }, times = 3 }]

[[steps]]
id = "N1"
title = "Prove low fluid"
state = "live"
do = "Make it act."
cautions = ["pinch"]
questions = [{ id = "acts", ask = "What acts", kind = "choice", choices = ["pump stops", "nothing"] }]
"""

_DETAILS: dict[str, dict[str, object]] = {
    "names": {"text": "M. Mockford"},
    "count": {"count": 4},
    "lock": {"number": "L-07"},
    "place": {"how": "fail position", "stem_mark": "closed"},
    "meter": {"live_before_v": 24.1, "dead_v": 0.0, "live_after_v": 24.1},
}
_BARS = {"seen above zero": 104.0, "seen to fall": 31.0}
_PLAN = ReadPlan(11, (Block(Table.INPUT, 10, 4),))


class Visit:
    """Builds one job; each method adds events, one minute apart, and folds them at once."""

    def __init__(self, tag: str = "XV-1101", checklist: str = CHECKLIST) -> None:
        self.at = datetime(2026, 11, 24, 7, 10, tzinfo=UTC)
        self.events: list[Event] = []
        self.traces: dict[str, Trace] = {}
        sheet = read_text(checklists_folder() / "units" / "xv-1101.toml")
        opened = bodies.JobOpened(
            tag=tag, sheet=sheet, checklist=(Text("commissioning.toml", checklist),), program_version="0.1.0"
        )
        first = self._event(opened, "program")
        self.job: Job = job_opened(first)
        self.add(bodies.SessionStarted(program_version="0.1.0", resumed=False), by="program")

    def add(self, *happened: bodies.Body, by: str = TESS) -> "Visit":
        """Add events of one person."""
        for body in happened:
            self.job = self.job.after(self._event(body, by))
        return self

    def _event(self, body: bodies.Body, by: str) -> Event:
        self.at += timedelta(seconds=20)
        event = Event(
            n=len(self.events) + 1,
            session="s1",
            at_utc=self.at.isoformat(),
            at_mono_ns=len(self.events) * 1_000_000,
            by=by,
            kind=bodies.kind_of(type(body)),
            v=1,
            need=bodies.kind_of(type(body)) in bodies.NEED,
            body=msgspec.to_builtins(body),
        )
        self.events.append(event)
        return event

    def people(self) -> "Visit":
        """Everybody arrives, with permit, instruments and the first look at the clocks."""
        for name, role in (
            (TESS, "commissioning technician"),
            (OLLIE, "area operator"),
            (MARA, "control-room controller"),
            (PIET, "owner's engineer"),
        ):
            self.add(bodies.PersonAdded(name=name, role=role, reference="site list 3"))
        self.add(
            bodies.PermitRecorded(
                number="QR-PTW-0417", until_utc="2026-11-24T16:00:00+00:00", gas_test="0 % LEL", tester=OLLIE
            ),
            bodies.InstrumentAdded(
                id="M-03",
                what="mA clamp",
                certificate="C-881",
                due="2027-03-01",
                range="0 to 24 mA",
                uncertainty="± 0.02 mA",
            ),
            bodies.InstrumentAdded(
                id="G-11",
                what="test gauge",
                certificate="C-412",
                due="2026-10-01",
                range="0 to 250 bar",
                uncertainty="± 0.5 bar",
            ),
        )
        return self.clock("start", 7.0)

    def clock(self, when: str, offset_s: float) -> "Visit":
        """Compare the laptop's clock with the control room."""
        return self.add(bodies.ClockCompared(when=when, offset_s=offset_s, against="control room event log"))

    def connect(self, practice_speed: float | None = None) -> "Visit":
        """The line is up."""
        return self.add(
            bodies.Connected(
                url="rtu:///dev/ttyUSB0?baud=19200&parity=E&stop=1&unit=11",
                practice_speed=practice_speed,
                round_trip_p50_s=0.021,
                round_trip_p99_s=0.03,
                make_safe_s=0.05,
                echoes=False,
                identity=1101,
                other_master="none",
                agreed_by=MARA,
            ),
            by="program",
        )

    def cross(self, *targets: str) -> "Visit":
        """Cross through energy states with all the evidence each needs."""
        for target in targets:
            self.add(bodies.EnergyBegun(target=target))
            while needs := missing(self.job.energy_log.now, self.job.sheet):
                need = needs[0]
                details: dict[str, object] = dict(_DETAILS.get(need.ask, {}))
                if need.ask == "reading":
                    details = {"bar": _BARS.get(need.fact, 0.0), "read_on": "gauge", "minutes": 5}
                self.at -= timedelta(seconds=15)
                self.add(bodies.EnergyProved(fact=need.fact, subject=need.subject, details=details))
            self.add(bodies.EnergyEntered(state=EnergyState(target).value))
        return self

    def step(self, name: str, verdict: str = "pass", reason: str = "", **answers: str) -> "Visit":
        """Do one step."""
        self.add(bodies.StepBegun(step=name, cautions=("pinch",)))
        for question, text in answers.items():
            self.add(bodies.Answered(step=name, question=question, text=text, verdict="pass"))
        return self.add(bodies.StepConcluded(step=name, verdict=verdict, reason=reason))

    def stroke(
        self,
        run: str,
        direction: str,
        time_s: float,
        verdict: str = "pass",
        *,
        half_s: float = 0.062,
        as_found: bool = False,
        settles: str = "",
        trace: bool = True,
    ) -> "Visit":
        """One whole stroke with its figures, verdict and curve."""
        self.begin(run, direction, as_found=as_found)
        limits = self.job.sheet.strokes.opening if direction == "open" else self.job.sheet.strokes.closing
        figures = stroke_figures(time_s, half_s, direction)
        self.add(
            bodies.MotionEnded(run=run, how="finished", reason="", safe_end="not needed"),
            bodies.FiguresComputed(
                run=run, figures=figures, timed_by="samples over the link, t0 to t6", commanded_by="laptop"
            ),
            bodies.ResultDecided(
                run=run,
                step=_step(direction),
                test=f"K1 {direction} {run}",
                figure="response_time",
                verdict=verdict,
                rule=RULE,
                limit_low=str(limits.shortest_s),
                limit_high=str(limits.longest_s),
                origin=limits.origin,
                settles=settles,
            ),
            by="program",
        )
        if trace:
            self.traces[run] = stroke_trace(run, direction, time_s)
        return self

    def begin(self, run: str, direction: str, *, as_found: bool = False) -> "Visit":
        """A stroke that has begun and been commanded."""
        command = "command_open" if direction == "open" else "command_close"
        self.add(
            bodies.MotionBegun(
                run=run,
                step=_step(direction),
                procedure="full_stroke",
                arguments={"direction": direction},
                test=f"K1 {direction}",
                commands={command: 1},
                safe_end="stop",
                guards=("remote",),
                plan=_PLAN,
                as_found=as_found,
            )
        )
        sent = bodies.CommandSent(
            run=run, role=command, value=1, at_ns=0, half_width_ns=1, outcome="answered", purpose="procedure"
        )
        return self.add(sent, by="program")

    def look(self, *directions: str) -> "Visit":
        """Somebody looks at the stem."""
        for direction in directions:
            start, end = ("closed", "open") if direction == "open" else ("open", "closed")
            self.add(bodies.StemLookedAt(direction=direction, start_mark=start, end_mark=end), by=OLLIE)
        return self

    def sign(self) -> "Visit":
        """Technician and operator sign."""
        self.add(
            bodies.Signed(role="technician", statement="performed and recorded as shown", how="typed on the laptop")
        )
        return self.add(
            bodies.Signed(role="operator", statement="accepted into service", how="typed on the laptop"), by=OLLIE
        )


def _step(direction: str) -> str:
    return "K1-open" if direction == "open" else "K1-close"


def stroke_figures(time_s: float, half_s: float, direction: str) -> tuple[Figure, ...]:
    """Figures as the analysis gives them, the judged one first."""
    method = "timing.stroke/2"
    note = "scatter and last digit only; the transmitter's own error is not in it"
    final = 0.9982 if direction == "open" else 0.0016
    return (
        make_figure("response_time", time_s, half_s, "s", method),
        make_figure("dead_time", 0.5, half_s, "s", method),
        make_figure("traverse_time", time_s - 0.7, half_s, "s", method),
        make_figure("pressure_at_start", 5_350_000.0, 31_000.0, "Pa", "extremes.stroke/2", note=note),
        make_figure("pressure_max", 10_500_000.0, 42_000.0, "Pa", "extremes.stroke/2", note=note),
        make_figure("final_travel", final, 0.0011, "1", "extremes.stroke/2", note=note),
    )


def stroke_trace(run: str, direction: str, time_s: float, count: int = 400) -> Trace:
    """A smooth curve from one end to the other with a falling or rising pressure."""
    times = tuple(-1.0 + number * (time_s + 2.0) / count for number in range(count + 1))
    share = tuple(min(1.0, max(0.0, (time - 0.5) / (time_s - 0.5))) for time in times)
    eased = tuple((1 - math.cos(math.pi * part)) / 2 for part in share)
    if direction == "open":
        return Trace(run, times, eased, tuple(5.3e6 + 3.2e6 * part + 2e6 * (part >= 1) for part in share))
    return Trace(run, times, tuple(1 - part for part in eased), tuple(5.3e6 - 2.8e6 * part for part in share))


def good_visit(begun: Visit | None = None) -> Visit:
    """A whole normal visit: locked, ends set, live, three strokes each way, everything signed; of a job of its own."""
    visit = (begun or Visit()).people().connect()
    visit.cross("in operation", "locked").step("B4", serial="EH-40117").step("H2", gap="1.0")
    visit.cross("control", "live")
    visit.add(bodies.StepBegun(step="K1-open"))
    for number, time_s in enumerate((145.93, 146.42, 146.21), start=1):
        visit.stroke(f"r{number}", "open", time_s)
    visit.add(bodies.StepConcluded(step="K1-open", verdict="pass"), bodies.StepBegun(step="K1-close"))
    for number, time_s in enumerate((8.052, 7.981, 8.024), start=4):
        visit.stroke(f"r{number}", "closed", time_s)
    visit.add(bodies.StepConcluded(step="K1-close", verdict="pass"))
    visit.look("open", "closed").step("N1", acts="pump stops")
    visit.cross("in operation").clock("end", 7.0)
    return visit.sign()


def eventful_visit() -> Visit:
    """A practice visit with all that can go wrong: a failure, an interruption, an adjustment, things left on."""
    visit = Visit().people().connect(practice_speed=20.0)
    visit.cross("in operation", "locked").step("B4", serial="EH-40171").step("H2", gap="1.0").cross("control", "live")
    visit.add(
        bodies.DeviationRaised(
            id="D1",
            step="B4",
            required="serial EH-40117",
            found="EH-40171 on the plate",
            owner="Fable River",
            classed="B",
            due="2026-12-15",
        )
    )
    visit.add(bodies.StepBegun(step="K1-close"))
    visit.stroke("r1", "closed", 12.61, "fail", as_found=True)
    visit.add(bodies.Adjusted(touched="closed-limit", detail="cam screw tightened"))
    visit.stroke("r2", "closed", 9.98, "not decided", settles="a measurement with U of 0.02 s or less")
    visit.begin("r3", "closed")
    visit.add(bodies.GapSeen(run="r3", since_ns=0, at_ns=9, reason="no answer"), by="program")
    visit.add(bodies.SessionStarted(program_version="0.1.0", resumed=True), by="program")
    visit.add(bodies.StepConcluded(step="K1-close", verdict="not decided", reason="contact lost"))
    visit.add(
        bodies.TemporaryAdded(id="T1", kind="setting", what="run limit raised to 300 s", where="unit", why="bleeding")
    )
    return visit.step("N1", "not tested", "no oil to spare")

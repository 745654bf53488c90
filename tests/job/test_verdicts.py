"""What a run comes to: the verdict of each way it can end, and of what it observed."""

import random

import msgspec
import pytest

from commission.analysis.fail_safe import Cause, FailSafeEnd, FailSafeObserved, Proof
from commission.analysis.observed import StrokeEnd, StrokeObserved
from commission.analysis.wiring import Finding, PointSeen, WiringSeen
from commission.content import checklists_folder
from commission.figure import Verdict
from commission.job.verdicts import RunMade, points_of, verdict_of
from commission.procedures.brought import Brought
from commission.procedures.pulse_seen import PulseSeen, PulsesSeen
from commission.sample import Written
from commission.sheet import End, load_sheet
from commission.sheet.decode import Reading, Readings
from tests.procedures.strokes import Line, Stroke, command_time, samples

SHEET = load_sheet(checklists_folder() / "units" / "xv-1101.toml")[0]
MADE = RunMade(
    run="r1",
    step="K1-close",
    test="K1-close closed 1",
    procedure="full_stroke",
    arguments={"direction": "closed", "test": "K1-close closed 1"},
    how="finished",
)

_UNIT = Stroke(moving_s=1.0)
AT_LIMIT_S = (10.0 - _UNIT.dead_s) / (_UNIT.home_s - _UNIT.start_s)
"""Moving time of a stroke whose end limit makes exactly 10 s after its command."""


def stroke(moving_s: float, ended: StrokeEnd = StrokeEnd.HOME) -> StrokeObserved:
    """A closing stroke that truly took so long."""
    random_ = random.Random(4)
    curve = Stroke(opening=False, moving_s=moving_s, last_s=moving_s + 6)
    at_ns, half_ns, outcome = command_time(curve, Line(), random_)
    return StrokeObserved(
        test=MADE.test,
        direction=End.CLOSED,
        command=Written(at_ns, half_ns, outcome),
        seen=tuple(samples(curve, Line(), random_)),
        ended=ended,
    )


@pytest.mark.parametrize(
    ("moving_s", "verdict"),
    [(7.5, Verdict.PASS), (11.0, Verdict.FAIL), (AT_LIMIT_S, Verdict.NOT_DECIDED), (4.0, Verdict.FAIL)],
)
def test_stroke_is_judged_by_the_sheets_limits(moving_s: float, verdict: Verdict) -> None:
    """Between 6 and 10 s with room for U: pass; outside: fail; in the guard band: not decided, with what settles it."""
    computed, result = verdict_of(MADE, stroke(moving_s), SHEET)
    assert computed is not None
    assert computed.figures[0].name == result.figure == "response_time"
    assert (result.verdict, result.limit_low, result.limit_high) == (verdict, "6.0", "10.0")
    assert result.origin == "sheet revision D, empty line"
    assert bool(result.settles) == (verdict is Verdict.NOT_DECIDED)
    assert (result.run, result.step, result.test) == ("r1", "K1-close", MADE.test)


def test_r19_figures_say_what_timed_them_and_who_commanded() -> None:
    """From samples of the link, commanded by the laptop."""
    computed, _ = verdict_of(MADE, stroke(7.5), SHEET)
    assert computed is not None
    assert computed.timed_by == "samples over the link, t0 to t6"
    assert computed.commanded_by == "laptop"


@pytest.mark.parametrize(
    ("how", "verdict"),
    [
        ("no test", Verdict.NO_TEST),
        ("stopped", Verdict.STOPPED),
        ("aborted", Verdict.STOPPED),
        ("odd", Verdict.STOPPED),
    ],
)
def test_run_that_did_not_finish_measures_nothing(how: str, verdict: Verdict) -> None:
    """Never a pass, and the reason stands where the rule would."""
    computed, result = verdict_of(msgspec.structs.replace(MADE, how=how, reason="stop key"), None, SHEET)
    assert computed is None
    assert (result.verdict, result.rule, result.figure) == (verdict, "stop key", "")


def test_stroke_that_never_began_is_no_test() -> None:
    """Nothing moved: there is rightly no figure, and the verdict says why."""
    still = msgspec.structs.replace(stroke(7.5), ended=StrokeEnd.NOT_READY, why="travel is not still")
    computed, result = verdict_of(MADE, still, SHEET)
    assert computed is None
    assert result.verdict == Verdict.NO_TEST
    assert "travel is not still" in result.rule


@pytest.mark.parametrize(("seen", "verdict"), [(True, Verdict.PASS), (False, Verdict.FAIL)])
def test_pulses_pass_when_each_was_seen(*, seen: bool, verdict: Verdict) -> None:
    """What only looks has no figures; its words stand as the rule."""
    made = msgspec.structs.replace(MADE, procedure="prove_commands", arguments={"test": "I2 1"})
    pulses = PulsesSeen((PulseSeen("command_open", proved=seen, words="closed the motor contactor"),))
    computed, result = verdict_of(made, pulses, SHEET)
    assert computed is None
    assert (result.verdict, result.rule) == (verdict, "command open closed the motor contactor")


TRIPPED = msgspec.structs.replace(MADE, procedure="fail_safe", arguments={"cause": "ESD", "test": "K5 ESD 1"})


def tripped(**other: object) -> FailSafeObserved:
    """A closing stroke that an ESD caused at its second."""
    seen = []
    for item in stroke(7.5).seen:
        assert isinstance(item, Readings)
        bit = Reading(float(item.at_ns < 1_500_000_000), item.at_ns, 5_000_000)
        seen.append(msgspec.structs.replace(item, by_role={**item.by_role, "esd_healthy": bit}))
    plain = FailSafeObserved(
        test="K5 ESD 1",
        cause=Cause.ESD,
        by="PB-7",
        goes_to=End.CLOSED,
        opposite=False,
        pump_off=False,
        seen=tuple(seen),
        ended=FailSafeEnd.DONE,
    )
    return msgspec.structs.replace(plain, **other)


def test_what_a_fail_safe_stroke_saw_can_fail_it_whatever_its_time() -> None:
    """In limits, and the valve moved at the reset: a failure, with the words; its figures stand."""
    computed, result = verdict_of(TRIPPED, tripped(), SHEET)
    assert result.verdict == Verdict.PASS
    moved = Proof(act="reset", watched_s=5.0, moved=0.2)
    again, failed = verdict_of(TRIPPED, tripped(proofs=(moved,)), SHEET)
    assert (failed.verdict, failed.rule) == (Verdict.FAIL, "failed: reset: the valve moved by 20.0 %")
    assert again == computed
    assert failed.figure == result.figure == "response_time"


def test_a_fail_safe_stroke_that_nobody_caused_is_no_test() -> None:
    """With the reason that was given."""
    computed, result = verdict_of(TRIPPED, tripped(ended=FailSafeEnd.NOT_CAUSED, why="cannot: sealed"), SHEET)
    assert computed is None
    assert (result.verdict, result.rule) == (Verdict.NO_TEST, "K5 1: cannot: sealed".replace("K5 1", "K5 ESD 1"))


@pytest.mark.parametrize(("there", "verdict"), [(True, Verdict.PASS), (False, Verdict.NO_TEST)])
def test_a_valve_that_was_not_brought_there_is_no_test(*, there: bool, verdict: Verdict) -> None:
    """Nothing of the unit has failed by that."""
    made = msgspec.structs.replace(MADE, procedure="brought", arguments={"test": "K5 brought 1"})
    _, result = verdict_of(made, Brought(End.OPEN, there=there, words="as it was"), SHEET)
    assert (result.verdict, result.rule) == (verdict, "as it was")


def test_unknown_procedure_is_a_lookup_error() -> None:
    """Nobody can say here what another program's run comes to."""
    with pytest.raises(LookupError):
        verdict_of(msgspec.structs.replace(MADE, procedure="third_stroke"), object(), SHEET)


def test_points_of_a_wiring_proof_are_kept_and_no_other_runs() -> None:
    """Its verdict is that of all points; what did not finish has none."""
    point = PointSeen(role="remote", forced="Turn it", seen="no change", finding=Finding.NONE, words="Look.")
    seen = WiringSeen(points=(point,), not_forced=("motor: elsewhere",))
    made = msgspec.structs.replace(MADE, procedure="see_contacts", arguments={"test": "I2 1"})
    proved = points_of(made, seen)
    assert proved is not None
    assert (proved.run, proved.points, proved.not_forced) == (MADE.run, (point,), ("motor: elsewhere",))
    computed, result = verdict_of(made, seen, SHEET)
    assert (computed, result.verdict, result.rule) == (None, "fail", "Turn it: nothing changed. Look.")
    assert points_of(made, None) is None
    assert points_of(MADE, stroke(7.5)) is None

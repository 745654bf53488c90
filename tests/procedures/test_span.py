"""M1 and M2 played against a valve that can be held: points, settling, what is asked, and how it may end."""

import itertools

import msgspec
import pytest

from commission.analysis.span import LARGEST, Signal, SpanEnd, SpanObserved, span_figures
from commission.content import checklists_folder
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.requests import Ask, Begin, SafeEnd
from commission.procedures.span import span
from commission.sheet import Sheet, load_sheet
from tests.procedures.held_valve import HeldValve
from tests.procedures.played import play
from tests.sheet.xv import xv_1101

METER = {"meter": "M-03", "meter_accuracy": "0.02 mA", "stem_step": "0.1", "test": "M1 1"}
BY_LAPTOP = {**METER, "signal": "feedback", "moved_by": "laptop"}
BY_PEOPLE = {**METER, "signal": "feedback", "moved_by": "people"}


def slow_both_ways() -> Sheet:
    """A unit that can be held on both ways."""
    sheet = xv_1101()
    slow = msgspec.structs.replace(sheet.strokes.closing, expected_s=100.0, longest_s=120.0)
    return msgspec.structs.replace(sheet, strokes=msgspec.structs.replace(sheet.strokes, closing=slow))


def taken(sheet: Sheet, arguments: dict[str, str], valve: HeldValve) -> tuple[SpanObserved, Begin]:
    """Play a whole span."""
    observed, begun = play(span(sheet, arguments), valve)
    assert isinstance(observed, SpanObserved)
    return observed, begun


def test_the_laptop_opens_to_each_point_and_stops_there() -> None:
    """Five points up, each move with its own key, each ended by a stop but the last, which ends at the limit."""
    valve = HeldValve()
    observed, begun = taken(xv_1101(), BY_LAPTOP, valve)
    assert observed.ended is SpanEnd.DONE
    assert [known.point_pct for known in observed.readings] == [0, 25, 50, 75, 100]
    assert [known.stem * 100 for known in observed.readings] == pytest.approx([0, 25, 50, 75, 99.5], abs=1.0)
    assert valve.commands == ["command_open", "command_stop"] * 3 + ["command_open"]
    assert sum("yoke" in text for text in valve.asked) == 4
    assert begun.safe_end is SafeEnd.STOP
    assert begun.safe_command is not None
    assert begun.safe_command.role == "command_stop"
    assert "direction" in begun.guards
    assert "feedback_current" in begun.roles


def test_its_down_points_are_not_tested_for_the_sheets_reason() -> None:
    """XV-1101 closes in 8 s by its spring: said before the first point, and kept with the run."""
    valve = HeldValve()
    observed, _ = taken(xv_1101(), BY_LAPTOP, valve)
    assert len(observed.not_tested) == 1
    assert "down not tested: closing takes 8 s by the sheet" in observed.not_tested[0]
    assert valve.notes.index(observed.not_tested[0]) < valve.notes.index("asked: 0 % up")


def test_whether_the_meter_decides_is_said_before_the_first_point() -> None:
    """And again where it cannot."""
    for accuracy, word in (("0.02 mA", "decides: yes"), ("0.3 mA", "decides: no")):
        valve = HeldValve()
        taken(xv_1101(), {**BY_LAPTOP, "meter_accuracy": accuracy}, valve)
        said = next(note for note in valve.notes if "decides" in note)
        assert word in said
        assert valve.notes.index(said) < valve.notes.index("asked: 0 % up")


def test_a_sound_loop_passes_and_a_planted_one_fails() -> None:
    """FCV-2204's feedback on a valve that stands where it stands: errors against the stem, not against the point."""
    planted = [(0.0, 4.06), (0.25, 8.02), (0.5, 11.95), (0.75, 15.86), (1.0, 19.76)]

    def bent(travel: float) -> float:
        for (low, at_low), (high, at_high) in itertools.pairwise(planted):
            if travel <= high:
                return at_low + (travel - low) / (high - low) * (at_high - at_low)
        return planted[-1][1]

    for current, verdict in ((lambda travel: 4 + 16 * travel, "pass"), (bent, "fail")):
        observed, _ = taken(xv_1101(), BY_LAPTOP, HeldValve(current_ma=current))
        test = CATALOGUE["span"]
        judged = test.judge(test.figures(observed, xv_1101()), xv_1101(), BY_LAPTOP)
        assert judged is not None
        assert judged.figure.name == LARGEST
        assert judged.decision.verdict == verdict


def test_nothing_is_asked_before_valve_and_signal_stand_still() -> None:
    """The question comes at least two seconds after the last movement, with what the registers show."""
    valve = HeldValve()
    settled_at: list[float] = []

    def stem(_ask: Ask) -> float:
        settled_at.append(valve.travel)
        return round(valve.travel * 900) / 10

    valve.answers["stem"] = stem
    taken(xv_1101(), BY_LAPTOP, valve)
    assert settled_at == pytest.approx([0, 0.25, 0.5, 0.75, 0.995], abs=0.01)
    assert any(note.startswith("settled: 25 % up, travel 25.") and "register 8.0" in note for note in valve.notes)


def test_a_valve_that_creeps_while_it_is_read_is_read_again() -> None:
    """What was read belongs to no one place."""
    valve = HeldValve()
    crept: list[bool] = []

    def stem(_ask: Ask) -> float:
        if not crept:
            crept.append(True)
            valve.travel += 0.02
        return round(valve.travel * 900) / 10

    valve.answers["stem"] = stem
    observed, _ = taken(xv_1101(), {**BY_LAPTOP, "points": "0 50"}, valve)
    assert "it moved while it was read: read it again" in valve.notes
    assert len(observed.readings) == 2


def test_an_absurd_reading_is_asked_again() -> None:
    """12.0 V is no current of this loop, 250 degrees no place of this stem, and no number is none."""
    valve = HeldValve()
    wrong: dict[str, list[float | None]] = {"meter": [240.0, None], "stem": [250.0]}
    valve.answers["meter"] = lambda _ask: wrong["meter"].pop() if wrong["meter"] else 4 + 16 * valve.travel
    valve.answers["stem"] = lambda _ask: wrong["stem"].pop() if wrong["stem"] else 90 * valve.travel
    observed, _ = taken(xv_1101(), BY_LAPTOP, valve)
    assert sum("asked again" in note for note in valve.notes) == 3
    assert observed.ended is SpanEnd.DONE


def test_people_bring_it_and_nothing_is_sent() -> None:
    """Both ways where the unit can be held on both; hands-free until the valve stands at the point."""
    valve = HeldValve()
    stays = [0.0, 0.25, 0.5, 0.75, 1.0, 0.75, 0.5, 0.25, 0.0, 0.0]
    valve.people = lambda _at_s: valve.travel + max(-0.01, min(0.01, stays[valve.points_read] - valve.travel))
    observed, begun = taken(slow_both_ways(), BY_PEOPLE, valve)
    assert observed.ended is SpanEnd.DONE
    assert observed.not_tested == ()
    assert [(known.point_pct, known.up) for known in observed.readings][4:6] == [(100.0, True), (75.0, False)]
    assert valve.commands == []
    assert begun.commands == ()
    assert begun.safe_end is SafeEnd.SEND_NOTHING
    assert "hysteresis" in {figure.name for figure in span_figures(observed, slow_both_ways())}
    assert observed.commanded_by == "people at the unit"


def test_a_command_loop_is_read_the_same_way() -> None:
    """The current is sourced, the stem answers; a modulating unit is held by its positioner."""
    sheet = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
    valve = HeldValve()
    stays = [0.0, 0.25, 0.5, 0.75, 1.0, 0.75, 0.5, 0.25, 0.0, 0.0]
    valve.people = lambda _at_s: stays[valve.points_read]
    valve.answers["meter"] = lambda _ask: 4 + 16 * valve.travel
    valve.answers["stem"] = lambda _ask: 76 * valve.travel
    observed, _ = taken(sheet, {**METER, "signal": "command", "moved_by": "people"}, valve)
    assert observed.signal is Signal.COMMAND
    assert len(observed.readings) == 9
    assert observed.not_tested == ()


@pytest.mark.parametrize(
    ("prepare", "ended", "read"),
    [
        pytest.param({"refuses": True}, SpanEnd.REFUSED, 1, id="refused"),
        pytest.param({"stuck": True}, SpanEnd.NOT_REACHED, 1, id="does not start"),
        pytest.param({"travel": 0.4}, SpanEnd.NOT_READY, 0, id="not at its start end"),
        pytest.param({"thinking_s": 601.0}, SpanEnd.TOO_LONG, 1, id="ten minutes are over"),
    ],
)
def test_how_it_may_end(prepare: dict[str, object], ended: SpanEnd, read: int) -> None:
    """What was read until then is kept; whatever was commanded was followed by a stop."""
    valve = HeldValve()
    for name, value in prepare.items():
        setattr(valve, name, value)
    observed, _ = taken(xv_1101(), BY_LAPTOP, valve)
    assert observed.ended is ended
    assert len(observed.readings) == read
    assert observed.why
    assert valve.commands[-1:] in (["command_stop"], ["command_open"] if valve.refuses else [], [])


def test_a_signal_that_never_settles_ends_it() -> None:
    """A loose terminal: noise of 2 mA."""
    valve = HeldValve()
    beat = [0]

    def loose(travel: float) -> float:
        beat[0] += 1
        return 4 + 16 * travel + (1 if beat[0] % 2 else -1)

    valve.current_ma = loose
    observed, _ = taken(xv_1101(), BY_LAPTOP, valve)
    assert (observed.ended, observed.readings) == (SpanEnd.NOT_SETTLED, ())


@pytest.mark.parametrize("number", [1, 9, 11, 25, 31, 32, 33, 34, 400])
def test_samples_that_are_lost_anywhere_end_nothing(number: int) -> None:
    """Nothing is compared across a silence, and none says where the valve is; the cycle goes on."""
    valve = HeldValve()
    valve.silent_from = number
    observed, _ = taken(xv_1101(), {**BY_LAPTOP, "points": "0 50"}, valve)
    assert observed.ended is SpanEnd.DONE
    assert len(observed.readings) == 2


def test_without_the_meters_accuracy_it_does_not_begin() -> None:
    """Said in words, before anything is commanded."""
    with pytest.raises(ValueError, match="meter's accuracy is needed"):
        next(span(xv_1101(), {"moved_by": "laptop", "test": "M1 1"}))

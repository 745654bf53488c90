"""The figures of a loop: planted errors, uncertainties by the meter's data sheet, trims that leave what they say."""

from decimal import Decimal

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.analysis.decision import Limits, decide
from commission.analysis.span import (
    LARGEST,
    SO_FAR,
    NothingRead,
    Signal,
    SpanEnd,
    SpanObserved,
    error_budget,
    loop_of,
    point_errors,
    reading_name,
    span_figures,
    span_share,
)
from commission.content import checklists_folder
from commission.figure import Figure, Verdict
from commission.sheet import load_sheet
from commission.sheet.model import Loop
from tests.analysis.spans import POINTS, clamp, fcv_2204, modulating, observed
from tests.sheet.xv import xv_1101

LOOP = Loop()


def _ideal(point: float) -> float:
    return 4 + 0.16 * point


def _figures(seen: SpanObserved, limit_pct: float = 0.5) -> dict[str, Figure]:
    return {figure.name: figure for figure in span_figures(seen, modulating(limit_pct))}


def test_the_planted_feedback_of_fcv_2204() -> None:
    """4.06, 8.02, 11.95, 15.86, 19.76 mA are +0.375, +0.125, -0.3125, -0.875, -1.5 % of span."""
    found = _figures(fcv_2204())
    errors = [found[f"error_up_{point:g}_pct"].unrounded * 100 for point in POINTS]
    assert errors == pytest.approx([0.375, 0.125, -0.3125, -0.875, -1.5], abs=1e-9)
    largest = found[LARGEST]
    assert largest.unrounded == pytest.approx(-0.015)
    assert decide(largest, Limits("-0.005", "0.005")).verdict is Verdict.FAIL
    assert "at 100 % up" in largest.note


def test_the_suggested_trim_brings_it_within_two_tenths_of_a_percent() -> None:
    """Taken away along the best straight line, ±0.125 % of span is left: the residual is what a repeat would read."""
    found = _figures(fcv_2204())
    low, high = (found[f"loop_trim_{end}"].unrounded * 1e3 for end in ("closed", "open"))
    by_point = dict(zip(POINTS, (4.06, 8.02, 11.95, 15.86, 19.76), strict=True))
    after = observed(lambda point, _up, _cycle: by_point[point] + low + (high - low) * point / 100)
    left = max(abs(known.error) for known in point_errors(after, LOOP))
    assert left == pytest.approx(found["left_after_trim"].unrounded * 100, abs=1e-9)
    assert left == pytest.approx(0.125, abs=1e-9)
    assert decide(_figures(after)[LARGEST], Limits("-0.005", "0.005")).verdict is Verdict.PASS


def test_uncertainty_is_the_meters_data_sheet_and_the_scale() -> None:
    """±0.02 mA, the last digit of 0.01 mA and a scale read to 0.1 degree: as a million draws of the three say."""
    budget = error_budget(clamp(), LOOP, 20.0)
    assert [line.name for line in budget.lines] == ["meter, 0.02 mA", "meter, last digit", "stem scale"]
    generator = np.random.default_rng(7)
    drawn = sum(generator.uniform(-half, half, 1_000_000) for half in (0.02 / 16, 0.005 / 16, 0.05 / 90))
    assert budget.expanded() == pytest.approx(float(np.quantile(np.abs(drawn), 0.95)), rel=0.005)


def test_a_meter_that_is_coarser_than_the_limit_decides_nothing() -> None:
    """A sound loop read with 0.2 mA of doubt is neither passed nor failed at half a percent."""
    seen = observed(lambda point, _up, _cycle: _ideal(point), meter=clamp("0.2 mA"))
    assert decide(_figures(seen)[LARGEST], Limits("-0.005", "0.005")).verdict is Verdict.NOT_DECIDED


def test_up_down_and_repeats_make_hysteresis_and_repeatability() -> None:
    """Down reads 0.04 mA more, the second cycle 0.016 mA more: 0.25 % and 0.1 %."""
    seen = observed(
        lambda point, up, cycle: _ideal(point) + (0.0 if up else 0.04) + (0.016 if cycle == 2 else 0.0),
        up_down=(True, False),
        cycles=2,
    )
    found = _figures(seen)
    assert found["hysteresis"].unrounded == pytest.approx(0.0025)
    assert found["repeatability"].unrounded == pytest.approx(0.001)
    assert "error_down_25_pct_cycle_2" in found
    assert found["hysteresis"].uncertainty_decimal < found["span_error"].uncertainty_decimal


def test_what_was_not_measured_has_no_figure() -> None:
    """One way, once: no hysteresis, no repeatability; one point: no line and no trim either."""
    assert not {"hysteresis", "repeatability"} & _figures(fcv_2204()).keys()
    low = _figures(observed(lambda point, _up, _cycle: _ideal(point) + 0.2, points=(0.0, 10.0, 20.0)))
    assert "linearity_independent" in low
    assert not {"loop_trim_open", "left_after_trim"} & low.keys()
    one = _figures(observed(lambda point, _up, _cycle: _ideal(point), points=(50.0,)))
    assert not {"span_error", "linearity_independent", "loop_trim_open", "left_after_trim"} & one.keys()
    with pytest.raises(NothingRead, match="did not settle"):
        span_figures(msgspec.structs.replace(fcv_2204(), readings=(), ended=SpanEnd.NOT_SETTLED), xv_1101())


def test_an_unfinished_cycle_has_only_the_largest_error_so_far() -> None:
    """It is named so that nothing takes it for the whole."""
    found = _figures(msgspec.structs.replace(fcv_2204(), ended=SpanEnd.NOT_REACHED))
    assert SO_FAR in found
    assert LARGEST not in found


def test_the_error_that_reaches_farthest_decides() -> None:
    """With a share of the reading the upper end is less sure, so an equal error there reaches farther."""
    seen = observed(lambda point, _up, _cycle: _ideal(point) + 0.05, meter=clamp("0.5 % rdg"))
    assert _figures(seen)[LARGEST].note.startswith("at 100 % up")


def test_a_command_loop_is_judged_by_where_the_stem_went() -> None:
    """12 mA that bring the stem to 51 % are +1 % of span; the current is the input."""
    seen = msgspec.structs.replace(
        fcv_2204(),
        signal=Signal.COMMAND,
        readings=tuple(
            msgspec.structs.replace(known, current_a=_ideal(known.point_pct) / 1e3, stem=known.stem + 0.01)
            for known in fcv_2204().readings
        ),
    )
    assert [known.error for known in point_errors(seen, LOOP)] == pytest.approx([1.0] * 5)
    assert _figures(seen)["zero_error"].unrounded == pytest.approx(0.01)


def test_the_units_own_register_beside_the_meter() -> None:
    """A register that reads 0.3 mA more than the meter says so, whatever the loop itself does."""
    found = _figures(observed(lambda point, _up, _cycle: _ideal(point), register_off_ma=0.3))
    assert found["loop_register_less_meter"].unrounded == pytest.approx(3e-4)
    assert "register" in found[LARGEST].note


def test_a_reversed_loop_on_the_sheet_is_no_error() -> None:
    """20 mA at closed by the sheet: the span runs the other way."""
    loop = Loop(closed_ma=20.0, open_ma=4.0)
    assert span_share(loop, 0.020) == 0.0
    assert span_share(loop, 0.008) == pytest.approx(0.75)
    sheet = msgspec.structs.replace(xv_1101(), feedback_loop=loop)
    seen = observed(lambda point, _up, _cycle: 20 - 0.16 * point)
    largest = span_figures(seen, sheet)[0]
    assert largest.unrounded == pytest.approx(0.0, abs=1e-12)


def test_a_sheet_that_says_nothing_means_the_usual_loop() -> None:
    """4 to 20 mA, ±1 %."""
    bare = msgspec.structs.replace(xv_1101(), feedback_loop=None)
    assert loop_of(bare, Signal.FEEDBACK) == Loop()
    assert loop_of(bare, Signal.COMMAND) == Loop()


def test_a_modulating_units_loops_are_those_of_its_signals() -> None:
    """Half a percent back, one percent to it; a signal in volts is no loop."""
    fcv = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
    assert loop_of(fcv, Signal.FEEDBACK).limit_pct == 0.5
    assert loop_of(fcv, Signal.COMMAND).limit_pct == 1.0
    assert fcv.modulating is not None
    volts = msgspec.structs.replace(fcv.modulating.feedback, unit="V")
    in_volts = msgspec.structs.replace(fcv, modulating=msgspec.structs.replace(fcv.modulating, feedback=volts))
    with pytest.raises(ValueError, match="in V"):
        loop_of(in_volts, Signal.FEEDBACK)


@settings(max_examples=15)
@given(
    st.lists(st.floats(3.9, 20.1).map(lambda value: round(value, 3)), min_size=5, max_size=5),
    st.floats(-0.5, 0.5).map(lambda value: round(value, 3)),
)
def test_an_offset_changes_zero_and_errors_and_no_other_figure(currents: list[float], shift: float) -> None:
    """As printed, to one unit of the last place."""
    by_point = dict(zip(POINTS, currents, strict=True))
    before = _figures(observed(lambda point, _up, _cycle: by_point[point]))
    after = _figures(observed(lambda point, _up, _cycle: by_point[point] + shift))
    for name in ("span_error", "linearity_independent", "left_after_trim"):
        place = Decimal(1).scaleb(int(before[name].decimal.as_tuple().exponent))
        assert abs(before[name].decimal - after[name].decimal) <= place
    assert after["zero_error"].unrounded == pytest.approx(before["zero_error"].unrounded + shift / 16, abs=1e-12)


def test_every_figure_of_a_point_has_its_point_in_its_name() -> None:
    """Three figures a point: error, current, stem; names do not collide."""
    seen = observed(lambda point, _up, _cycle: _ideal(point), up_down=(True, False), cycles=3)
    figures = span_figures(seen, xv_1101())
    assert len({figure.name for figure in figures}) == len(figures)
    names = [reading_name(known) for known in seen.readings]
    assert {f"{what}_{name}" for what in ("error", "loop_current", "stem") for name in names} <= {
        figure.name for figure in figures
    }

"""Tests of an input that people stepped or ramped: its levels, and what the valve made of it."""

import random
from collections.abc import Callable

import pytest

from commission.analysis.followed import (
    FollowEnd,
    InputFollowed,
    NothingFollowed,
    levels,
    ramp_figures,
    response_figures,
    small_step_figures,
)
from commission.content import checklists_folder
from commission.figure import Figure
from commission.sheet import load_sheet
from commission.sheet.decode import Reading, Readings
from tests.analysis.tracks import track

SHEET = load_sheet(checklists_folder() / "units" / "fcv-2204.toml")[0]
PERIOD_S = 0.1


def followed(
    asked: Callable[[float], float], last_s: float, *, band: float = 0.0, lag_s: float = 0.0, noise: float = 1e-4
) -> InputFollowed:
    """A valve with lost motion of `band` and a lag that follows its input, read ten times a second."""
    random_ = random.Random(5)
    travel, seen = asked(0.0), []
    for number in range(round(last_s / PERIOD_S)):
        share = asked(number * PERIOD_S)
        wanted = min(max(travel, share - band / 2), share + band / 2)
        travel += (wanted - travel) * (PERIOD_S / lag_s if lag_s else 1.0)
        at_ns = round(number * PERIOD_S * 1e9)
        values = {"command_current": (4 + 16 * share) / 1e3, "travel": travel + random_.gauss(0, noise)}
        seen.append(Readings(number + 1, at_ns, {role: Reading(v, at_ns, 10**6) for role, v in values.items()}))
    return InputFollowed(test="M3 1", seen=tuple(seen), ended=FollowEnd.DONE)


def by_name(figures: tuple[Figure, ...]) -> dict[str, Figure]:
    """Figures by name."""
    return {figure.name: figure for figure in figures}


def stairs(at_s: float) -> float:
    """Steps of 0.2 % each five seconds: eight up, then twelve down."""
    step = int(at_s // 5)
    return 0.5 + 0.002 * (step if step <= 8 else 16 - step)


def test_levels_of_a_stepped_input() -> None:
    """Each once, in order, whatever its noise; a reading on the way belongs to none."""
    inputs = track(lambda t: 0.25 if t < 4 else 0.3 if t < 4.15 else 0.35, 10.0, noise=5e-5)
    found = levels(inputs)
    assert [level.share for level in found] == pytest.approx([0.25, 0.35], abs=1e-3)
    assert found[0].last < found[1].first
    assert len(levels(track(lambda _t: 0.5, 10.0, noise=5e-5))) == 1


def test_dead_band_and_resolution_from_small_steps() -> None:
    """0.8 % of lost motion, stepped by 0.2 %: the band within its uncertainty, each step up one resolution."""
    found = by_name(small_step_figures(followed(stairs, 100.0, band=0.008), SHEET))
    band = found["dead_band"]
    assert band.unrounded == pytest.approx(0.008, abs=float(band.expanded_uncertainty))
    assert found["resolution"].unrounded == pytest.approx(0.001, abs=1e-4)


def test_hysteresis_of_a_slow_ramp() -> None:
    """One per cent of lost motion is one per cent between the ramps; the note says what else is in it."""

    def triangle(at_s: float) -> float:
        return 0.3 + 0.4 * (at_s if at_s < 200 else 400 - at_s) / 200

    figure = ramp_figures(followed(triangle, 400.0, band=0.01), SHEET)[0]
    assert figure.name == "hysteresis"
    assert figure.unrounded == pytest.approx(0.01, abs=float(figure.expanded_uncertainty) + 1e-4)
    assert "lags" in figure.note


def test_each_step_has_its_figures() -> None:
    """A lag of one second by hand: T63 one second after each step, numbered in order."""
    observed = followed(lambda t: 0.6 if 10 <= t < 25 else 0.5, 40.0, lag_s=1.0)
    found = by_name(response_figures(observed, SHEET))
    assert found["t63_step_1"].unrounded == pytest.approx(1.0, abs=0.12)
    assert found["t63_step_2"].unrounded == pytest.approx(1.0, abs=0.12)
    assert "step 1, 50 to 60 %" in found["t63_step_1"].note
    assert found["steps_unanswered_count"].value == "0"


def test_what_was_not_done_is_no_test() -> None:
    """No step, no ramp down, no reversal."""
    still = followed(lambda _t: 0.5, 20.0)
    with pytest.raises(NothingFollowed, match="was not stepped"):
        response_figures(still, SHEET)
    with pytest.raises(NothingFollowed, match="larger ones are needed"):
        small_step_figures(still, SHEET)
    with pytest.raises(NothingFollowed, match="was not read"):
        ramp_figures(InputFollowed(test="M3 1", seen=(), ended=FollowEnd.DONE), SHEET)

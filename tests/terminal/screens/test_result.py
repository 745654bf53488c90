"""Tests of the result screen: verdict, measured beside expected, uncertainty, rule, what would settle it."""

from pathlib import Path

import msgspec
import pytest

from commission.job.motions import Run
from commission.terminal.screens.result import ResultScreen, result_lines, verdict_bar
from commission.terminal.widgets.page import Line
from tests.report.loops import adjusted_visit
from tests.report.test_partial import with_run
from tests.terminal.prepared import HOSTILE, Shown, flat, opened


def plain(lines: list[Line]) -> str:
    """The lines without their styles."""
    return "\n".join(line if isinstance(line, str) else "".join(piece for piece, _ in line) for line in lines)


def last_run(there: Shown) -> Run:
    """The closing stroke."""
    return list(there.visit.job.runs.values())[-1]


@pytest.mark.asyncio
async def test_result_has_verdict_measured_expected_limits_and_rule(tmp_path: Path) -> None:
    """Everything that a second engineer would ask is on the first page of 80 x 24."""
    async with opened(tmp_path) as there:
        text = await there.show(ResultScreen(there.visit, last_run(there)))
    for words in ("P A S S", "Measured", "U 0.0", "(95 %)", "Expected", "8 s", "6.0 to 10.0 s", "ILAC-G8", "laptop"):
        assert words in text, text


@pytest.mark.asyncio
async def test_what_the_sheet_computes_stands_beside_each_figure(tmp_path: Path) -> None:
    """The judged time, and every other figure that follows from the sheet: a wrong unit is seen on the first stroke."""
    async with opened(tmp_path, connected=False) as there:
        run, job = last_run(there), there.visit.job
    text = plain(result_lines(job, run, 77))
    assert "computed 8.00 s, 53.5 to 25.0 bar, empty line, oil 20 °C" in " ".join(text.split())
    assert "expected 25.0 bar" in text
    span = msgspec.structs.replace(run, begun=msgspec.structs.replace(run.begun, procedure="span"))
    assert "expected 25.0 bar" not in plain(result_lines(job, span, 77))


@pytest.mark.asyncio
async def test_enter_goes_on(tmp_path: Path) -> None:
    """Enter leaves the result."""
    async with opened(tmp_path) as there:
        screen = ResultScreen(there.visit, last_run(there))
        await there.show(screen)
        await there.press("enter")
        assert there.app.screen is not screen


@pytest.mark.asyncio
async def test_not_decided_says_what_would_settle_it(tmp_path: Path) -> None:
    """A verdict that is none names what to do about it."""
    async with opened(tmp_path, connected=False) as there:
        run, job = last_run(there), there.visit.job
    result = msgspec.structs.replace(run.results[0], verdict="not decided", settles="poll at 50 ms, or three more runs")
    text = plain(result_lines(job, msgspec.structs.replace(run, results=(result,)), 77))
    assert "N O T   D E C I D E D" in text
    assert "Settled by   poll at 50 ms" in text


def test_a_rerun_says_what_to_watch_and_has_the_baseline_beside_each_figure() -> None:
    """Pressure and time as they were; what is to be watched is no thing that another measurement would settle."""
    job = with_run().job
    text = plain(result_lines(job, job.runs["L4-1"], 77))
    assert "P A S S ,   W A T C H" in text
    assert "Watch        breakaway pressure 48.2 bar, was 53.5 bar" in text
    assert "Settled by" not in text
    assert "baseline beside it" in text
    rows = {line[2:33].strip(): line[34:] for line in text.splitlines() if "   was " in line}
    assert rows["breakaway pressure"].endswith("bar, watch")
    assert rows["return time"].endswith("s, pass")
    assert max(len(line) for line in text.splitlines()) <= 77


def test_a_loop_is_a_table_of_its_points() -> None:
    """Verdict and what was recognised first, then a line a point; nothing of a point is listed a second time."""
    visit = adjusted_visit()
    text = plain(result_lines(visit.job, visit.job.runs["s1"], 77))
    assert "F A I L" in text
    assert "zero +0.4" in text
    assert "  100 % up            100.000 ± 0.053 %  19.760 ± 0.021 mA" in text
    assert "hysteresis (averages)" in text
    assert "current at 25" not in text
    assert max(len(line) for line in text.splitlines()) <= 77


@pytest.mark.asyncio
async def test_run_without_verdict_says_how_it_ended(tmp_path: Path) -> None:
    """A stopped run says by what, and what became of the safe end; it is not a blank."""
    async with opened(tmp_path, connected=False) as there:
        run, job = last_run(there), there.visit.job
    assert run.ended is not None
    ended = msgspec.structs.replace(run.ended, how="stopped", reason="stop key", safe_end="unconfirmed")
    text = plain(result_lines(job, msgspec.structs.replace(run, results=(), ended=ended), 77))
    assert "N O   V E R D I C T" in text
    assert "stopped: stop key" in text
    assert "NOT CONFIRMED. Stay clear" in flat(text)


@pytest.mark.asyncio
async def test_hostile_words_are_shown_as_they_are(tmp_path: Path) -> None:
    """Names and rules that look like markup stay text on the screen."""
    async with opened(tmp_path, connected=False) as there:
        run = last_run(there)
        result = msgspec.structs.replace(run.results[0], test=HOSTILE, origin="[/", settles="[bold]")
        text = await there.show(ResultScreen(there.visit, msgspec.structs.replace(run, results=(result,))))
    assert "[bold]x[/]" in text
    assert "\x1b" not in text


def test_verdict_fills_the_width_and_a_long_one_is_not_cut_within_a_word() -> None:
    """The bar is as wide as the page whatever the verdict's length."""
    for verdict in ("pass", "fail", "no test (stopped before motion)"):
        lines = verdict_bar(verdict, 40)
        assert all(not isinstance(line, str) and len(line[0][0]) == 40 for line in lines)
        assert all(not isinstance(line, str) and "reverse" in line[0][1] for line in lines)

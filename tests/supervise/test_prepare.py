"""What a test is told before it begins: most their own arguments, a partial stroke what line and record say besides."""

from pathlib import Path

import pytest

from commission.checklist import ProcedureUse
from commission.procedures.partial_told import from_arguments
from commission.supervise.prepare import clocks_of, line_of, order_for
from tests.again import a_year_later, handed_over
from tests.virtual_time import run_virtual
from tests.visiting import TESS, visiting

PARTIAL = ProcedureUse(name="partial_stroke", arguments={"compared": "yes", "steady_s": "2"})


def test_a_stroke_is_told_its_own_arguments_and_its_name(tmp_path: Path) -> None:
    """Nothing else is read for it."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            visit, link = there.visit, there.visit.link
            assert link is not None
            step = visit.job.checklist.step("K1-open")
            order = await order_for(visit.job, step, step.procedures[0], TESS, link, visit.read, visit.clock)
            assert (order.run, order.by, order.as_found) == ("K1-open-1", TESS, False)
            assert order.arguments == {"direction": "open", "test": "K1-open 1"}

    run_virtual(main())


def test_r22_a_partial_stroke_is_told_the_times_of_the_line_and_the_settings_of_the_unit(tmp_path: Path) -> None:
    """Cycle and worst latency, the settings read back, oil, rest, starts, and its baseline; as text."""

    async def main() -> None:
        earlier = await handed_over(tmp_path)
        async with a_year_later(earlier, rest_h=14.0) as there:
            visit, link = there.visit, there.visit.link
            assert link is not None
            step = visit.job.checklist.step("L4")
            order = await order_for(visit.job, step, step.procedures[0], TESS, link, visit.read, visit.clock)
            assert order.as_found
            assert order.arguments["compared"] == "yes"
            told = from_arguments(order.arguments)
            assert told.speed == 20.0
            assert 0.0 < told.cycle_s < 0.2
            assert told.latency_s >= link.facts.make_safe_s
            assert told.settings["run_limit"] == "300"
            assert told.settings["partial_guard_time"] == "20"
            assert told.oil_c == pytest.approx(20.0, abs=0.5)
            assert (told.rest_h, told.starts_used, told.steady_s) == (14.0, 1, 2.0)
            assert told.baseline is not None
            assert told.apart == ""

    run_virtual(main())


def test_the_latency_counts_a_waiting_transaction(tmp_path: Path) -> None:
    """Longer than an exchange: what is in flight is waited for first (safety rule R22)."""

    async def main() -> None:
        async with visiting(tmp_path, start="open") as there:
            visit, link = there.visit, there.visit.link
            assert link is not None
            line = await line_of(visit.job.sheet, {"test": "L2 1"}, link, visit.read, visit.clock)
            assert line.latency_s >= link.sample_timeout_s
            assert line.latency_s > 2 * link.facts.round_trip.p99_s
            assert line.cycle_s >= link.facts.round_trip.p50_s

    run_virtual(main())


def test_only_what_compares_clocks_is_told_them(tmp_path: Path) -> None:
    """Nobody else compares them."""

    async def main() -> None:
        async with visiting(tmp_path) as there:
            job, clock = there.visit.job, there.visit.clock
            assert clocks_of(job, PARTIAL, clock) == {}
            for name in ("point_to_point", "fail_safe"):  # whose event log may time a stroke
                told = clocks_of(job, ProcedureUse(name=name), clock)
                assert len(told) == 1, "no offset was compared yet"

    run_virtual(main())

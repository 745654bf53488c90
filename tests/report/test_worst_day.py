"""Tests of the worst-day sentence on page one."""

import msgspec
import pytest

from commission.analysis.timing import stroke_figures
from commission.figure import make_figure
from commission.job import bodies
from commission.practice.condition import Condition
from commission.procedures.full_stroke import full_stroke
from commission.report.worst_day import oil_today, read_today, taken, volts_today, worst_day_sentence
from commission.sheet import End
from tests.analysis.seen import SHEET
from tests.report.jobs import CHECKLIST, Visit, good_visit
from tests.supervise.direct import DirectSite, made_directly


def live() -> Visit:
    """A visit that is live."""
    return Visit().people().connect().cross("in operation", "live")


def closing(seconds: float, bars: tuple[float, float, float] | None) -> Visit:
    """A closing stroke with its time and, where read, three running pressures."""
    visit = live().stroke("r1", "closed", seconds)
    figures = [make_figure("motion_time", seconds, 0.05, "s", "timing.stroke/2")]
    if bars is not None:
        places = ("25", "50", "75")
        figures += [
            make_figure(f"running_pressure_{place}_pct", bar * 1e5, 1e4, "Pa", "loads.stroke/1")
            for place, bar in zip(places, bars, strict=True)
        ]
    visit.add(bodies.FiguresComputed(run="r1", figures=tuple(figures), timed_by="samples", commanded_by="laptop"))
    return visit


def test_today_carried_to_the_worst_day() -> None:
    """The sheet's own pressures and time: friction 1.00, and the limit is kept."""
    told = worst_day_sentence(closing(8.0, (30.1, 34.2, 41.9)).job)
    assert "friction 1.0" in told
    assert "limit 12 s" in told
    assert "EXCEEDED" not in told
    assert "today's oil taken as 20 °C, supply taken as rated" in told


def test_a_stroke_that_passes_today_may_not_in_january() -> None:
    """12 bar lower all along, 11 s: friction has doubled, and the worst day stalls."""
    told = worst_day_sentence(closing(11.0, (18.4, 22.2, 30.7)).job)
    assert "STALL" in told


def test_without_pressures_the_time_alone_is_carried() -> None:
    """The friction is then the sheet's, and that is said."""
    assert "friction as the sheet's" in worst_day_sentence(closing(8.0, None).job)


def test_both_directions_of_a_whole_visit() -> None:
    """The last standing run of each."""
    told = worst_day_sentence(good_visit().job)
    assert "opening about" in told
    assert "closing about" in told


def test_nothing_to_carry_is_no_sentence() -> None:
    """No stroke; a stroke that is void; a time that is only at least."""
    assert worst_day_sentence(live().job) == ""
    visit = closing(8.0, None)
    run = msgspec.structs.replace(visit.job.runs["r1"], voided_by="limit cam touched")
    assert worst_day_sentence(msgspec.structs.replace(visit.job, runs={"r1": run})) == ""
    late = make_figure("motion_time", 14.0, 0.1, "s", "timing.stroke/2", lower_bound_only=True)
    run = msgspec.structs.replace(visit.job.runs["r1"], figures=(late,))
    assert worst_day_sentence(msgspec.structs.replace(visit.job, runs={"r1": run})) == ""


def test_a_sheet_that_contradicts_itself_says_nothing() -> None:
    """The as-left report is made all the same."""
    visit = closing(8.0, None)
    odd = msgspec.structs.replace(visit.job.sheet.fluid, viscosity_at_c={"40": 2.5, "20": 2.4})
    sheet = msgspec.structs.replace(visit.job.sheet, fluid=odd)
    assert worst_day_sentence(msgspec.structs.replace(visit.job, sheet=sheet)) == ""


READS = CHECKLIST.replace(
    'questions = [{ id = "serial", ask = "Serial on the plate" }]',
    """questions = [
    { id = "oil", ask = "Oil", kind = "measured", role = "oil_temperature", unit = "°C" },
    { id = "volts", ask = "Supply", kind = "measured", role = "supply_voltage", unit = "V" },
]""",
)


def read(oil_c: float, volts: float) -> Visit:
    """A visit in which the program read oil and supply, and timed a closing and an opening stroke."""
    visit = Visit(checklist=READS).people().connect()
    visit.add(bodies.StepBegun(step="B4"))
    visit.add(bodies.Answered(step="B4", question="oil", text=f"{oil_c:g}", value=oil_c, unit="°C"))
    visit.add(bodies.Answered(step="B4", question="volts", text=f"{volts:g}", value=volts, unit="V"))
    return visit.cross("in operation", "live").stroke("r1", "closed", 8.0).stroke("r2", "open", 160.0)


def test_what_was_read_today_is_used_and_said() -> None:
    """Oil at −5 °C and 22 V: the same times then mean a better unit, and the worst day is nearer."""
    cold, mild = read(-5.0, 22.0), read(20.0, 24.0)
    assert read_today(cold.job, "oil_temperature") == -5.0
    assert taken(cold.job) == "today's oil -5 °C, supply 22 V"
    assert "oil -5 °C, supply 22 V" in worst_day_sentence(cold.job)
    assert worst_day_sentence(cold.job) != worst_day_sentence(mild.job)
    assert worst_seconds(cold) < worst_seconds(mild)


def test_what_the_strokes_themselves_show_comes_before_what_was_read_beside_them() -> None:
    """Volts while the motor ran are not those at rest; a void stroke's do not count."""
    visit = read(20.0, 26.0)
    own = (make_figure("oil_temperature", 4.0, 0.1, "degC", "x"), make_figure("supply_running", 23.1, 0.1, "V", "x"))
    visit.add(bodies.FiguresComputed(run="r2", figures=own, timed_by="samples", commanded_by="laptop"))
    assert taken(visit.job) == "today's oil 4 °C, supply 23.1 V"
    void = msgspec.structs.replace(visit.job.runs["r2"], voided_by="limit cam touched")
    job = msgspec.structs.replace(visit.job, runs={**visit.job.runs, "r2": void})
    assert taken(job) == "today's oil 20 °C, supply 26 V"
    assert oil_today(visit.job, visit.job.runs["r1"]) == 4.0
    assert volts_today(live().job) is None


def test_a_full_battery_does_not_flatter_the_lowest_supply() -> None:
    """The same time at 26 V instead of the rated 24: the pump is slower where they are not there."""
    full, rated = worst_seconds(read(20.0, 26.0)), worst_seconds(read(20.0, 24.0))
    assert full == pytest.approx(rated * 26 / 24, rel=0.01)


def worst_seconds(visit: Visit) -> float:
    """The opening stroke of the worst day."""
    told = worst_day_sentence(visit.job)
    return float(told.split("opening about ")[1].split(" s")[0])


def test_a_motor_that_does_not_follow_its_volts() -> None:
    """Nothing is said of the supply of a unit on alternating current."""
    visit = read(20.0, 22.0)
    supply = msgspec.structs.replace(visit.job.sheet.supply, phases="three-phase")
    job = msgspec.structs.replace(visit.job, sheet=msgspec.structs.replace(visit.job.sheet, supply=supply))
    assert taken(job) == "today's oil 20 °C"


def test_nothing_read_is_said_so() -> None:
    """And no reading is made up."""
    assert read_today(live().job, "oil_temperature") is None
    assert taken(live().job) == "today's oil taken as 20 °C, supply taken as rated"


@pytest.mark.slow
def test_a_stroke_on_the_practice_unit_brings_today_s_oil_and_volts_to_page_one() -> None:
    """K1's own samples: oil at 4 °C and what the battery of 25 V leaves while the motor runs, with nothing typed."""

    def prepare(site: DirectSite) -> None:
        site.unit.cycle_s = 0.4

    visit = live().stroke("r1", "open", 150.0)
    ended, _ = made_directly(
        SHEET,
        lambda _site: full_stroke(SHEET, End.OPEN, "K1 open 1"),
        condition=Condition(oil_c=4.0, battery_v=25.0),
        start=End.CLOSED,
        prepare=prepare,
    )
    assert ended.observed is not None, ended
    figures = stroke_figures(ended.observed, SHEET)
    visit.add(bodies.FiguresComputed(run="r1", figures=figures, timed_by="samples", commanded_by="laptop"))
    told = worst_day_sentence(visit.job)
    oil, volts = (
        next(float(figure.decimal) for figure in figures if figure.name == name)
        for name in ("oil_temperature", "supply_running")
    )
    assert [oil, volts] == pytest.approx([4.0, 24.3], abs=0.5)
    assert f"today's oil {oil:.3g} °C, supply {volts:.3g} V" in told
    assert "opening about" in told

"""Tests of the whole job: folding is deterministic, illegal events change nothing, unknown ones are kept."""

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.content import ContentError, Text
from commission.energy import EnergyError, EnergyState
from commission.job import bodies
from commission.job.state import Job, JobError, fold, needed, opened
from commission.record.event import Event, event_from_text
from tests.checklist.small import small
from tests.energy.way import OLLIE, TESS, good
from tests.job.told import Told, begun, ended, event_of, job_opened


def test_a_job_begins_with_its_texts() -> None:
    """Sheet and checklist come from the texts in the record, not from files."""
    job = Told().job
    assert (job.tag, job.sheet.identity.code, job.checklist) == ("XV-1101", 1101, small())
    assert (job.begun_utc, job.last_n, job.practice, job.read_only) == (event_of(job_opened()).at_utc, 2, False, "")


def test_a_record_that_opens_no_job_is_none() -> None:
    """Empty, or beginning with something else: said in words."""
    with pytest.raises(JobError, match="the record is empty"):
        fold([])
    with pytest.raises(JobError, match="begins with 'step_begun', not with a job"):
        fold([event_of(bodies.StepBegun(step="B1"))])
    with pytest.raises(JobError, match="begins with 'tea_poured'"):
        opened(event_of(job_opened(), kind="tea_poured"))


def test_a_job_with_an_unsound_sheet_is_refused_with_its_problems() -> None:
    """A record whose sheet this program cannot read does not become half a job."""
    broken = msgspec.structs.replace(job_opened(), sheet=Text("x.toml", "format = 1"))
    with pytest.raises(ContentError, match="identity: found nothing"):
        opened(event_of(broken))


def test_a_record_holds_one_job_in_one_order() -> None:
    """A second opening, and a number that does not rise, are refused."""
    told = Told()
    with pytest.raises(ValueError, match="is open already"):
        told.tell(job_opened())
    for n in (0, 1, 2):
        with pytest.raises(ValueError, match="never goes back"):
            told.job.after(event_of(bodies.StepBegun(step="B1"), n))
    assert told.job.after(event_of(bodies.StepBegun(step="B1"), 9)).last_n == 9


def test_unknown_kinds_are_counted_and_kept() -> None:
    """An event of a newer program changes nothing but its count, unless it must be known."""
    told = Told()
    for _ in range(2):
        told.tell(bodies.ContactBack(), kind="tea_poured", need=False)
    assert (told.job.unknown_kinds, told.job.read_only) == ({"tea_poured": 2}, "")
    told.tell(bodies.ContactBack(), kind="lock_cut", need=True)
    assert "holds 'lock_cut', which this program does not know and must" in told.job.read_only
    told.tell(bodies.ContactBack(), kind="tea_poured", need=False).tell(bodies.StepBegun(step="B1"))
    assert "lock_cut" in told.job.read_only


def test_a_known_kind_in_a_later_version_is_unknown() -> None:
    """Its facts may mean something else: a motion of a newer program makes the job read-only."""
    told = Told().tell(begun(), v=2)
    assert told.job.runs == {}
    assert "motion_begun" in told.job.read_only


def test_the_need_of_an_event_is_that_of_its_kind() -> None:
    """What moves the valve must be known, an answer need not."""
    assert needed(begun())
    assert not needed(bodies.StepBegun(step="B1"))


def test_r03_energy_is_not_changed_during_a_motion() -> None:
    """While a run is open no energy fact is accepted; losing the state always is."""
    told = Told().cross(EnergyState.IN_OPERATION, EnergyState.LIVE).tell(begun())
    for body in (
        bodies.EnergyBegun(target="locked"),
        bodies.EnergyProved(fact="people counted", subject="", details={"count": 3}),
        bodies.EnergyEntered(state="locked"),
    ):
        with pytest.raises(EnergyError, match="run r1 is open"):
            told.tell(body)
    assert told.tell(bodies.EnergyLost(reason="gas alarm")).job.energy_log.now.state is EnergyState.UNKNOWN


def test_an_adjustment_makes_void_what_depends_on_it() -> None:
    """`K1` in the table names `K1-close`, `H2` itself; runs of those steps are void too; others stand."""
    told = Told()
    for step in ("B1", "H2", "K1-close"):
        told.tell(bodies.StepBegun(step=step)).tell(bodies.StepConcluded(step=step, verdict="pass"))
    told.tell(begun()).tell(ended()).tell(begun("r2", "B1")).tell(ended("r2"))
    told.tell(bodies.Adjusted(touched="closed-limit", detail="half a turn"))
    assert [step for step, state in told.job.steps.items() if not state.done] == ["H2", "K1-close"]
    assert {name: run.voided_by for name, run in told.job.runs.items()} == {"r1": "limit cam: half a turn", "r2": ""}
    told.tell(bodies.Adjusted(touched="closed-limit", detail="back"))
    assert told.job.runs["r1"].voided_by == "limit cam: half a turn"
    assert len(told.job.contact.adjustments) == 2


def test_an_adjustment_that_the_table_does_not_know_is_refused() -> None:
    """What would void nothing is not taken for harmless."""
    told = Told()
    with pytest.raises(ValueError, match="'cam' is not in the checklist's table"):
        told.tell(bodies.Adjusted(touched="cam", detail="x"))


def test_a_restart_interrupts_the_run_and_forgets_line_and_state() -> None:
    """A second session of the same job: the open run is marked, the state unknown, the line down."""
    told = Told().cross(EnergyState.IN_OPERATION, EnergyState.LIVE).tell(begun())
    told.tell(bodies.SessionStarted(program_version="0.1.0", resumed=True), by="program", session="s2")
    run = told.job.runs["r1"]
    assert run.ended is not None
    assert run.ended.how == "interrupted"
    assert told.job.energy_log.now.state is EnergyState.UNKNOWN
    assert not told.job.contact.up


steps = st.sampled_from(["B1", "H2", "K1-close", "Z9"])
runs = st.sampled_from(["r1", "r2", "r3", ""])
targets = st.sampled_from(list(EnergyState))
people = st.sampled_from([TESS, OLLIE])
anything_told = st.one_of(
    st.builds(bodies.StepBegun, step=steps),
    st.builds(bodies.Answered, step=steps, question=st.just("gap"), text=st.just("1"), from_file=st.booleans()),
    st.builds(bodies.StepConcluded, step=steps, verdict=st.sampled_from(["pass", "fail", "void, repeat", "ok"])),
    st.builds(bodies.Adjusted, touched=st.sampled_from(["closed-limit", "cam"]), detail=st.just("x")),
    st.builds(begun, runs, steps),
    st.builds(ended, runs),
    st.builds(
        bodies.CommandSent, run=runs, role=st.just("command_close"), value=st.just(1), at_ns=st.just(1),
        half_width_ns=st.just(1), outcome=st.just("answered"), purpose=st.just("procedure"),
    ),
    st.builds(bodies.EnergyBegun, target=targets),
    st.builds(bodies.EnergyEntered, state=targets),
    st.builds(bodies.EnergyLost, reason=st.just("gas alarm")),
    st.builds(bodies.SessionStarted, program_version=st.just("1"), resumed=st.just(True)),  # a fact
    st.builds(
        bodies.TemporaryAdded, id=st.sampled_from(["T1", "T2"]), kind=st.just("setting"), what=st.just("x"),
        where=st.just("x"), why=st.just("x"),
    ),
    st.builds(bodies.TemporaryRemoved, id=st.sampled_from(["T1", "T2"]), second_person=people, proved_by=st.just("x")),
    st.just("evidence"),
)  # fmt: skip


def visit(acts: list[object], who: list[str]) -> Told:
    """A visit of the acts that are legal; each illegal one is refused and must leave the job as it was."""
    told = Told()
    for number, act in enumerate(acts):
        before, text = told.job, msgspec.json.encode(told.job)
        try:
            if act == "evidence":
                offer_evidence(told)
            else:
                assert isinstance(act, bodies.Body)
                told.tell(act, by=who[number % len(who)])
        except (EnergyError, ValueError, KeyError):
            assert told.job is before
            assert msgspec.json.encode(told.job) == text
    return told


def offer_evidence(told: Told) -> None:
    """Whatever the crossing under way needs, and through the door."""
    from commission.energy import missing

    target = told.job.energy_log.now.target
    while needs := missing(told.job.energy_log.now, told.sheet):
        fact = good(needs[0])
        told.tell(bodies.EnergyProved(fact=fact.fact, subject=fact.subject, details=fact.details))
    if target is not None:
        told.tell(bodies.EnergyEntered(state=target))


@settings(max_examples=40)
@given(st.lists(anything_told, max_size=25), st.lists(people, min_size=1, max_size=3))
def test_folding_at_once_is_folding_one_by_one(acts: list[object], who: list[str]) -> None:
    """Any legal visit, stored as text and read again, gives the very job that grew event by event, every time."""
    told = visit(acts, who)
    stored = [event_from_text(event.text()) for event in told.events]
    assert fold(stored) == told.job
    assert fold(iter(stored)) == fold(stored)
    text = msgspec.json.encode(fold(stored))
    assert text == msgspec.json.encode(told.job)


@settings(max_examples=25)
@given(st.lists(anything_told, max_size=15), st.integers(min_value=0, max_value=30))
def test_a_job_is_folded_from_any_point_on(acts: list[object], at: int) -> None:
    """The job of the first events, with the rest added, is the job of all of them."""
    events = visit(acts, [TESS]).events
    cut = min(max(1, at), len(events))
    job = fold(events[:cut])
    for event in events[cut:]:
        job = job.after(event)
    assert job == fold(events)


def test_an_event_with_a_body_of_another_shape_is_refused() -> None:
    """A known kind with facts missing does not pass as unknown."""
    told = Told()
    before = told.job
    bad: Event = event_of(bodies.StepBegun(step="B1"), 3, body={"stp": "B1"})
    with pytest.raises(msgspec.ValidationError):
        told.job.after(bad)
    assert told.job is before
    assert isinstance(before, Job)

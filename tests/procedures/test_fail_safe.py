"""Fail-safe strokes played out on real practice units, with people who do what is asked of them."""

from collections.abc import Mapping
from typing import Any

import pytest

from commission.analysis.fail_safe import FailSafeEnd, FailSafeObserved, fail_safe_figures, faults
from commission.practice.acts import NotDone
from commission.practice.condition import HEALTHY, Condition
from commission.procedures.fail_safe import fail_safe
from commission.procedures.requests import Begin, SafeEnd
from commission.sheet import End, Sheet
from tests.analysis.seen import SHEET
from tests.procedures.test_fail_safe_plan import BDV, FCV
from tests.supervise.crowd import Crowd, Does, crowded
from tests.supervise.direct import DirectSite


def mark(site: DirectSite) -> str:
    """Where the stem stands, as somebody sees it."""
    return str(site.desk.read("mark"))


def tried(act: str) -> Does:
    """Somebody tries, and says what came of it."""

    def say(site: DirectSite) -> str:
        try:
            site.desk.act(act)
        except NotDone as refused:
            return f"refused: {refused}"
        return "obeyed"

    return Does(say=say)


SAID: Mapping[str, Does] = {
    "selector": Does((("selector", "REMOTE"),), "remote"),
    "given": Does((("control_room_esd", True),)),
    "over": Does((("wait", 12.0),), "at rest"),
    "mark": Does(say=mark),
    "restored": Does((("control_room_esd", False),), "pulled out"),
    "pressed": Does((("local_reset", None),), "pressed"),
    "pressed alone": tried("local_reset"),
    "refused": tried("local_open"),
    "opposite": Does((("selector", "LOCAL"), ("local_open", None))),
}


def taken(source: str) -> dict[str, Does]:
    """A supply or loop is taken away, and given back."""
    return {"given": Does(((source, False),)), "restored": Does(((source, True),), "back")}


def made(
    arguments: Mapping[str, str],
    said: Mapping[str, Does] | None = None,
    sheet: Sheet = SHEET,
    **unit: Any,
) -> tuple[FailSafeObserved, Crowd]:
    """One run to its end."""
    ended, site = crowded(sheet, fail_safe(sheet, {"test": "K5 1", **arguments}), {**SAID, **(said or {})}, **unit)
    assert ended.observed is not None, ended
    assert not site.unit.writes
    return ended.observed, site


def truth_s(site: Crowd) -> float:
    """From cause to home, by the recorder at the stem."""
    times = site.desk.read("recorder")
    return float(times["home"] - times["cause"])


def test_r10_nothing_is_commanded_and_nothing_guards() -> None:
    """The valve belongs to whoever trips it: an ESD is what is wanted here, not an abort."""
    begun = next(fail_safe(SHEET, {"cause": "ESD"}))
    assert isinstance(begun, Begin)
    assert (begun.commands, dict(begun.guards), begun.safe_end) == ((), {}, SafeEnd.SEND_NOTHING)


def test_the_real_initiator_closes_it_and_two_acts_bring_it_back() -> None:
    """Timed from the unit's own bit; nothing moves when the cause goes, nor at the reset."""
    found, site = made({"cause": "ESD", "by": "push button", "selector": "REMOTE"})
    first = fail_safe_figures(found, SHEET)[0]
    assert first.name == "response_time"
    assert float(first.value) == pytest.approx(truth_s(site) - 0.2, abs=0.1)  # its limit makes before the stop
    assert faults(found, SHEET) == ()
    assert [proof.act for proof in found.proofs] == ["cause of the ESD taken away", "reset"]
    assert not site.truth().tripped


def test_a_reset_takes_two_deliberate_acts() -> None:
    """RESET alone leaves the trip; the cause away moves nothing, opening is refused; then RESET moves nothing."""
    found, site = made({"cause": "ESD", "reset": "proved"})
    assert [proof.words.split(":")[0] for proof in found.proofs] == [
        "reset with the cause still there",
        "cause of the ESD taken away",
        "command open before the reset",
        "reset",
    ]
    assert faults(found, SHEET) == ()
    assert found.proofs[2].said == "refused"
    assert site.truth().travel_pct < 1


def test_each_supply_in_turn() -> None:
    """Without its pump it stays; without control power it closes, silent; power back moves nothing."""
    held, _ = made(
        {"cause": "motor supply"}, {**taken("motor_isolator"), "given": Does((("motor_isolator", False),), "off")}
    )
    (moved, *_) = fail_safe_figures(held, SHEET)
    assert moved.name == "moved_while_held"
    assert float(moved.value) < 0.005
    assert held.stem == "open"
    silent, site = made({"cause": "control supply"}, taken("control_supply"))
    assert fail_safe_figures(silent, SHEET) == ()
    assert "silent" in silent.why
    assert (silent.stem, faults(silent, SHEET)) == ("closed", ())
    assert site.truth().control_on


def test_a_slow_line_tells_a_silent_unit_all_the_same() -> None:
    """Each silence takes seconds there, and what is older is forgotten meanwhile: they are counted, not kept."""

    def slow(site: Crowd) -> None:
        site.unit.each = lambda: setattr(site.unit, "cycle_s", 7.0 if site.unit.silent() else 0.05)

    found, _ = made({"cause": "all supplies"}, taken("control_supply"), prepare=slow)
    assert (found.ended, found.stem) == (FailSafeEnd.DONE, "closed")


def test_one_lost_answer_is_no_lost_supply() -> None:
    """A bad line drops one now and then; nothing was caused by that."""

    def drops(site: Crowd) -> None:
        site.unit.silent = lambda: round(site.clock.unit_ns() / 5e7) % 4 == 0

    found, site = made({"cause": "control supply"}, {"given": Does(say="cannot: no key")}, prepare=drops)
    assert (found.ended, found.why) == (FailSafeEnd.NOT_CAUSED, "cannot: no key")
    assert site.truth().control_on


def test_a_silent_stroke_is_timed_by_the_recorder() -> None:
    """Two readings typed in, against what the stem truly did."""
    recorder = {
        name: Does(say=lambda site, key=key: f"{site.desk.read('recorder')[key]} s")  # type: ignore[misc]  # binds the loop
        for name, key in (("begun", "cause"), ("home", "home"))
    }
    found, site = made(
        {"cause": "control supply", "timed_by": "recorder 0.02 s"}, {**taken("control_supply"), **recorder}
    )
    first = fail_safe_figures(found, SHEET)[0]
    assert first.name == "response_time_outside"
    assert abs(float(first.value) - truth_s(site)) <= float(first.expanded_uncertainty)


def test_keys_time_it_within_their_reaction() -> None:
    """One at the cause, one when the stem is home."""
    keys = {"given": Does((("control_room_esd", True),), "k"), "home": Does((("wait", 8.4),), "k")}
    found, site = made({"cause": "ESD", "timed_by": "key"}, keys)
    by_key = next(figure for figure in fail_safe_figures(found, SHEET) if figure.name == "response_time_outside")
    assert abs(float(by_key.value) - truth_s(site)) <= float(by_key.expanded_uncertainty)


def test_an_esd_wins_against_an_opening_stroke() -> None:
    """Turned round on the way, with the pump running."""
    found, _ = made({"cause": "ESD", "during": "opposite"}, start=End.CLOSED)
    (first,) = fail_safe_figures(found, SHEET)
    assert float(first.value) < 6
    assert faults(found, SHEET) == ()


@pytest.mark.parametrize("position", ["LOCAL", "OFF", "REMOTE"])
def test_an_esd_wins_in_each_position_of_the_selector(position: str) -> None:
    """And a position that the panel does not show is asked for again."""
    answers = iter(("hm", position.lower()))
    turned = Does((("selector", position),), lambda _site: next(answers))
    found, site = made({"cause": "ESD", "selector": position}, {"selector": turned})
    assert found.ended is FailSafeEnd.DONE
    assert [ask.id for ask in site.asked].count("selector") == 2


def test_the_lost_signal_of_a_spring_unit_and_of_a_modulating_one() -> None:
    """One closes, by its ESD loop; the other stays where it is, and alarms in its time."""
    found, _ = made({"cause": "command signal"}, taken("loop_24v"))
    assert fail_safe_figures(found, SHEET)[0].name == "response_time"
    lost = {"given": Does((("command_signal", 0.0),)), "restored": Does((("command_signal", 20.0),), "back")}
    held, _ = made({"cause": "command signal"}, {**lost, "given": Does((("command_signal", 0.0),), "open")}, FCV)
    figures = {figure.name: figure for figure in fail_safe_figures(held, FCV)}
    assert float(figures["moved_while_held"].value) < 0.005
    assert float(figures["alarm_delay"].value) == pytest.approx(2.0, abs=0.2)


def test_the_vent_valve_opens() -> None:
    """Its safe end is the other one."""
    found, _ = made({"cause": "control supply"}, taken("control_supply"), BDV, start=End.CLOSED)
    assert (found.goes_to, found.stem) == (End.OPEN, "open")
    assert faults(found, BDV) == ()


def charged_to_cut_in(site: Crowd) -> None:
    """Pump off, and oil let out until the worst legal charge is left."""
    site.desk.act("motor_isolator", False)
    while site.desk.read("gauges")["PG-3"] > 85.0:
        site.desk.act("bleed", 0.05, which="BV-3")
        site.unit.unit.advance(0.2)
    site.desk.act("bleed", False, which="BV-3")
    site.unit.unit.advance(5.0)


def test_stored_energy_alone_closes_the_modulating_valve() -> None:
    """Guide K5: pump off and accumulator at cut-in; the sheet's emergency limit is at most 10 s."""
    found, site = made({"cause": "ESD", "pump": "off"}, sheet=FCV, prepare=charged_to_cut_in)
    first = fail_safe_figures(found, FCV)[0]
    assert 7.2 < float(first.value) < 10.0
    assert faults(found, FCV) == ()
    assert 70 < site.truth().system_bar < 82


def test_a_fuller_accumulator_is_not_the_worst_legal_charge() -> None:
    """At cut-out it would pass too easily: it is let down first, or nothing is tripped."""
    found, site = made({"cause": "ESD", "pump": "off"}, {"charge": Does(say="cannot: bleed sealed")}, FCV)
    assert (found.ended, found.why) == (FailSafeEnd.NOT_READY, "cannot: bleed sealed")
    assert not site.truth().tripped
    let_out = Does(
        (("motor_isolator", False), ("bleed", 0.05, "BV-3"), ("wait", 4.0), ("bleed", False, "BV-3")), "let out"
    )
    found, _ = made({"cause": "ESD", "pump": "off"}, {"charge": let_out}, FCV)
    assert found.ended is FailSafeEnd.DONE
    begun_pa = found.stroke.track("system_pressure")[0].value
    assert begun_pa <= (FCV.pump.cut_in_bar + 1) * 1e5


FINDINGS: Mapping[str, tuple[Condition, Mapping[str, str], Mapping[str, Does], str]] = {
    "dump stuck": (Condition(dump_stuck=True), {"cause": "ESD"}, {}, "did not reach its closed end"),
    "stem sheared": (Condition(stem_sheared=True), {"cause": "ESD"}, {}, "stem mark shows open, not closed"),
    "somebody says that it was obeyed": (
        HEALTHY,
        {"cause": "ESD", "reset": "proved"},
        {"refused": Does(say="obeyed")},
        "obeyed, where refused was expected",
    ),
    "moved by a hand that did not wait": (
        HEALTHY,
        {"cause": "control supply"},
        {
            **taken("control_supply"),
            "restored": Does((("control_supply", True), ("wait", 1.0), ("local_open", None)), "on"),
        },
        "control supply given back: the valve moved",
    ),
}


@pytest.mark.parametrize("name", FINDINGS)
def test_what_should_not_be_is_found(name: str) -> None:
    """Each by its own words, whatever its time."""
    condition, arguments, said, words = FINDINGS[name]
    local = {"selector": Does((("selector", "LOCAL"),), "local")}
    found, _ = made({**arguments, "selector": "LOCAL"}, {**local, **said}, condition=condition)
    assert any(words in fault for fault in faults(found, SHEET)), faults(found, SHEET)


def test_who_cannot_says_so_and_nothing_was_tested() -> None:
    """Not ready, not caused: the reason stands in the record."""
    found, _ = made({"cause": "ESD"}, {"given": Does(say="cannot: the button has a seal")})
    assert (found.ended, found.why) == (FailSafeEnd.NOT_CAUSED, "cannot: the button has a seal")
    closed, _ = made({"cause": "ESD"}, start=End.CLOSED)
    assert closed.ended is FailSafeEnd.NOT_READY
    stuck, _ = made({"cause": "ESD", "during": "opposite"}, {"opposite": Does(say="cannot: alarm")}, start=End.CLOSED)
    assert stuck.ended is FailSafeEnd.NOT_READY

"""Tests of evidence: what proves nothing is refused, with what is missing."""

import math
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.energy import EnergyError, Fact
from commission.energy.evidence import check
from commission.sheet.model import Action
from tests.energy.way import AT, TESS, xv_1101

DOUBLE = msgspec.structs.replace(
    xv_1101(),
    actuator=msgspec.structs.replace(
        xv_1101().actuator, action=Action.DOUBLE_ACTING, fail_position=None, at_zero_pressure="line force opens it"
    ),
)
ABOVE = Fact("seen above zero", "cylinder", TESS, AT, {"bar": 104.0, "read_on": "gauge"})
METER: dict[str, Any] = {"live_before_v": 24.1, "dead_v": 0.0, "live_after_v": 24.0}
BLOCK: dict[str, Any] = {
    "how": "block",
    "number": "EB-2",
    "names": ["Tess Placeholder", "Piet Exampler"],
    "authority": "site manager",
}

NO_NUMBERS = [None, "0", True, math.nan, math.inf, -math.inf, [0.0], 10**400]


def refusal(ask: str, fact: str = "x", *, earlier: tuple[Fact, ...] = (), off: bool = False, **details: Any) -> str:
    """Why the evidence is refused; empty where it is taken."""
    try:
        check(ask, Fact(fact, "cylinder", TESS, AT, details), earlier, xv_1101(), control_off=off)
    except EnergyError as error:
        return str(error)
    return ""


def test_each_fact_is_somebodys_word() -> None:
    """A fact without a name is refused (safety rule R4)."""
    with pytest.raises(EnergyError, match="needs the name of who says so"):
        check("word", Fact("shut down", "", "  ", AT, {}), (), xv_1101(), control_off=False)


@pytest.mark.parametrize("given", [None, "", "  ", True, ["7"]], ids=repr)
def test_a_lock_and_a_name_are_no_blanks(given: Any) -> None:
    """An empty answer, and what is no text, is no number of a lock and no name."""
    assert "needs its number" in refusal("lock", number=given)
    assert "needs a name or a number" in refusal("names", text=given)
    assert refusal("lock", number=7) == refusal("lock", number="L-07") == refusal("names", text="Mara") == ""


@pytest.mark.parametrize("count", [None, 0, -1, 4.0, "4", True, math.nan], ids=repr)
def test_a_count_is_a_whole_number_of_people(count: Any) -> None:
    """Who counts is there: at least one; a yes is no count."""
    assert "at least 1: you are there" in refusal("count", count=count)
    assert refusal("count", count=1) == ""


@pytest.mark.parametrize("volts", NO_NUMBERS, ids=lambda item: repr(item)[:9])
@pytest.mark.parametrize("name", METER)
def test_a_meter_reading_is_a_number_of_volts(name: str, volts: Any) -> None:
    """NaN passes every comparison: it is no reading, in any of the three places."""
    assert "three meter readings in volts" in refusal("meter", **{**METER, name: volts})


def test_a_meter_proves_dead_only_between_two_live_readings() -> None:
    """Live before, dead, live after (29 CFR 1910.333(b)(2)(iv)); reversed leads make no difference."""
    assert refusal("meter", **METER) == refusal("meter", **{**METER, "live_before_v": -24.1}) == ""
    assert "proves nothing" in refusal("meter", **{**METER, "live_before_v": 0.3})
    assert "proves nothing" in refusal("meter", **{**METER, "live_after_v": 0.0})
    assert "48 V on the terminals: not dead" in refusal("meter", **{**METER, "dead_v": -48.0})


def test_r01_the_valve_is_at_its_fail_position_or_blocked() -> None:
    """Nothing else will do, and the mark on the stem is what counts."""
    assert refusal("place", how="fail position", stem_mark="closed") == ""
    assert "must be seen at closed" in refusal("place", how="fail position", stem_mark="open")
    assert "must be seen at closed" in refusal("place", how="fail position")
    for how in (None, "", "held by hand", "closed"):
        assert "nothing else will do" in refusal("place", how=how, stem_mark="closed")


def test_r01_a_unit_without_a_spring_has_no_fail_position() -> None:
    """A double-acting unit at zero pressure goes where the line takes it: a block is asked for."""
    fact = Fact("valve safe", "", TESS, AT, {"how": "fail position", "stem_mark": "closed"})
    with pytest.raises(
        EnergyError, match=r"no fail position at zero pressure .line force opens it.: fit an engineered block"
    ):
        check("place", fact, (), DOUBLE, control_off=False)
    check("place", msgspec.structs.replace(fact, details=BLOCK), (), DOUBLE, control_off=False)


@pytest.mark.parametrize(
    "names",
    [None, [], ["Tess"], ["Tess", " tess "], ["Tess", ""], ["Tess", None], "Tess Placeholder", 7],
    ids=repr,
)
def test_r01_a_block_has_two_names(names: Any) -> None:
    """One person twice, a blank, and one text taken for a list of its letters are not two names."""
    assert "two names" in refusal("place", **{**BLOCK, "names": names})


@pytest.mark.parametrize("field", ["number", "authority"])
def test_r01_a_block_has_number_and_authority(field: str) -> None:
    """Who approved it, and which one it is."""
    assert refusal("place", **BLOCK) == ""
    assert f"needs its {field}" in refusal("place", **{**BLOCK, field: " "})


@pytest.mark.parametrize("bar", NO_NUMBERS, ids=lambda item: repr(item)[:9])
@pytest.mark.parametrize("fact", ["seen above zero", "seen to fall", "zero", "no rise"])
def test_r02_a_pressure_is_a_number(fact: str, bar: Any) -> None:
    """NaN, a yes or a text is no reading of any kind."""
    assert "needs the reading in bar" in refusal("reading", fact, bar=bar, read_on="gauge", minutes=5)


def test_r02_zero_is_seen_on_something_that_can_show_it() -> None:
    """Without saying what it was read on, or on the transmitter of an unpowered unit, there is no reading."""
    assert "read on" in refusal("reading", "zero", bar=0.0)
    assert "read on" in refusal("reading", "zero", bar=0.0, read_on="screen")
    assert refusal("reading", "zero", bar=0.0, read_on="transmitter") == ""
    assert "never zero" in refusal("reading", "zero", off=True, bar=0.0, read_on="transmitter")
    assert refusal("reading", "zero", off=True, bar=0.0, read_on="gauge") == ""


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_r02_above_zero_and_zero_exclude_one_another(bar: float) -> None:
    """No reading proves both that there is pressure and that there is none."""
    above = refusal("reading", "seen above zero", bar=bar, read_on="gauge") == ""
    zero = refusal("reading", "zero", bar=bar, read_on="gauge") == ""
    assert not (above and zero)
    assert above == (bar > 0.2)
    assert zero == (abs(bar) <= 0.2)


def test_r02_the_gauge_is_seen_to_fall_from_what_it_showed() -> None:
    """A gauge that shows the same, or more, has not fallen; another volume's reading does not count."""

    def fall(bar: float) -> str:
        return refusal("reading", "seen to fall", earlier=(ABOVE,), bar=bar, read_on="gauge")

    assert "has not fallen: 104 bar before, 104 bar now" in fall(104.0)
    assert fall(103.9) == ""
    other = msgspec.structs.replace(ABOVE, subject="hand-pump", details={"bar": 10.0, "read_on": "gauge"})
    assert refusal("reading", "seen to fall", earlier=(ABOVE, other), bar=31.0, read_on="gauge") == ""


@pytest.mark.parametrize("minutes", [None, 0, 4.9, "5", True, math.nan, math.inf], ids=repr)
def test_r02_no_rise_takes_five_minutes(minutes: Any) -> None:
    """Less, and what is no time, is too short."""
    assert "for 5 minutes" in refusal("reading", "no rise", bar=0.0, read_on="gauge", minutes=minutes)
    assert refusal("reading", "no rise", bar=0.0, read_on="gauge", minutes=5) == ""


anything = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.lists(st.text(max_size=3))
FIELDS = ["number", "count", "text", "bar", "read_on", "minutes", "how", "stem_mark", "names", "authority", *METER]


@given(
    st.sampled_from(["word", "lock", "count", "names", "meter", "place", "reading"]),
    st.sampled_from(["seen above zero", "seen to fall", "zero", "no rise", "locked"]),
    st.dictionaries(st.sampled_from(FIELDS), anything),
    st.booleans(),
)
def test_any_details_are_taken_or_refused_in_words(ask: str, fact: str, details: dict[str, Any], off: bool) -> None:  # noqa: FBT001  # drawn
    """Whatever is recorded, evidence is judged; no other error comes out."""
    assert isinstance(refusal(ask, fact, earlier=(ABOVE,), off=off, **details), str)

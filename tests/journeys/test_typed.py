"""A visit typed at a terminal: the walk to a stroke, and the stop key in mid-stroke."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.journeys.programs import Program, Terminal
from tests.journeys.records import archive, ended, run_of, sent_in
from tests.journeys.site import Desk, now_s
from tests.journeys.typed import TO_THE_STROKE

STOP_WITHIN_S = 1.0
"""A key, its process, the wire and a scan of the unit, on a loaded machine; measured in DEVELOPERS.md."""


@pytest.mark.parametrize(
    ("url", "speed"), [("tcp://127.0.0.1:0", 10.0), pytest.param("rtu://", 5.0, marks=pytest.mark.long)]
)
def test_the_stop_key_stops_the_valve(
    job: Path,
    unit: Callable[..., Desk],
    terminal: Callable[..., Terminal],
    url: str,
    speed: float,
    record_property: Callable[[str, object], None],
) -> None:
    """ENTER in mid-stroke: the pump is off at the unit at once, the valve stands, and the record says confirmed."""
    desk = unit(url, speed=speed)
    typist = terminal("run", job, "--connect", desk.url)
    typist.converse(TO_THE_STROKE)
    desk.moving()
    pressed_s = typist.type("")
    took_s = desk.stopped_within(pressed_s, STOP_WITHIN_S)
    record_property(f"stop latency s {url}", round(took_s, 4))
    typist.expect("Ended")
    assert desk.stands()
    typist.type("/leave")
    typist.ended_within(pressed_s, 20.0)
    run = run_of(job)
    assert ended(run) == ("stopped", "confirmed")
    assert sent_in(run, "procedure") == ["command_open"]
    assert set(sent_in(run, "safe end")) == {"command_stop"}


def test_control_c_stops_first_and_ends_after(
    job: Path, unit: Callable[..., Desk], terminal: Callable[..., Terminal]
) -> None:
    """Ctrl-C in mid-stroke only stops; the visit goes on, and a second Ctrl-C, at rest, ends it."""
    desk = unit(speed=10.0)
    typist = terminal("run", job, "--connect", desk.url)
    typist.converse(TO_THE_STROKE)
    desk.moving()
    desk.stopped_within(typist.key(b"\x03"), STOP_WITHIN_S)
    typist.expect("Ended")
    typist.expect("confirm this movement in full")
    assert typist.process.poll() is None
    typist.ended_within(typist.key(b"\x03"), 10.0)
    assert "the same command on that file goes on from here" in typist.shown()
    assert ended(run_of(job)) == ("stopped", "confirmed")
    assert archive(job).events[-1].body["reason"] == "ended by the keyboard"


def test_the_end_of_what_is_typed_is_a_stop(
    job: Path, unit: Callable[..., Desk], typed_at: Callable[..., Program]
) -> None:
    """Standard input ends in mid-stroke: the valve is stopped, and the program ends by itself."""
    desk = unit(speed=10.0)
    program = typed_at("run", job, "--connect", desk.url, lines=[reply for _, reply in TO_THE_STROKE[:-1]])
    typed = program.process.stdin
    assert typed is not None
    program.wait_for_words("type the count of people")
    typed.write(f"{TO_THE_STROKE[-1][1]}\n".encode())
    typed.flush()
    desk.moving()
    typed.close()
    ended_s = now_s()
    desk.stopped_within(ended_s, STOP_WITHIN_S)
    program.ended_within(ended_s, 10.0)
    assert ended(run_of(job)) == ("stopped", "confirmed")


def test_a_terminal_that_holds_its_output_keeps_no_stop_back(
    job: Path, unit: Callable[..., Desk], terminal: Callable[..., Terminal]
) -> None:
    """Ctrl-S in mid-stroke: nothing is shown any more, and ENTER still stops the valve at once."""
    desk = unit(speed=10.0)
    typist = terminal("run", job, "--connect", desk.url)
    typist.converse(TO_THE_STROKE)
    desk.moving()
    typist.key(b"\x13")
    desk.moving(15.0)  # long enough for two lines that cannot be shown
    desk.stopped_within(typist.type(""), STOP_WITHIN_S)
    typist.key(b"\x11")
    typist.expect("Ended")
    assert desk.stands()
    typist.ended_within(typist.type("/leave"), 10.0)
    assert ended(run_of(job)) == ("stopped", "confirmed")

"""Every byte passes here first: what is let through, and when the unit can have acted."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.link.wiretap import Expected, Window, Wiretap
from tests.link.servers import crc16

BYTE_NS = 1000


class _Tap:
    """A wiretap on a clock that the test sets."""

    def __init__(self, *, rtu: bool, paced: bool = True) -> None:
        self.now_ns = 0
        self.wrongs = 0
        self.tap = Wiretap(lambda: self.now_ns, rtu=rtu, byte_s=BYTE_NS / 1e9 if paced else 0.0)

    def echoes(self) -> bool:
        return self.tap.echo

    def ask(self, expected: Expected, frame: bytes) -> None:
        def wrong() -> None:
            self.wrongs += 1

        self.tap.arm(expected, wrong)
        self.tap.sending(frame)


def _rtu(body: bytes) -> bytes:
    return body + crc16(body)


READ_ONE = Expected(11, 4, 4)
REQUEST = _rtu(bytes((11, 4, 0, 0, 0, 1)))
ANSWER = _rtu(bytes((11, 4, 2, 4, 77)))
COIL = _rtu(bytes((11, 5, 0, 2, 0xFF, 0)))


def test_bytes_without_a_request_are_dropped() -> None:
    """Before a request and after its end nothing is let through."""
    wire = _Tap(rtu=True)
    assert wire.tap.received(ANSWER) == b""
    wire.ask(READ_ONE, REQUEST)
    wire.tap.disarm()
    assert wire.tap.received(ANSWER) == b""
    assert wire.tap.dropped_bytes == 2 * len(ANSWER)


def test_window_is_between_the_last_byte_out_and_the_first_byte_back() -> None:
    """Both frames' own byte times are taken off."""
    wire = _Tap(rtu=True)
    wire.ask(READ_ONE, REQUEST)
    wire.now_ns = 20_000
    wire.tap.received(ANSWER[:4])
    wire.now_ns = 23_000
    assert wire.tap.received(ANSWER) == ANSWER
    assert wire.tap.window() == Window(8 * BYTE_NS, 20_000 - 4 * BYTE_NS)
    assert wire.tap.last_byte_ns == 23_000


def test_window_of_a_port_that_is_not_paced_is_the_whole_exchange() -> None:
    """Where byte times do not fit into the exchange, nothing is taken off."""
    wire = _Tap(rtu=True)
    wire.ask(READ_ONE, REQUEST)
    wire.now_ns = 5_000
    wire.tap.received(ANSWER)
    assert wire.tap.window() == Window(0, 5_000)


def test_window_without_an_answer_reaches_until_now() -> None:
    """An unanswered write can have reached the unit at any moment since it was sent."""
    wire = _Tap(rtu=True)
    wire.ask(Expected(11, 5, 5), COIL)
    wire.now_ns = 90_000
    assert wire.tap.window() == Window(0, 90_000)


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (_rtu(bytes((12, 4, 2, 4, 77))), "unit 12 answered where unit 11 was asked"),
        (_rtu(bytes((11, 3, 2, 4, 77))), "function 3 came where function 4"),
        (_rtu(bytes((11, 4, 4, 4, 77, 0, 0))), "4 data bytes came where 2"),
    ],
)
def test_wrong_answers_are_objected_to_once(answer: bytes, words: str) -> None:
    """Unit, function and length are checked; the rest of a wrong answer is dropped without another word."""
    wire = _Tap(rtu=True)
    wire.ask(READ_ONE, REQUEST)
    assert wire.tap.received(answer) == b""
    assert wire.tap.received(answer + ANSWER) == b""
    assert words in (wire.tap.wrong or "")
    assert wire.wrongs == 1


def test_echo_is_recognised_only_where_it_cannot_be_an_answer() -> None:
    """Our own one-register read coming back is an echo; a write coming back is its answer until an echo was seen."""
    wire = _Tap(rtu=True)
    wire.ask(Expected(11, 5, 5), COIL)
    assert wire.tap.received(COIL) == COIL
    assert not wire.echoes()
    wire.ask(READ_ONE, REQUEST)
    assert wire.tap.received(REQUEST[:5]) == b""
    assert wire.tap.received(REQUEST) == b""
    assert wire.echoes()
    assert wire.tap.received(REQUEST + ANSWER) == ANSWER
    wire.ask(Expected(11, 5, 5), COIL)
    assert wire.tap.received(COIL) == b""
    assert wire.tap.received(COIL + COIL) == COIL


def test_make_safe_answer_is_found_among_late_frames() -> None:
    """Behind late frames the exact answer is found, and so is a refusal."""
    seek = Expected(11, 5, 5, seek=True)
    wire = _Tap(rtu=True)
    wire.ask(seek, COIL)
    assert wire.tap.received(ANSWER) == b""
    assert wire.tap.received(ANSWER + COIL) == COIL
    cleared = _rtu(bytes((11, 5, 0, 2, 0, 0)))
    assert wire.tap.received(ANSWER + cleared) == cleared
    refusal = _rtu(bytes((11, 0x85, 6)))
    wire.ask(seek, COIL)
    assert wire.tap.received(ANSWER + refusal) == refusal


def test_tcp_answer_of_another_transaction_is_skipped() -> None:
    """Only our transaction number counts, and 0 is not a joker."""
    wire = _Tap(rtu=False)
    wire.ask(READ_ONE, bytes((0, 9, 0, 0, 0, 6, 11, 4, 0, 0, 0, 1)))
    ours = bytes((0, 9, 0, 0, 0, 5, 11, 4, 2, 4, 77))
    for other in (b"\x00\x08", b"\x00\x00"):
        assert wire.tap.received(other + ours[2:]) == b""
        assert wire.tap.received(other + ours[2:] + ours) == ours
    assert wire.wrongs == 0


def _frames(*, rtu: bool) -> tuple[bytes, bytes]:
    if rtu:
        return REQUEST, ANSWER
    return bytes((0, 9, 0, 0, 0, 6, 11, 4, 0, 0, 0, 1)), bytes((0, 9, 0, 0, 0, 5, 11, 4, 2, 4, 77))


@given(rtu=st.booleans(), data=st.binary(max_size=40), split=st.integers(0, 40))
def test_whatever_comes_is_let_through_only_if_it_looks_like_the_answer(*, rtu: bool, data: bytes, split: int) -> None:
    """Any bytes, in any two pieces: what is let through starts with our unit and function, as an answer or refusal."""
    wire = _Tap(rtu=rtu)
    wire.ask(READ_ONE, _frames(rtu=rtu)[0])
    for piece in (data[:split], data):
        passed = wire.tap.received(piece)
        if passed:
            at = 1 if rtu else 7
            assert passed[at - 1] == 11
            assert passed[at] in (4, 0x84)
            assert data.endswith(passed) or data[:split].endswith(passed)


@given(rtu=st.booleans(), cuts=st.lists(st.integers(0, 11), max_size=4))
def test_good_answer_passes_however_it_is_cut(*, rtu: bool, cuts: list[int]) -> None:
    """An answer that arrives in pieces is let through whole, without objection."""
    wire = _Tap(rtu=rtu)
    request, answer = _frames(rtu=rtu)
    wire.ask(READ_ONE, request)
    for cut in sorted(cuts):
        wire.tap.received(answer[:cut])
    assert wire.tap.received(answer) == answer
    assert wire.wrongs == 0

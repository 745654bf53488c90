"""Tests of bad lines: each trouble by its numbers, the same for the same seed, and over a real socket."""

import asyncio

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.practice.fate import NO_FAULT
from commission.practice.serve import ServedAt, serve
from commission.practice.setup import Setup
from commission.practice.trouble import CLEAN, NoSuchTrouble, Trouble, damaged, trouble_hook, with_trouble
from commission.sheet import Sheet
from tests.practice.wire_client import RawClient
from tests.virtual_time import run_virtual, virtual_clock


@given(st.integers(0, 1000))
def test_a_line_repeats_by_its_seed(seed: int) -> None:
    """The same seed gives the same fates, another gives others."""
    line = Trouble(jitter_s=0.1, drop=0.3, exception=0.3)

    def fates(seed: int) -> list[tuple[bool, float, int]]:
        hook = trouble_hook(line, seed)
        return [(fate.drop, fate.delay_s, fate.exception) for fate in (hook(number, 4) for number in range(1, 40))]

    assert fates(seed) == fates(seed)
    assert fates(seed) != fates(seed + 1)


def test_shares_are_kept() -> None:
    """Of 2000 answers a tenth is lost and a twentieth damaged, within four standard deviations."""
    hook = trouble_hook(Trouble(drop=0.1, garbage=0.05), 1)
    fates = [hook(number, 4) for number in range(1, 2001)]
    assert sum(fate.drop for fate in fates) == pytest.approx(200, abs=4 * (2000 * 0.1 * 0.9) ** 0.5)
    assert sum(fate.alter is not None for fate in fates) == pytest.approx(100, abs=4 * (2000 * 0.05 * 0.95) ** 0.5)


def test_two_units_of_one_address_share_the_answers() -> None:
    """A third from the neighbour, a third of both at once, a third its own; half as many at half the severity."""
    for share in (1.0, 0.5):
        hook = trouble_hook(Trouble(duplicate=share), 1)
        fates = [hook(number, 4) for number in range(1, 3001)]
        assert sum(fate.neighbour for fate in fates) == pytest.approx(1000 * share, abs=110)
        assert sum(fate.alter is not None for fate in fates) == pytest.approx(1000 * share, abs=110)
        assert not any(fate.neighbour and fate.alter is not None for fate in fates)


def test_a_clean_line_does_nothing() -> None:
    """Every answer as it was sent."""
    assert trouble_hook(CLEAN, 1)(1, 4) == NO_FAULT


def test_a_hung_controller_answers_no_more() -> None:
    """After so many answers, silence."""
    hook = trouble_hook(Trouble(hangs_after=3), 1)
    assert [hook(number, 4).drop for number in range(1, 6)] == [False, False, False, True, True]


@given(st.binary(min_size=4, max_size=60), st.integers(0, 2**32 - 1))
def test_a_damaged_frame_is_another(frame: bytes, seed: int) -> None:
    """Some bytes wrong, missing or more; the same damage for the same seed."""
    assert damaged(frame, seed) == damaged(frame, seed)
    assert damaged(frame, seed)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("drop=0.05", Trouble(drop=0.05)),
        ("delay_s=0.2", Trouble(delay_s=0.2)),
        ("echo", Trouble(echo=True)),
        ("hangs_after=40", Trouble(hangs_after=40)),
    ],
)
def test_what_is_typed_right_is_taken(text: str, line: Trouble) -> None:
    """A share, a time, a switch, a count."""
    assert with_trouble(CLEAN, text) == line


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("dorp=0.1", "did you mean drop"),
        ("drop=2", "a share from 0 to 1"),
        ("delay_s=-1", "0 or more"),
        ("late=nan", "a share"),
    ],
)
def test_what_is_typed_wrong_is_said(text: str, words: str) -> None:
    """The nearest name, or what its number may be."""
    with pytest.raises(NoSuchTrouble, match=words):
        with_trouble(CLEAN, text)


async def asked(sheet: Sheet, line: Trouble, requests: int = 3) -> list[bytes | None]:
    """What a client gets for so many reads of the identity; None for silence or a cut line."""
    found: asyncio.Future[ServedAt] = asyncio.get_running_loop().create_future()
    stop = asyncio.Event()
    task = asyncio.ensure_future(
        serve(
            sheet, "tcp://127.0.0.1:0", clock=virtual_clock(), on_ready=found.set_result, stop=stop,
            setup=Setup(line=line), seed=4,
        )
    )  # fmt: skip
    at = await found
    port = int(at.url.split(":")[2].split("?")[0])
    answers: list[bytes | None] = []
    for number in range(1, requests + 1):
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(
            number.to_bytes(2, "big") + b"\x00\x00\x00\x06" + bytes((sheet.link.unit_id,)) + b"\x04\x00\x00\x00\x01"
        )
        try:
            answers.append(await asyncio.wait_for(reader.read(260), 0.5) or None)
        except (TimeoutError, ConnectionError):
            answers.append(None)
        writer.close()
    stop.set()
    await task
    return answers


def test_each_trouble_is_on_the_wire(sheet: Sheet) -> None:
    """Sound: the identity. Dropped, late and reset: nothing. Exception 4, another identifier, an echo before it."""
    code = sheet.identity.code.to_bytes(2, "big")

    async def main() -> None:
        sound = await asked(sheet, CLEAN)
        assert all(answer is not None and answer[-2:] == code and len(answer) == 11 for answer in sound)
        for line in (Trouble(drop=1.0), Trouble(late=1.0, late_s=2.0), Trouble(reset=1.0), Trouble(hangs_after=1)):
            assert (await asked(sheet, line))[-1] is None, line
        refused = (await asked(sheet, Trouble(exception=1.0)))[0]
        assert refused is not None
        assert refused[7:9] == b"\x84\x04"
        other = (await asked(sheet, Trouble(wrong_id=1.0)))[0]
        assert other is not None
        assert other[6] == sheet.link.unit_id + 1
        echoed = (await asked(sheet, Trouble(echo=True)))[0]
        assert echoed is not None
        assert echoed[:12].endswith(b"\x04\x00\x00\x00\x01")
        assert echoed[-2:] == code
        assert (await asked(sheet, Trouble(garbage=1.0))) != sound

    run_virtual(main())


def test_the_raw_client_meets_a_sound_line(sheet: Sheet) -> None:
    """The control: without trouble the same client reads."""

    async def main() -> None:
        found: asyncio.Future[ServedAt] = asyncio.get_running_loop().create_future()
        stop = asyncio.Event()
        task = asyncio.ensure_future(
            serve(sheet, "tcp://127.0.0.1:0", clock=virtual_clock(), on_ready=found.set_result, stop=stop)
        )
        client = await RawClient.connect((await found).url)
        assert (await client.identify(0x01))[9:].decode() == sheet.identity.tag
        await client.close()
        stop.set()
        await task

    run_virtual(main())

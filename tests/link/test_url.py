"""Addresses: what people type, and what they are told when it cannot be read."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.link.faults import UrlError
from commission.link.url import BAUDS, SerialAddress, TcpAddress, parse_url


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("tcp://127.0.0.1:5020?unit=1", TcpAddress("127.0.0.1", 5020, 1)),
        ("tcp://unit.local", TcpAddress("unit.local", 502, None)),
        ("tcp://[::1]:5020/", TcpAddress("::1", 5020, None)),
        ("rtu:///dev/ttyUSB0?baud=19200&parity=E&stop=1&unit=1", SerialAddress("/dev/ttyUSB0", 19200, "E", 1, 1)),
        ("rtu://COM3?parity=n&stop=2", SerialAddress("COM3", None, "N", 2, None)),
        (" rtu:///dev/pts/3 ", SerialAddress("/dev/pts/3")),
    ],
)
def test_addresses_are_read(text: str, address: object) -> None:
    """Each way of writing an address gives its parts; what is left open stays open."""
    assert parse_url(text) == address


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("127.0.0.1:5020", "begins with tcp:// or rtu://"),
        ("http://127.0.0.1", "begins with tcp:// or rtu://"),
        ("tcp://", "expected a host and a port"),
        ("tcp://h:99999", "port is a number from 1 to 65535"),
        ("tcp://h:0", "expected a host and a port"),
        ("tcp://h/path", "found '/path'"),
        ("tcp://h?unit=0", "never used"),
        ("tcp://h?unit=300", "1 … 247"),
        ("tcp://h?unti=3", "did you mean 'unit'"),
        ("tcp://h?baud=9600", "found 'baud', expected unit"),
        ("tcp://[::1", "is not an address"),
        ("rtu://", "expected a serial port"),
        ("rtu://COM3?baud=12345", "baud is '12345', expected one of 1200"),
        ("rtu://COM3?parity=X", "expected E, O or N"),
        ("rtu://COM3?stop=3", "expected 1 or 2"),
        ("rtu://COM3?unit=٣", "1 … 247"),
    ],
)
def test_mistakes_are_named(text: str, words: str) -> None:
    """The message holds the text, the part that is wrong and what was expected."""
    with pytest.raises(UrlError) as error:
        parse_url(text)
    assert words in str(error.value)


@given(
    device=st.sampled_from(["/dev/ttyUSB0", "COM12", "/dev/pts/7"]),
    baud=st.none() | st.sampled_from(BAUDS),
    parity=st.none() | st.sampled_from("EON"),
    stop_bits=st.none() | st.sampled_from([1, 2]),
    unit_id=st.none() | st.integers(1, 247),
)
def test_text_of_an_address_reads_back(
    device: str, baud: int | None, parity: str | None, stop_bits: int | None, unit_id: int | None
) -> None:
    """What is shown and recorded is the address again."""
    address = SerialAddress(device, baud, parity, stop_bits, unit_id)  # type: ignore[arg-type]  # one of the three letters
    assert parse_url(address.text) == address
    tcp = TcpAddress("::1", 5020, unit_id)
    assert parse_url(tcp.text) == tcp


@given(st.text(max_size=60))
def test_no_text_breaks_the_reader(text: str) -> None:
    """Any text gives an address or a `UrlError`."""
    for candidate in (text, "tcp://" + text, "rtu://" + text):
        with contextlib.suppress(UrlError):
            assert parse_url(candidate).text

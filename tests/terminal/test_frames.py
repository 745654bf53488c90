"""
Every screen at every size, theme and state of the link: what must be in sight is, nothing is too wide, nothing is
markup. No golden pictures: what is checked is what a person must be able to rely on.
"""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest

from commission.terminal.app import CommissionApp
from commission.terminal.console import Console
from commission.terminal.theme import LIGHT
from commission.walk import acts
from tests.pictures import CALLED, CONNECT, KINDS, NAMES, SCREENS, WALK, running, show
from tests.terminal.beside import hands_at
from tests.terminal.prepared import COLOUR, GREY, HOSTILE, LETTERS, Shown, frame, opened
from tests.visiting import TESS

SIZES = {"too small at 60x24": (60, 24), "least at 80x24": (80, 24), "roomy at 120x40": (120, 40)}
AT_REST = tuple(name for name in (*SCREENS, WALK) if name != CONNECT)
WITHOUT_ROOM = ("points", "temporary", "motion", WALK)
"""Where the window is too small all screens show the same; one with a table, one with a field, the two that matter."""


async def live(_there: Shown) -> None:
    """The unit answers."""


async def stale(there: Shown) -> None:
    """The unit has not answered for a while, and nobody has said so yet."""
    there.unit.server.deaf = True
    await asyncio.sleep(0.3)


async def lost(there: Shown) -> None:
    """The contact is lost, and that is recorded."""
    there.unit.server.deaf = True
    for _ in range(300):
        if not there.visit.job.contact.up:
            return
        await asyncio.sleep(0.02)
    raise AssertionError("contact was never lost")


LINKS: dict[str, Callable[[Shown], Awaitable[None]]] = {"live": live, "stale": stale, "lost": lost}
THEMES = {"dark for a cabin": COLOUR, "light for sunlight": COLOUR, "none under NO_COLOR": GREY}

FULL = pytest.mark.long
"""Three of the nine, with each size, theme and link once, are in the default run; the others in CI."""

SQUARE = [
    pytest.param(SIZES[size], theme, link, id=f"{size}, {theme}, {link}", marks=() if row == column else FULL)
    for row, size in enumerate(SIZES)
    for column, theme in enumerate(THEMES)
    for link in [list(LINKS)[(row + column) % 3]]
]
"""Nine of the twenty-seven, so that each two of size, theme and link meet once."""

LEAST_DRAWN = 10
"""Letters of a trace half way: a busy machine reads it seldom, so that they stand apart."""


@pytest.mark.asyncio
@pytest.mark.parametrize(("size", "theme", "link"), SQUARE)
async def test_every_screen_keeps_its_lines_and_its_width(
    tmp_path: Path, size: tuple[int, int], theme: str, link: str
) -> None:
    """The state line, the key line and the stop field are in sight on every screen, and no line is too wide."""
    async with (
        opened(tmp_path, size=size, shows=THEMES[theme]) as there,
        hands_at(there.app.desk, there.unit.desk),
    ):
        if theme.startswith("light"):
            there.app.theme = LIGHT.name
        make_hostile(there)
        await LINKS[link](there)
        for name in AT_REST if size[0] >= 80 else WITHOUT_ROOM:
            await show(there, name)
            await there.pilot.pause(0.05)
            check(name, frame(there.app), size)
            there.app.pop_screen()
        there.unit.server.deaf = False


@pytest.mark.asyncio
@pytest.mark.parametrize("connected", [True, False], ids=["connected", "without a line"])
async def test_console_without_drawing_gets_plain_letters(tmp_path: Path, connected: bool) -> None:  # noqa: FBT001
    """Where the console can draw nothing the whole frame of every screen is ASCII: borders, bars, traces, signs."""
    async with opened(tmp_path, shows=LETTERS, connected=connected) as there:
        make_hostile(there)
        async with hands_at(there.app.desk, there.unit.desk):
            for name in AT_REST if connected else (CONNECT, WALK):
                await show(there, name)
                await there.pilot.pause(0.1)
                other = {letter for line in frame(there.app) for letter in line if not letter.isascii()}
                assert not other, f"{name}: {other}"
                there.app.pop_screen()


def make_hostile(there: Shown) -> None:
    """Somebody typed what could be taken for markup or could act on the terminal."""
    job = there.visit.job
    there.visit.record(acts.temporary_on(job, "jumper", HOSTILE, "[/", "[link=x]y[/link]"), TESS)
    there.visit.record(acts.raise_deviation(there.visit.job, "K1-open", "[red]", HOSTILE, classed="A"), TESS)


def check(name: str, lines: list[str], size: tuple[int, int]) -> None:
    """What holds for every frame."""
    width, height = size
    text = "\n".join(lines)
    keys, stop = [line for line in lines if line][-2:]
    assert len(lines) == height, name
    assert max(len(line) for line in lines) <= width, name
    assert "XV-1101" in lines[0] or name in ("jobs", "start", "findings"), f"{name}: no tag in line 1: {lines[0]!r}"
    assert "permit" in keys.lower(), f"{name}: no permit in the key line: {keys!r}"
    assert "STOP" in stop or "SPACE ends the watch" in stop, f"{name}: no stop field: {stop!r}"
    assert "\x1b" not in text, name
    assert "\u202e" not in text, name
    if width < 80:
        assert "Make this window at least 80 x 24" in text, name
    elif name in ("temporary", "deviations", "sign-off"):
        assert "[bold]x[/]" in text, name


def test_each_pair_of_size_theme_and_link_is_seen_once() -> None:
    """The square leaves out no pair."""
    seen = [param.values for param in SQUARE]
    assert len({(size, theme) for size, theme, _ in seen}) == 9
    assert len({(size, link) for size, _, link in seen}) == 9
    assert len({(theme, link) for _, theme, link in seen}) == 9


def test_console_kinds_differ() -> None:
    """The three consoles of these tests are three."""
    assert len({(one.colour, one.drawing) for one in (COLOUR, GREY, LETTERS)}) == 3
    assert isinstance(COLOUR, Console)


@pytest.mark.slow
@pytest.mark.asyncio
async def test_around_a_running_test_all_is_plain_letters_and_grey(tmp_path: Path) -> None:
    """Confirmation, a stroke half way with its trace, a proof that watches: whole frames of ASCII, in greys alone."""
    del tmp_path  # each screen has a folder of its own
    seen = []
    async for name, app in running((80, 24), LETTERS):
        lines = frame(app)
        seen.append(name)
        other = {letter for line in lines for letter in line if not letter.isascii()}
        assert not other, f"{name}: {other}"
        assert not coloured(app), f"{name}: {coloured(app)}"
        check(name, lines, (80, 24))
        text = "\n".join(lines)
        wanted = {"confirm": "confirm this movement in full", "motion": "MOVING", "wiring": CALLED}
        assert wanted[name] in text, text
        assert name != "motion" or text.count("*") >= LEAST_DRAWN, text
    assert seen == ["confirm", "motion", "wiring"]


def coloured(app: CommissionApp) -> set[str]:
    """Colours that are painted and are no grey."""
    styles = [segment.style for strip in app.screen._compositor.render_strips() for segment in strip if segment.style]
    painted = {
        colour.triplet for style in styles for colour in (style.color, style.bgcolor) if colour and colour.triplet
    }
    return {triplet.hex for triplet in painted if len({triplet.red, triplet.green, triplet.blue}) > 1}


def test_every_screen_has_a_picture_and_its_text_at_the_other_sizes() -> None:
    """One picture for each screen, small, with nothing fetched from elsewhere; README shows one of them."""
    folder = Path(__file__).parent / "pictures"
    found = {path.stem: path.read_text(encoding="utf-8") for path in folder.glob("*.svg")}
    assert set(found) == set(NAMES)
    for name, svg in found.items():
        assert len(svg) < 60_000, name
        assert "https://" not in svg, name
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert "tests/terminal/pictures/result.svg" in readme
    for kind, ((width, height), shows) in KINDS.items():
        for name in NAMES:
            lines = (folder / f"{name}-{kind}.txt").read_text(encoding="utf-8").splitlines()
            assert len(lines) == height, (name, kind)
            assert max(len(line) for line in lines) <= width, (name, kind)
            assert shows.drawing or all(line.isascii() for line in lines), (name, kind)
            assert ("Make this window" in "\n".join(lines)) is (width < 80), (name, kind)

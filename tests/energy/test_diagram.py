"""The diagram of the energy states in DEVELOPERS.md is drawn from the table of crossings."""

from pathlib import Path

from commission.energy import CROSSINGS

_DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


def drawn() -> str:
    """Each state with the states that can be reached from it, and how many stages of evidence that takes."""
    ways: dict[str, list[str]] = {}
    for way in CROSSINGS:
        ways.setdefault(way.source, []).append(f"{way.target} ({len(way.stages)})")
    return "\n".join(f"{source:<13}-> {', '.join(targets)}" for source, targets in ways.items())


def test_the_diagram_shows_the_table() -> None:
    """Whoever changes a crossing changes the page too."""
    assert drawn() in _DEVELOPERS.read_text(encoding="utf-8"), f"paste this into DEVELOPERS.md:\n{drawn()}"

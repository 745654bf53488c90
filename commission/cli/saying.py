"""Sentences for people, in lines that fit a terminal of 80 columns."""

import sys
import textwrap

from commission.cli import output
from commission.face.wording import WIDTH


def say(text: str, indent: str = "") -> None:
    """A sentence for people, in lines that fit."""
    output.say("\n".join(textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent)))


def clear_screen() -> None:
    """Take what stands on a terminal out of sight; nothing where the words go elsewhere."""
    if sys.stderr.isatty():
        output.say("\x1b[H\x1b[J")

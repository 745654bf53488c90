"""
Keeps the collector of unused objects out of a motion's way.

Its longest round looks through all that the program has loaded, which takes 50 ms: five readings of a quick line.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def short_pauses() -> Iterator[None]:
    """Inside, only what was made inside is looked through; nothing is left uncollected for good."""
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()

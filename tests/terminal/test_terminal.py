"""What holds for the whole app: how often it may paint."""

import os
import subprocess
import sys


def test_a_key_does_not_wait_for_the_librarys_next_frame() -> None:
    """The app sets how often the library may paint before that is loaded; what somebody set for themselves holds."""
    said = "import commission.terminal.app, textual.screen; print(round(1 / textual.screen.UPDATE_PERIOD))"
    own = {name: value for name, value in os.environ.items() if name != "TEXTUAL_FPS"}
    for environment, frames in ((own, 250), ({**own, "TEXTUAL_FPS": "30"}, 30)):
        done = subprocess.run([sys.executable, "-c", said], env=environment, check=True, capture_output=True, text=True)
        assert int(done.stdout) == frames

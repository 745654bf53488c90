"""
The keyboard app: a whole visit by keys at 80 × 24, over the same `Visit` and the same walk as the command line.

`app` owns the screens and takes the stop key before any of them sees it; `desk` is what the app may do without knowing
how (jobs, practice units, the open visit); `speaker` lets the shared conversation of the walk ask through the walk
screen. `frame` is what every screen has in common: the state line above, the key line and the stop field below. A
screen is one file in `screens`; what several screens use is in `widgets`. Screens read the latest sample; nothing
passes through them, and none of them owns a motion.
"""

import os

os.environ.setdefault("TEXTUAL_FPS", "250")
"""Read by the library as it is loaded: at its own 60 a key right after a redraw is painted up to 33 ms later."""

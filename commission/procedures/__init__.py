"""
What to command and what to watch: one generator a test (`full_stroke`), in the requests of `requests`.

No input or output, no clock but the samples' own. `supervise` performs them; `verify` replays them from the record.
"""

"""
From samples to figures with uncertainty, and from figures to verdicts. Pure functions, SI units, no input or output.

`timing` times a stroke, `decision` is the only place that says pass. `wiring` names what forcing a point came to,
`wiring_map` which other reading of the registers makes sense where the sheet's does not.
"""

"""
What the sheet says must come out: expected figures, before anybody has measured anything.

Three sorts of module. *Formulas* take SI numbers and know no sheet: `cylinder`, `mechanism`, `pump`, `outflow`,
`accumulator`, `nitrogen`, `trapped_oil`, `viscosity`, `heating`, `wiring`, `supply`, `battery`, `surge`,
`reliability`, `due`. *The unit* puts them together for one sheet: `drive` (forces, torques, margins over travel),
`moving` (strokes by pump and by spring), `stored` (what the accumulator holds and still does). *Topics* turn a sheet
into `Expected` values, each with its origin, and say what the sheet lacks: `topics` gathers them for `commission
expected`, the walk, the result screen and the report.

Pressures are gauge unless a name says absolute; gas formulas take absolute pressure and kelvin. Travel is a fraction,
0 closed and 1 open. Integrals are Simpson sums over a fixed number of steps, so that a figure recomputes to the last
digit. The practice unit shares none of this: it solves the same physics in its own way, and that the two agree is a
test.
"""

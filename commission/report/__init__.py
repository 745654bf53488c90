"""
The as-left report of a job, from the folded job alone.

`contents` puts every text and number of the report into one value, `Contents`, so that PDF (`pdf`), plain text (`text`)
and screens say the same; `export` writes the same figures as JSON and CSV. Under it:

    display     the only place that turns SI into what is printed, digit by digit as it was judged
    trace       a stroke over time, handed in by the caller; the database is never opened here
    strokes     runs by direction: limits beside value and uncertainty, what timed it, who commanded it
    spans       4–20 mA loops: as found beside as left, point by point; with the plot of their errors (`span_plot`)
    wiring      what the wiring proof saw of each point, and point-to-point with both times
    figures     figures that no limit applies to, all or those for a page
    outcome     the statement at the head: accepted or not, why, and what was not tested
    readings    answers that were judged: beside their limits, or in words
    sections    people, permits, energy, temporary list, clocks, instruments, adjustments
    plot        travel and pressure against time as SVG
    head        the record's head digest as a short code
    glyphs      text made safe for the fonts in the program: a strange character is shown, never a stopped report
"""

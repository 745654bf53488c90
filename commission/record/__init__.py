"""
The job file: a list of events and the chunks of samples they name, and nothing else.

`file` opens and creates it, `writer` appends to it from one thread, `chain` links and checks it, `chunks` packs
samples, `upcasts` brings old events up to date. What events mean is `job`'s business.
"""

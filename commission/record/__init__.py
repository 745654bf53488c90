"""
The job file: a list of events and the chunks of samples they name, and nothing else.

    append -> Recorder (writer) -> queue -> Committer, on the writer thread -> one SQLite file (file, lock)
    Reader <- events (event, body, upcasts) and chunks of samples (chunks)
    check_chain (chain) proves each link; salvage saves what is intact, from raw pages if need be (pages)

What can be wrong with a record is drawn in `errors`. What events mean is `job`'s business.
"""

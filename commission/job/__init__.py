"""
Where the visit stands: one small fold a file over the events of the record.

`bodies` names every kind of event and its facts; `state` puts the folds together into a `Job`. Nothing here reads a
clock, a file or the wire: the same events give the same job, today and in two years.
"""

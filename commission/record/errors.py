"""
What can be wrong with a record, as sentences for a person.

    RecordError
    ├── RecordMissing       there is no such file
    ├── NotARecord          the file is something else
    ├── RecordTooNew        a newer program made it
    ├── RecordHeld          another program is writing to it
    ├── RecordDamaged       it is a record, and part of it cannot be read
    └── RecordNotWritten    the disk did not take what was to be recorded
"""


class RecordError(Exception):
    """Something about the record that a person must be told; the message is the sentence."""


class RecordMissing(RecordError):
    """There is no such file, or it may not be read."""


class NotARecord(RecordError):
    """The file exists and is not a record of this program."""


class RecordTooNew(RecordError):
    """The record was made by a program that writes a later layout."""


class RecordHeld(RecordError):
    """Another program is writing to the record."""


class RecordDamaged(RecordError):
    """The record is there and part of it cannot be read; the message says what is known."""


class RecordNotWritten(RecordError):
    """The disk did not take what was to be recorded; nothing of it may be shown as stored."""

"""The shop's mold log: how many castings each mold has given, and how it ended."""

from moldkit.mold_log.choose import PairRecords, chosen, records_for
from moldkit.mold_log.file import LogReading, add_record, change_record, log_reading, read_log, remove_record
from moldkit.mold_log.record import LogWords, MoldRecord, log_words, next_name
from moldkit.mold_log.rows import why_closed

__all__ = [
    "LogReading",
    "LogWords",
    "MoldRecord",
    "PairRecords",
    "add_record",
    "change_record",
    "chosen",
    "log_reading",
    "log_words",
    "next_name",
    "read_log",
    "records_for",
    "remove_record",
    "why_closed",
]

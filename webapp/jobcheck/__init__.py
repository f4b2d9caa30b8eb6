"""Every fault of a job file, each with its place: what ``fallbook check`` tells.

``job_file.check`` stops at the first thing that it cannot take; here all are found, and with them what can be
taken and yet is not sound: a reading of a run that is not there, a job without a title, a photo that is lost.

faults.py    one fault: code, place, record, sentence
form.py      the form of the file, of its records and photos
journal.py   the entries, and whether they make the records
relations.py what the records say of one another
pictures.py  the photos: listed, there, whole
places.py    JSON pointers to lines
"""

from .check import check_job, check_text, unsound_records
from .faults import Fault

__all__ = ["Fault", "check_job", "check_text", "unsound_records"]

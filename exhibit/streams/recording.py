"""Everything about recordings that other packages need, in one place."""

from exhibit.streams.finding import find_seq, find_time
from exhibit.streams.line_chain import START, Damaged, Position
from exhibit.streams.recording_files import RecordingFile, RecordingFolder, digests
from exhibit.streams.recording_follower import RecordingFollower, follow_from
from exhibit.streams.recording_lock import WriterState, writer_state
from exhibit.streams.recording_reader import SUFFIX, Recording, read, read_all, read_opened
from exhibit.streams.recording_writer import NextFile, RecordingWriter
from exhibit.streams.tail import Tail
from exhibit.streams.use_of_recordings import day_of_recordings, use_of, use_of_recordings

__all__ = [
    "START",
    "SUFFIX",
    "Damaged",
    "NextFile",
    "Position",
    "Recording",
    "RecordingFile",
    "RecordingFolder",
    "RecordingFollower",
    "RecordingWriter",
    "Tail",
    "WriterState",
    "day_of_recordings",
    "digests",
    "find_seq",
    "find_time",
    "follow_from",
    "read",
    "read_all",
    "read_opened",
    "use_of",
    "use_of_recordings",
    "writer_state",
]

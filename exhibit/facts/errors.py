"""The errors that a person may meet.

    ExhibitError
    ├── ScriptError       something in a file that we wrote is wrong
    ├── LineFault         the wire between us and the machine
    ├── RecordingFault    a recording can't be read, or can't be written
    └── SetUpFault        this computer lacks something, or a choice on the command line can't be

Each carries three sentences: what happened, why it matters, and what to do next. Nothing else
may reach a person's screen: the command line prints the three and ends with exit status 2.
"""


class ExhibitError(Exception):
    """What happened, why it matters, what to do: three plain sentences."""

    def __init__(self, what: str, why: str, do: str) -> None:
        super().__init__(what, why, do)
        self.what = what
        self.why = why
        self.do = do

    def __str__(self) -> str:
        return f"{self.what} {self.why} {self.do}"


class ScriptError(ExhibitError):
    """A file that we wrote is wrong."""


class LineFault(ExhibitError):
    """The wire between this computer and the machine failed, or can't be opened."""


class RecordingFault(ExhibitError):
    """A recording can't be read, or can't be written."""


class SetUpFault(ExhibitError):
    """This computer lacks something, or a choice made on the command line can't be."""

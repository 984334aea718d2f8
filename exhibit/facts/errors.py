"""The errors that a person can meet.

    ExhibitError
    ├── ScriptError       something in a machine's folder is wrong
    ├── LineFault         the line to the machine failed, or can't be opened
    ├── RecordingFault    a recording can't be read or written
    └── SetUpFault        this computer lacks something, or an option on the command line can't be used

Each has three sentences: what happened, why it matters, and what to do next. No other error may
reach a person's screen: the command line prints the three and ends with exit status 2.
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
    """Something in a machine's folder is wrong."""


class LineFault(ExhibitError):
    """The line between this computer and the machine failed, or can't be opened."""


class RecordingFault(ExhibitError):
    """A recording can't be read or written."""


class SetUpFault(ExhibitError):
    """This computer lacks something, or an option on the command line can't be used."""


def not_installed(library: str, why: str, extra: str) -> SetUpFault:
    """What to say where a library isn't installed that comes only with this extra of pyproject.toml."""
    return SetUpFault(
        f"{library} isn't installed.",
        why,
        "Install exhibit again as you did before, in its folder, but with this extra: "
        f".venv/bin/pip install '.[{extra}]'",
    )

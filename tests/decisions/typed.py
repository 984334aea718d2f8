"""The keying at work without a machine: what it orders is carried out, and the test prints."""

from __future__ import annotations

from exhibit.decisions.commands import Arm, Drop, Tell, Type
from exhibit.decisions.console.flow import Flow
from exhibit.decisions.console.keying import DEADLINE, Keying
from exhibit.decisions.console.outcomes import Failed, TypingEnd
from exhibit.decisions.display.wire import Wire
from exhibit.facts.display import Display
from exhibit.facts.kinds import TypingHeld, TypingLetGo
from tests.decisions.heron import SETTLE_US, machine

BY = "script round"
XOFF, XON = b"\x13", b"\x11"


class Typed:
    """A keying whose orders are carried out; `sent` is what went out, a secret's characters as *.

    `typing` is what is different about how the Heron takes what is typed, `display` about its console.
    """

    def __init__(self, display=None, **typing):
        display = Display(**display or {})
        described = machine(typing=typing, display=display)
        self.flow = Flow(described)
        self.keying = Keying(described, SETTLE_US, self.flow)
        self.sent = b""
        self.told = []
        self.end = None
        """How the typing of the command ended that was begun last."""
        self.due_us = None
        self.now_us = 0
        self._wire = Wire("drop", flow_control=True)

    def line_lost(self):
        self.flow.forget()
        self._carry_out(self.keying.rest())

    @property
    def state(self):
        """How the typing ended or, while it goes on, its phase."""
        match self.end:
            case TypingEnd():
                return self.end.name.lower()
            case Failed():
                return "failed"
        return vars(self.keying)["_phase"]

    @property
    def why(self):
        """Why the typing failed."""
        assert isinstance(self.end, Failed)
        return self.end.why

    def _follow(self, keyed):
        self.end = keyed.end or self.end
        self._carry_out(keyed.commands)

    def _carry_out(self, commands):
        for command in commands:
            match command:
                case Type(data=data, by=by, secret=secret):
                    assert by == BY
                    self.sent += b"*" * len(data) if secret else data
                case Arm(name=name, due_us=due_us):
                    assert name == DEADLINE
                    self.due_us = due_us
                case Drop(name=name):
                    self.due_us = None if name == DEADLINE else self.due_us
                case Tell(fact=TypingHeld() | TypingLetGo()):
                    pass
                case Tell(fact=fact):
                    self.told.append(fact)

    def begin(self, command, *, secret=False, prompt="READY: "):
        self.end = None
        self._follow(self.keying.begin(command, self.now_us, by=BY, secret=secret, prompt=prompt))
        return self

    def again(self):
        self.end = None
        self._carry_out(self.keying.again(self.now_us))

    def press(self, key):
        self._carry_out(self.keying.press(key, BY))

    def prints(self, data: bytes):
        for item in self._wire.feed(data):
            self._follow(self.keying.take(item, self.now_us))

    def withheld(self):
        self._follow(self.keying.withheld())

    def give_up(self):
        self.end = None
        self._carry_out(self.keying.give_up())

    def overdue(self):
        """The deadline passes, which must be armed."""
        assert self.due_us is not None
        self.now_us, self.due_us = self.due_us, None
        self._follow(self.keying.overdue(self.now_us))

    def echoes(self, text: bytes):
        for byte in text:
            self.prints(bytes((byte,)))

    def whole(self, command="go"):
        """Up to the RETURN, which has just gone out."""
        self.begin(command)
        self.echoes(command.upper().encode())
        self.overdue()
        assert self.state == "awaiting new line"
        return self

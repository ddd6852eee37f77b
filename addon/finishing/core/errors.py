"""Named errors of the computation; each carries one clear message that can be shown to the user in any language."""

from __future__ import annotations

from .message import Message


class FinishingError(ValueError):
    """Base of all errors that a user can mend: the message says what is wrong and what to do. `str` gives it in English.

    template, values: as those of a Message. A value may be the error that this one is raised from, and stands for its words.
    """

    def __init__(self, template: str, /, **values: object) -> None:
        self.message = Message(template, **{name: _words(value) for name, value in values.items()})
        super().__init__(str(self.message))


def _words(value: object) -> object:
    """What a value of an error is shown as."""
    if isinstance(value, FinishingError):
        return value.message
    return str(value) if isinstance(value, BaseException) else value


class BadBody(FinishingError):
    """The body cannot be planned: empty, not finite, flat, or of an implausible size."""


class BadRequest(FinishingError):
    """A setting is out of its range or contradicts another one."""


class BadFile(FinishingError):
    """A file or folder cannot be read or written, or does not hold what it should."""


class SeveralObjects(BadFile):
    """The file holds several bodies and none was named. names: what they are called, in the file's order."""

    def __init__(self, template: str, /, *, object_names: tuple[str, ...], **values: object) -> None:
        super().__init__(template, **values)
        self.names = object_names


class NothingToPlan(FinishingError):
    """No ground is left to plan: everything is skipped, walled off or out of reach."""


class TooLarge(FinishingError):
    """The grid that was asked for would not fit into the memory limit."""

"""Named errors of the computation; each carries one clear sentence that can be shown to the user as it is."""

from __future__ import annotations


class FinishingError(ValueError):
    """Base of all errors that a user can mend: the message says what is wrong and what to do."""


class BadBody(FinishingError):
    """The body cannot be planned: empty, not finite, flat, or of an implausible size."""


class BadRequest(FinishingError):
    """A setting is out of its range or contradicts another one."""


class BadFile(FinishingError):
    """A file or folder cannot be read or written, or does not hold what it should."""


class NothingToPlan(FinishingError):
    """No ground is left to plan: everything is skipped, walled off or out of reach."""


class TooLarge(FinishingError):
    """The grid that was asked for would not fit into the memory limit."""

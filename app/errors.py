"""Errors that a person may cause or meet, each with the status of its answer.

    AppError
      InvalidInput    a form holds values that cannot be used (422)
      OutOfDate       what was shown has changed since; look again (409)
      NotFound        nothing there, or not for this account (404)
      NotSignedIn     sign in first (401; pages lead to the sign-in form)
      WrongSignIn     address or password do not fit (401)
      Refused         the form did not come from our own page (403)
      Throttled       too many attempts (429)

The texts are plain sentences for people. They never carry internals.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from planner.errors import Fault, InvalidHousehold, InvalidValue, PlannerError


class AppError(Exception):
    """Base of every expected error."""

    status = 400
    title = "This did not work"
    message = "Nothing was changed. Go back and try again."

    def __init__(self, message: str | None = None) -> None:
        self.message = message or self.message
        super().__init__(self.message)


class InvalidInput(AppError):
    """Values that cannot be used. Nothing was saved.

    Attributes:
        faults: one per value, in the order of the form; `place` is empty or e.g. `bottles[1]`.
    """

    status = 422
    title = "Please check what you entered"

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(fault.sentence for fault in self.faults))


class OutOfDate(AppError):
    """What the person saw is no longer the case."""

    status = 409
    title = "Something changed in the meantime"
    message = "The record changed after this page was shown. Nothing was saved. Look again."


class NotFound(AppError):
    """Nothing there, or not for this account; the two are not told apart."""

    status = 404
    title = "Page not found"
    message = "There is nothing here for you to see. Check the address or go to the start page."


class NotSignedIn(AppError):
    """Nobody is signed in."""

    status = 401
    title = "Please sign in"
    message = "Sign in to see this page."


class WrongSignIn(AppError):
    """Address or password do not fit; which of the two is not said."""

    status = 401
    title = "Please try again"
    message = "The e-mail address or the password is not right. Check both and try again."


class Refused(AppError):
    """The request did not come from one of our own pages, or its page is too old."""

    status = 403
    title = "Please send the form again"
    message = "This form is too old or came from elsewhere. Open the page again and send it anew."


class Throttled(AppError):
    """Too many failed attempts."""

    status = 429
    title = "Please wait a little"
    message = "There were too many attempts. Wait 15 minutes and try again."


@contextmanager
def as_input() -> Iterator[None]:
    """Values of the planner that are made from a form: what they refuse is its input.

    Raises:
        InvalidInput: when the planner refuses a value.
    """
    try:
        yield
    except PlannerError as error:
        raise InvalidInput(faults_of(error)) from error


def faults_of(error: PlannerError, *, drop_places: Iterable[str] = ()) -> tuple[Fault, ...]:
    """The faults of a planner error as a form sees them.

    Args:
        error: what the planner refused.
        drop_places: leading names of lists, such as `sessions`, of which the form shows one
            entry only; `sessions[7].bottles[1]` becomes `bottles[1]`.
    """
    if isinstance(error, InvalidHousehold):
        return tuple(_without_lead(fault, tuple(drop_places)) for fault in error.faults)
    if isinstance(error, InvalidValue):
        return (error.fault,)
    return (Fault(field="record", value="not usable", fix=str(error)),)


def _without_lead(fault: Fault, names: tuple[str, ...]) -> Fault:
    lead, _, rest = fault.place.partition(".")
    return replace(fault, place=rest) if lead.startswith(names) else fault

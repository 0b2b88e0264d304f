"""Work that the server repeats in a thread of its own until it is stopped."""

from __future__ import annotations

import logging
from abc import ABC, abstractmethod
from threading import Event, Thread

from sqlalchemy.exc import SQLAlchemyError


class Rounds(ABC):
    """One thread that does a round of work, waits, and does it again.

    Attributes:
        log: where a round that failed is noted, by the kind of failure only.
        trouble: what did not happen then, e.g. "reminders could not be sent".
    """

    log: logging.Logger
    trouble: str

    def __init__(self, *, every_seconds: float) -> None:
        self._every_seconds = every_seconds
        self._stopped = Event()
        self._thread = Thread(target=self._run, name=type(self).__name__.lower(), daemon=True)

    def start(self) -> None:
        """Begin; the first round starts at once."""
        self._thread.start()

    def stop(self) -> None:
        """End after the work at hand."""
        self._stopped.set()
        self._thread.join()

    def pause(self, seconds: float) -> bool:
        """Leave room for others; True when it is time to end."""
        return self._stopped.wait(seconds)

    @abstractmethod
    def one_round(self) -> None:
        """Do what is due now."""

    def _run(self) -> None:
        while not self._stopped.is_set():
            try:
                self.one_round()
            except SQLAlchemyError as error:
                self.log.warning("%s: %s", self.trouble, type(error).__name__)
            self._stopped.wait(self._every_seconds)

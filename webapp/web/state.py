"""What one running server holds besides its database: the folder, its lock, photos, packs."""

from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from flask import Flask, current_app

from ..office.kept import Kept
from ..sync.looking import Looking
from ..sync.photos import Photos
from ..sync.summaries import Summaries
from .packing import Packing


@dataclass
class State:
    """The parts that live as long as the application."""

    folder: Path
    lock: IO[bytes] | None
    photos: Photos
    summaries: Summaries
    packing: Packing
    looking: Looking
    office: Kept
    on_close: ExitStack = field(default_factory=ExitStack)  # what ends with the application

    def close(self) -> None:
        """Stop the background work and give the folder free."""
        self.looking.close()
        self.office.close()
        self.packing.close()
        if self.lock:
            self.lock.close()
        self.on_close.close()


def state_of(app: Flask) -> State:
    """Return the state of an application."""
    found: State = app.extensions["fallbook"]
    return found


def state() -> State:
    """Return the state of the application that serves this request."""
    return state_of(current_app)

"""Why an address cannot be listened at."""

import errno
import os

from ..errors import AppError


def not_listening(error: OSError | OverflowError, host: str, port: int) -> AppError:
    """Return the error for an address that is taken, or that this machine cannot have."""
    number = error.errno if isinstance(error, OSError) else None
    taken = number == errno.EADDRINUSE or (os.name == "nt" and number == errno.EACCES)
    return AppError("address_taken" if taken else "address_unusable", f"({host}:{port}: {error})")

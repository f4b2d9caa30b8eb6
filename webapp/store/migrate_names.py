"""Which revisions of the database this version knows, by the names of the files: no library is loaded."""

from pathlib import Path

VERSIONS = Path(__file__).resolve().parent / "migrations" / "versions"


def is_known(revision: str) -> bool:
    """Say whether this version can read a database of this revision."""
    return any(path.name.startswith(f"{revision}_") for path in VERSIONS.glob("*.py"))

"""Where ``fallbook serve`` and ``fallbook demo`` listen."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Where:
    """Where the server listens."""

    host: str | None
    port: int
    quiet: bool
    lan: bool
    name: str | None
    lan_port: int
    setup_port: int
    is_demo: bool = False

    @property
    def command(self) -> str:
        """Return the command that was given."""
        return "fallbook demo" if self.is_demo else "fallbook serve"

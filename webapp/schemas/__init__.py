"""One marshmallow schema per kind of record, and what is derived from them."""

from .describe import describe, describe_all, described
from .entry import KINDS, check_entry, envelope_faults, schema_for

__all__ = ["KINDS", "check_entry", "describe", "describe_all", "described", "envelope_faults", "schema_for"]

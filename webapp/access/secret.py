"""Secrets are 256 random bits; what is stored is their SHA-256, which needs no salt at that length."""

import hashlib
import re

SECRET = re.compile(r"[A-Za-z0-9_-]{43}")


def hash_of(secret: str) -> str:
    """Return what is stored of a secret."""
    return hashlib.sha256(secret.encode()).hexdigest()


def is_secret(text: object) -> bool:
    """Say whether a text can be one of our secrets at all."""
    return isinstance(text, str) and SECRET.fullmatch(text) is not None

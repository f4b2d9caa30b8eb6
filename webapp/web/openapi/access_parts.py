"""What the descriptions of joining and of letting in have in common."""

from ...access.granting import MAX_NAME
from ...access.terms import INVITED_ROLES, SCRIPT_ROLES
from .parts import UUID, Schema

DEVICE_ID = "0197a1b2-0000-7000-8000-00000000000d"
CODE, AT, LATER = "x" * 43, "2026-11-25T11:02:40.001+00:00", "2026-12-25T11:02:40.001+00:00"
NAME: Schema = {"type": "string", "maxLength": MAX_NAME}
ROLE: Schema = {"enum": list(INVITED_ROLES)}
ANY_ROLE: Schema = {"enum": list(SCRIPT_ROLES)}
JOBS: Schema = {"type": ["array", "null"], "items": UUID, "description": "null: all jobs."}

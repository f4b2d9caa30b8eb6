"""The roles, and how long what lets somebody in holds: for the checks and for the help of the commands."""

from dataclasses import dataclass

SURVEYOR, OFFICE, READER = "surveyor", "office", "reader"
CLIENT, NOBODY = "client", "none"  # who opened a client's link; who showed nothing that is good


@dataclass(frozen=True)
class Role:
    """How a role is given, and whether it may be limited to one job.  What it may do: permissions.py."""

    by_invitation: bool
    one_job: bool


# To those with a credential (scripts) all of them are given.
ROLES = {
    READER: Role(by_invitation=False, one_job=True),
    SURVEYOR: Role(by_invitation=True, one_job=True),
    OFFICE: Role(by_invitation=True, one_job=False),
}
INVITED_ROLES = tuple(name for name, role in ROLES.items() if role.by_invitation)
SCRIPT_ROLES = tuple(ROLES)
INVITATION_HOURS = 24
LINK_DAYS = 30
CREDENTIAL_DAYS = 90

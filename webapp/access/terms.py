"""How long what lets somebody in holds, and as what: for the checks and for the help of the commands."""

ROLES = ("surveyor", "office")
INVITATION_HOURS = 24
LINK_DAYS = 30
SCRIPT_ROLES = ("reader", "surveyor", "office")
CREDENTIAL_DAYS = 90

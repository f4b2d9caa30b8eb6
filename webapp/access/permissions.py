"""Whom each address is for.  One row for each endpoint; an endpoint without a row is for nobody.

ANYBODY   no credential: the app itself, which holds no survey data, and the ways in
SOMEBODY  everybody with a credential that is good
JOB       surveyor, office, a client, and a script that only reads; where the address names a job, it must
          be one of theirs
FIELD     surveyor and office
OFFICE    office only
"""

from . import terms

JOB = frozenset({terms.CLIENT, terms.READER, terms.SURVEYOR, terms.OFFICE})
SOMEBODY = JOB
ANYBODY = SOMEBODY | {terms.NOBODY}
FIELD = frozenset({terms.SURVEYOR, terms.OFFICE})
OFFICE = frozenset({terms.OFFICE})

RULES: dict[str, frozenset[str]] = {
    "static": ANYBODY,
    "shell.home": ANYBODY,
    "shell.classic_worker": ANYBODY,
    "shell.module_worker": ANYBODY,
    "shell.web_manifest": ANYBODY,
    "shell.fields": ANYBODY,
    "shell.handbook": ANYBODY,
    "shell.table": ANYBODY,
    "shell.favicon": ANYBODY,
    "health.health": ANYBODY,
    "health.openapi": ANYBODY,
    "joining.me": ANYBODY,
    "joining.sign_out": OFFICE,
    "joining.look": ANYBODY,
    "joining.join": ANYBODY,
    "joining.open_client_link": ANYBODY,
    "joining.client_page": ANYBODY,
    "jobs.jobs": JOB,
    "jobs.job": JOB,
    "jobs.proof": FIELD,
    "office.job": JOB,
    "media.photo": JOB,
    "packs.make": JOB,
    "packs.watch": JOB,
    "packs.fetch": JOB,
    "sync.sync": FIELD,
    "photos.offset": FIELD,
    "photos.piece": FIELD,
    "photos.together": FIELD,
    "declination.find": FIELD,
    "office.home": OFFICE,
    "imports.take": OFFICE,
    "letting_in.phones": OFFICE,
    "letting_in.audit_page": OFFICE,
    "letting_in.invite": OFFICE,
    "letting_in.devices": OFFICE,
    "letting_in.revoke": OFFICE,
    "letting_in.client_links": OFFICE,
    "letting_in.make_client_link": OFFICE,
    "letting_in.revoke_client_link": OFFICE,
    "letting_in.accept_beside": OFFICE,
    "letting_in.audit": OFFICE,
    "erasing.preview": OFFICE,
    "erasing.erase": OFFICE,
    "erasing.erasures": OFFICE,
    "erasing.undo": OFFICE,
    "erasing.expunge": OFFICE,
    "erasing.list_page": OFFICE,
    "erasing.erase_page": OFFICE,
}


def rights_of(role: str) -> frozenset[str]:
    """Return the endpoints that are for a role."""
    return frozenset(endpoint for endpoint, allowed in RULES.items() if role in allowed)

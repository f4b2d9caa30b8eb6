"""Every command in one table.  A command's module is loaded when that command is called or asked for help.

A row names the words after ``fallbook``, where the command is (``module:attribute`` in this folder), and the
line that ``fallbook --help`` shows.  Two words make a group: ``link add`` is ``add`` in the group ``link``.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One command: its words, where it is, one line on what it does."""

    words: str
    target: str
    summary: str


@dataclass(frozen=True)
class Section:
    """The commands under one heading of the help."""

    heading: str
    rows: tuple[Row, ...]


SECTIONS = (
    Section(
        "Serve",
        (
            Row("demo", "server:demo", "Serve the sample jobs, from a folder of their own."),
            Row("serve", "server:serve", "Start the server on your data folder."),
            Row("recipe", "recipe:recipe", "Print a file for a hosted server."),
        ),
    ),
    Section(
        "Jobs",
        (
            Row("jobs", "jobs:jobs", "List the jobs in the data folder."),
            Row("export", "export:export", "Write a job as a job file, or with its photos as one file."),
            Row("import", "imports:take", "Take jobs into the data folder."),
            Row(
                "readings import",
                "import_readings:import_readings",
                "Take a CSV file of readings into a run.",
            ),
            Row("check", "check:check", "Check a job: all its faults, each with its place."),
            Row("pack", "packs:pack", "Make a job pack."),
            Row("verify", "packs:verify", "Prove that a job pack is whole."),
            Row("figures", "figures:figures", "Print every computed figure of a job."),
        ),
    ),
    Section(
        "Who may come in",
        (
            Row("invite", "access:invite", "Print an invitation that lets one phone in, once."),
            Row("device list", "access:devices", "List the phones and browsers that were let in."),
            Row("device end", "access:revoke", "End the access of a phone or browser."),
            Row("link add", "access:add_link", "Print a link by which a client reads one job."),
            Row("link list", "access:links", "List clients' links."),
            Row("link end", "access:end_link", "End a client's link."),
            Row("credential add", "credentials:add", "Print a new credential for a script."),
            Row("credential list", "credentials:list_", "List the credentials of scripts."),
            Row("credential end", "credentials:end", "End a credential of a script."),
            Row("certificate show", "certificates:show", "Show the certificates of serve --lan."),
            Row("certificate renew", "certificates:renew", "Renew the authority that phones trust."),
            Row("audit", "access:audit", "Print who did what and when."),
            Row("erase", "erase:erase", "Take something away from everybody, or put it back."),
        ),
    ),
    Section(
        "The data folder",
        (
            Row("check-data", "check_data:check_data", "Check the database, every entry and every photo."),
            Row("clean", "clean:clean", "Clear away what is older than it is to be kept."),
            Row("backup", "backups:make_backup", "Write a backup of everything; the server may go on."),
            Row(
                "restore", "backups:restore_backup", "Put a backup into a data folder that holds nothing yet."
            ),
            Row("salvage", "salvage:salvage_folder", "Bring out of a damaged data folder what can be read."),
            Row("migrate", "backups:migrate", "Move to another database or store of photos."),
        ),
    ),
    Section(
        "Tables, samples, proofs",
        (
            Row("codes", "codes:observation_codes", "List the observation codes, or check a client's own."),
            Row(
                "grading-limits",
                "grading_limits:grading_limits",
                "Print the limits of classes, or check a firm's own.",
            ),
            Row("sample list", "samples:list_", "List the sample jobs."),
            Row("sample show", "samples:show", "Say what a sample job holds."),
            Row("sample copy", "samples:copy", "Write a sample job out with its photos."),
            Row("schema", "schema:schema", "Print the JSON Schema of the job file."),
            Row("selfcheck", "selfcheck:selfcheck", "Compute published reference values and compare."),
        ),
    ),
)

# What a group is about, for its own help.
GROUPS = {
    "certificate": "What phones trust with `serve --lan`: an authority, and this machine's own certificate.",
    "credential": (
        "Credentials of scripts.  A script shows its credential as `Authorization: Bearer ...` with every "
        "request, over HTTPS or on the server's own machine."
    ),
    "device": "Phones and browsers that were let in.",
    "link": "Clients' links: each lets a client read one job until a day.",
    "readings": "Readings of other instruments.",
    "sample": "Sample jobs that come with Fallbook, all of them invented.",
}

# Names of earlier versions.  They work as before and are not listed; the summary names the new one.
OLD_NAMES = (
    Row("devices", "access:devices", "fallbook device list"),
    Row("revoke", "access:revoke", "fallbook device end"),
    Row("client-link", "access:add_link", "fallbook link add"),
    Row("client-links", "access:client_links", "fallbook link list"),
    Row("import-readings", "import_readings:import_readings", "fallbook readings import"),
)

# Groups that were one command: what is none of the group's words is for that command.
EARLIER = {"sample": Row("NAME", "samples:earlier", "fallbook sample copy")}

ROWS = tuple(row for section in SECTIONS for row in section.rows)

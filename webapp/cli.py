"""The ``fallbook`` command.  Exit codes: 0 done, 1 what was checked is bad, 2 wrong call or input."""

import sys
from typing import Any

import click

from .commands import (
    access,
    backups,
    check_data,
    codes,
    credentials,
    figures,
    grading_limits,
    import_readings,
    imports,
    packs,
    recipe,
    samples,
    schema,
    selfcheck,
    server,
)
from .errors import AppError

# What was looked at is bad, rather than the way it was asked for.
BAD = {
    "pack_mismatch",
    "grading_limits_faulty",
    "codes_faulty",
    "written_unreadable",
    "data_damaged",
    "zip_damaged",
    "report_failed",
    "server_fault",
    "backup_incomplete",
}


class Commands(click.Group):
    """A group whose failures are one clear line with a stable code."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        try:
            return super().invoke(ctx)
        except AppError as error:
            where = f"{error.field}: " if error.field and error.code == "request_malformed" else ""
            click.echo(f"fallbook: {where}{error.sentence} [{error.code}]", err=True)
            sys.exit(1 if error.code in BAD else 2)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="fallbook", prog_name="fallbook")
def main() -> None:
    """Fallbook: the field book of a camera-crawler surveyor.

    \b
    Start here:
      fallbook demo     sample jobs in a folder of their own, and the server
      fallbook serve    the server on your own data folder

    Exit codes: 0 done, 1 what was checked is bad, 2 the call or its input is wrong.
    """


for _command in (
    server.serve,
    server.demo,
    access.invite,
    access.devices,
    access.revoke,
    access.client_link,
    access.client_links,
    access.audit,
    credentials.credential,
    recipe.recipe,
    packs.pack,
    packs.verify,
    imports.take,
    import_readings.import_readings,
    schema.schema,
    samples.sample,
    check_data.check_data,
    backups.backup,
    backups.restore,
    backups.migrate,
    selfcheck.selfcheck,
    figures.figures,
    grading_limits.grading_limits,
    codes.observation_codes,
):
    main.add_command(_command)


if __name__ == "__main__":
    main()

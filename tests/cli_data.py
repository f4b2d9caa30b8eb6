"""A data folder with the sample jobs in it, and a call of the command."""

import pytest
from click.testing import CliRunner

from webapp import paths
from webapp.cli import main
from webapp.store.job_list import ListedJob

SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
OTHER = paths.SAMPLE_JOBS / "tidal_creek_drain"
TITLE = "Foul drain of Tarnholt School, chambers FW1 to FW2"


def run(*words, code=0, stdin=None):
    done = CliRunner().invoke(main, [str(w) for w in words], input=stdin)
    assert done.exit_code == code, done.output
    assert "[unexpected]" not in done.stderr, done.stderr
    return done


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    folder = tmp_path_factory.mktemp("jobs") / "data"
    run("import", "--create", "--quiet", SAMPLE, OTHER, "--data", folder)
    return folder


def job_called(job_id, title="", reference="", removed=False):
    return ListedJob(job_id, job_id[:8], title, reference, "", removed, "", 1, 0)

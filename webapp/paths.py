"""Where the files beside the package are, in a checkout and in a wheel.

A checkout (plain or ``pip install -e``) keeps static/, templates/ and sample_jobs/
beside webapp/.  A wheel carries them inside webapp/ (see pyproject.toml).
"""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent
INSTALLED = (PACKAGE / "static").is_dir()
ROOT = PACKAGE if INSTALLED else PACKAGE.parent
STATIC, TEMPLATES, SAMPLE_JOBS = (ROOT / n for n in ("static", "templates", "sample_jobs"))
TABLES = PACKAGE / "tables"
for _folder in (STATIC, TEMPLATES, SAMPLE_JOBS, TABLES):
    if not _folder.is_dir():
        raise RuntimeError(f"{_folder} is missing: neither a checkout nor a whole wheel")

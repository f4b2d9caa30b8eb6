"""The figures of a run that a test makes up, with the tables as shipped."""

from webapp import tables
from webapp.figures.run_figures import TABLES, run_figures


def figures_of(run_id, run, job, records):
    """Return them; ``run`` and ``job`` are fields."""
    return run_figures({"id": run_id, "fields": run}, records, job, tables.by_name(*TABLES))

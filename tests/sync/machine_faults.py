"""Faults of phone or server that the machine of ``convergence.py`` has to find."""

import contextlib

PHONE_FAULTS = (
    "lasting_writer",
    "newest_wins",
    "sent_is_held",
    "erasures_not_brought",
    "full_is_taken",
    "put_away_unproved",
    "numbers_go_on_by_half",
)
SERVER_FAULTS = (
    "marks_not_told",
    "gaps_taken",
    "changes_forgotten",
    "stamps_without_names",
    "later_ones_too",
)
PLANTED = PHONE_FAULTS + SERVER_FAULTS


@contextlib.contextmanager
def planted_in_server(fault, monkeypatch):
    """Break the server in one of the ways it must not be broken."""
    if fault == "marks_not_told":
        from webapp.store import entry_rows

        careful_beyond = entry_rows.beyond

        def careless_beyond(*requested):
            for found in careful_beyond(*requested):
                yield found._replace(asides=(None,) * len(found.asides))

        monkeypatch.setattr(entry_rows, "beyond", careless_beyond)
    elif fault == "gaps_taken":
        from webapp.sync.apply import Taking

        careful = Taking.outcome_of

        def careless_fate(self, entry):
            key = (entry["job_id"], entry["writer"])
            if entry["number"] > self._heads[key] + 1:
                self._heads[key] = entry["number"] - 1
            return careful(self, entry)

        monkeypatch.setattr(Taking, "outcome_of", careless_fate)
    elif fault == "changes_forgotten":
        from webapp.store import change_rows

        careful_since = change_rows.since
        monkeypatch.setattr(
            change_rows, "since", lambda *asked: None if careful_since(*asked) is None else {}
        )
    elif fault == "stamps_without_names":
        from webapp.store import change_rows

        monkeypatch.setattr(change_rows.secrets, "token_hex", lambda size: "0" * 2 * size)
    elif fault == "later_ones_too":
        from webapp.records.erasure import Act

        monkeypatch.setattr(Act, "covers", lambda self, writer, number: writer in self.spans)
    yield

"""What the tests ask a server for they get whole: a slow machine saves more before a kill."""

from servers import entries

from webapp.timesource import new_id

A, B = "writer-aaaa", "writer-bbbb"


def test_more_entries_than_one_answer_holds_are_all_pulled(live_server):
    job_id = new_id()
    live_server.exchange(entries=entries(job_id, A, 1, 1210) + entries(job_id, B, 1, 1))
    held = [(one["writer"], one["number"]) for one in live_server.entries(job_id)]
    assert sorted(held) == [(A, n) for n in range(1, 1211)] + [(B, 1)]


def test_the_last_answer_may_be_exactly_full(live_server):
    job_id = new_id()
    live_server.exchange(entries=entries(job_id, A, 1, 6))
    for at_once in (1, 2, 3, 6, 7):
        assert [one["number"] for one in live_server.entries(job_id, at_once)] == [1, 2, 3, 4, 5, 6]

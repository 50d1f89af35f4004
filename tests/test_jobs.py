"""Jobs: found by key, one at a time, stopped kindly, errors told and logged."""

from __future__ import annotations

import threading

from optimiser import jobs


def test_a_job_brings_news_and_a_result():
    def work(report, stop):
        report(1)
        report(2)
        return "done"

    job = jobs.start("news", work, about="me")
    assert job.wait(5) and job.done
    assert (job.news, job.result, job.error, job.about) == ([1, 2], "done", None, "me")
    assert jobs.find("news") is job


def test_one_job_of_a_key_runs_at_a_time_and_another_follows_it():
    gate = threading.Event()

    def work(report, stop):
        return gate.wait(5)

    first = jobs.start("one", work)
    again = jobs.start("one", lambda report, stop: None)
    other = jobs.start("other", lambda report, stop: "free")
    assert again is first and other.wait(5) and other.result == "free"
    gate.set()
    assert first.wait(5)
    later = jobs.start("one", lambda report, stop: "later")
    assert later is not first and later.wait(5) and jobs.find("one") is later


def test_stop_is_asked_for_and_the_job_ends_with_what_it_has():
    job = jobs.start("stop", lambda report, stop: "best" if stop.wait(5) else "nothing")
    assert not job.stopping
    job.stop()
    assert job.stopping and job.wait(5) and job.result == "best"


def test_what_is_told_reaches_the_user_and_what_is_not_is_only_logged(caplog):
    def told(report, stop):
        raise jobs.Told("The oven is off.")

    def failed(report, stop):
        raise ValueError("secret detail")

    first, second = jobs.start("told", told), jobs.start("failed", failed)
    assert first.wait(5) and second.wait(5)
    assert first.error == "The oven is off."
    assert second.error == jobs.UNFORESEEN and second.result is None
    assert "secret detail" in caplog.text and "oven" not in caplog.text


def test_only_an_ended_job_is_forgotten():
    gate = threading.Event()
    job = jobs.start("forget", lambda report, stop: gate.wait(5))
    jobs.forget("forget")
    assert jobs.find("forget") is job
    gate.set()
    assert job.wait(5)
    jobs.forget("forget")
    assert jobs.find("forget") is None


def test_long_news_are_thinned_and_the_newest_stay():
    count = jobs.MOST_NEWS + 500

    def work(report, stop):
        for number in range(count):
            report(number)

    job = jobs.start("long", work)
    assert job.wait(5)
    assert len(job.news) <= jobs.MOST_NEWS and job.news[-1] == count - 1 and job.news[0] == 0
    assert job.news == sorted(job.news)

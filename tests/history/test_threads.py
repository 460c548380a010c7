"""Several threads and one history: saving, reading and rewriting at the same time."""

from concurrent.futures import ThreadPoolExecutor

from history_tools import ids_in, opened, reading

from rounds.history.check import check
from rounds.history.lookups import Span
from rounds.history.query import Equals


def test_threads_that_save_read_and_rewrite_at_once_lose_nothing(quick):
    with opened(quick / "history") as history:

        def save(name):
            saved = []
            for number in range(40):
                saved += [each.id for each in history.save(reading(minutes=number * 900, station=name))]
                assert history.latest(name, "ph").measured_at == history.records(station=name)[-1].measured_at
                if number % 10 == 0:
                    history.flush()
            return saved

        with ThreadPoolExecutor(4) as pool:
            ids = [id for some in pool.map(save, "abcd") for id in some]
        assert {each.id for each in history.records()} == set(ids)
        assert sorted(each.seq for each in history.records()) == list(range(1, 161))
    assert ids_in(quick / "history") == set(ids)
    assert check(quick / "history").sound


def test_a_long_search_leaves_room_for_a_save(quick):
    """While a search over years is half done, a save from another thread goes through."""
    with opened(quick / "history") as history:
        history.save(*(reading(minutes=number * 43_000) for number in range(24)))
        months = history._months(Span(None, None), Equals(item="ph"))
        next(months)
        with ThreadPoolExecutor(1) as pool:
            (saved,) = pool.submit(history.save, reading(station="south")).result(timeout=30)
        assert saved.station == "south"
        assert sum(map(len, months)) >= 22

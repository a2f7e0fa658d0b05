"""A process that walks often neither grows nor forgets; the long version is `python -m experiments.soak`."""

import pytest

from experiments import soak
from sim.activities.walk import walk


@pytest.mark.slow
def test_five_hundred_walks_in_one_process():
    done = soak.soak(500)
    assert done.same
    assert len(set(done.outcomes)) > 1
    # shorter than the 5,000 walks of the experiment, so one more page per walk is still noise
    assert done.bytes_per_walk - 3.0 * done.error_bytes_per_walk <= 4.0 * soak.MOST_GROWTH


def test_growth_and_forgetting_are_seen(monkeypatch):
    hoard, calls = [], []

    def leaky(scenario):
        hoard.append(b"1" * 8_000_000)  # more than earlier tests have left free
        calls.append(1)
        return walk(scenario)

    monkeypatch.setattr(soak, "walk", leaky)
    monkeypatch.setattr(soak, "SCENARIOS", soak.SCENARIOS[:1])
    done = soak.soak(20)
    assert done.walks == len(calls) == 20
    assert done.same
    assert done.bytes_per_walk > 1_000_000
    monkeypatch.setattr(soak, "fingerprint", lambda _scenario: ("walked", str(len(calls)).encode() + leak(calls)))
    assert not soak.soak(8).same


def leak(calls):
    calls.append(1)
    return b""

"""Each bench has a queue: the one that has cost least is next, and a noisy one waits outside."""

from ramphold.collector._bench_queues import BenchQueues, sender
from ramphold.publish.mqtt import MessageArrived


def message(bench, size=10, number=0):
    payload = bytes([number]) * size
    return MessageArrived(topic=f"ramphold/1/{bench}/record", payload=payload, ack=lambda: None)


def taken(queues):
    return [(sender(one.topic), one.payload[0]) for one in queues.take()]


def test_messages_of_quiet_benches_are_taken_in_turn_and_in_order():
    queues = BenchQueues()
    for number in range(3):
        queues.add(message("p1", number=number))
    queues.add(message("p2", number=9))
    assert taken(queues) == [("p1", 0), ("p2", 9), ("p1", 1), ("p1", 2)]
    assert not queues


def test_no_more_is_taken_at_a_time_than_200_messages_or_4_mib():
    queues = BenchQueues()
    for _ in range(300):
        queues.add(message("p1"))
    assert [len(queues.take()), len(queues.take())] == [200, 100]
    for _ in range(9):
        queues.add(message("p1", 1_000_000))
    assert [len(queues.take()) for _ in range(3)] == [4, 4, 1]


def test_a_message_of_any_size_is_taken():
    queues = BenchQueues()
    queues.add(message("p1", 9_000_000))
    assert len(queues.take()) == 1


def test_a_bench_that_has_cost_less_comes_first():
    queues = BenchQueues()
    for bench in ("p1", "p2"):
        queues.add(message(bench))
    for one, spent_s in zip(queues.take(), (2.0, 0.1), strict=True):
        queues.cost(one, spent_s, refused=False)
    for bench in ("p1", "p2"):
        queues.add(message(bench))
    assert taken(queues) == [("p2", 0), ("p1", 0)]


def test_a_noisy_bench_comes_alone_and_after_the_others_and_its_surplus_is_dropped():
    queues = BenchQueues()
    for number in range(100):
        assert queues.add(message("noise", number=number)) == []
    first = queues.take()[0]
    dropped = queues.cost(first, 3.0, refused=True)
    assert dropped == []  # what was taken with it waits no more
    for number in range(100):
        dropped += queues.add(message("noise", number=number))
    assert len(dropped) == 84
    queues.add(message("p1"))
    queues.add(message("p1"))
    assert [sender(one.topic) for one in queues.take()] == ["p1", "p1"]
    assert taken(queues) == [("noise", 0)]
    assert taken(queues) == [("noise", 1)]


def test_of_a_noisy_bench_2_mib_wait():
    queues = BenchQueues()
    queues.add(message("noise"))
    queues.cost(queues.take()[0], 0.1, refused=True)
    dropped = [len(queues.add(message("noise", 1_000_000))) for _ in range(5)]
    assert dropped == [0, 0, 1, 1, 1]


def test_a_bench_that_sends_much_and_is_good_loses_nothing():
    queues = BenchQueues()
    for _ in range(5):
        for _ in range(600):
            assert queues.add(message("p1", 1000)) == []
        while batch := queues.take():
            for one in batch:
                assert queues.cost(one, 0.001, refused=False) == []


def test_a_noisy_bench_is_believed_again_once_its_good_messages_outweigh():
    queues = BenchQueues()
    queues.add(message("p1"))
    queues.cost(queues.take()[0], 1.0, refused=True)
    for _ in range(12):
        queues.add(message("p1"))
        (one,) = queues.take()
        queues.cost(one, 0.1, refused=False)
    for _ in range(40):
        assert queues.add(message("p1")) == []
    assert len(queues.take()) == 40


def test_a_bench_that_was_quiet_has_saved_up_no_time():
    queues = BenchQueues()
    queues.add(message("busy"))
    queues.cost(queues.take()[0], 50.0, refused=False)
    queues.add(message("busy"))
    for _ in range(300):
        queues.add(message("new"))
    assert ("busy", 0) in taken(queues)


def test_what_is_given_back_comes_first_again_in_its_order():
    queues = BenchQueues()
    for number in range(4):
        queues.add(message("p1", number=number))
    batch = queues.take()
    queues.give_back(batch[2:])
    queues.add(message("p1", number=9))
    assert taken(queues) == [("p1", 2), ("p1", 3), ("p1", 9)]

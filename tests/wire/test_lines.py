import itertools

from hypothesis import given
from hypothesis import strategies as st

from ramphold.wire import LINE_LIMIT, Line, LineSplitter

STREAMS = st.lists(
    st.one_of(st.binary(max_size=200), st.sampled_from([b"\r", b"\n", b"\r\n", b"ab", b"x" * 130])),
    max_size=12,
).map(b"".join)
CUTS = st.lists(st.integers(0, 2000), max_size=12)


def pieces(stream, cuts):
    edges = [0, *sorted(min(cut, len(stream)) for cut in cuts), len(stream)]
    return [stream[a:b] for a, b in itertools.pairwise(edges)]


def test_carriage_return_line_feed_and_both_end_a_line():
    assert LineSplitter().feed(b"one\rtwo\nthree\r\nfour") == [
        Line(data=b"one"),
        Line(data=b"two"),
        Line(data=b"three"),
    ]


def test_a_line_is_given_out_only_when_its_terminator_has_come():
    splitter = LineSplitter()
    assert splitter.feed(b"ST,GS") == []
    assert splitter.feed(b",+1 lbf\r") == [Line(data=b"ST,GS,+1 lbf")]
    assert splitter.feed(b"\n") == []


def test_empty_lines_vanish():
    assert LineSplitter().feed(b"\r\n\r\n\n\ra\r\r") == [Line(data=b"a")]


def test_a_line_at_the_limit_is_whole():
    assert LineSplitter(limit=4).feed(b"abcd\n") == [Line(data=b"abcd")]


def test_an_overlong_line_is_told_once_and_the_next_line_is_whole_again():
    splitter = LineSplitter(limit=4)
    assert splitter.feed(b"abcde") == [Line(data=b"abcd", overlong=True)]
    assert splitter.feed(b"fgh" * 100) == []
    assert splitter.feed(b"\nok\n") == [Line(data=b"ok")]


def test_an_endless_line_holds_no_more_than_the_limit():
    splitter = LineSplitter()
    lines = [line for _ in range(1000) for line in splitter.feed(b"z" * 1000)]
    assert lines == [Line(data=b"z" * LINE_LIMIT, overlong=True)]
    assert len(splitter._held) <= LINE_LIMIT


@given(STREAMS, CUTS)
def test_any_cutting_of_the_same_bytes_gives_the_same_lines(stream, cuts):
    splitter = LineSplitter()
    cut = [line for piece in pieces(stream, cuts) for line in splitter.feed(piece)]
    assert cut == LineSplitter().feed(stream)


@given(STREAMS)
def test_no_byte_of_a_line_within_the_limit_is_lost_or_added(stream):
    lines = LineSplitter(limit=len(stream) + 1).feed(stream + b"\n")
    assert [line.data for line in lines] == [
        part for part in stream.replace(b"\r", b"\n").split(b"\n") if part
    ]


@given(st.binary(max_size=3000))
def test_no_line_is_longer_than_the_limit_whatever_comes(stream):
    splitter = LineSplitter(limit=16)
    assert all(len(line.data) <= 16 for line in splitter.feed(stream))
    assert len(splitter._held) <= 16

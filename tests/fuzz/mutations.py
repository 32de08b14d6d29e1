"""Valid bytes with edits in them, as a strategy, so that what is found is also made small."""

from hypothesis import strategies as st

#: What breaks readers: ends of ranges, not numbers, control and wide characters, deep nesting.
AWKWARD = (
    b"", b"0", b"-0", b"-1", b"1e308", b"1e309", b"-1e308", b"5e-324", b"NaN", b"inf", b"-inf",
    b"9223372036854775807", b"9223372036854775808", b"-9223372036854775809", b"9" * 400,
    b"9" * 5000, b"true", b"null", b'""', b"[]", b"{}", b"[" * 2000, b'{"a":' * 2000, b"\x00",
    b"\xff", b"\xc3\x28", b"\xe2\x80\xae", b"\xf0\x9f\x98\x80", b"\\ud800", b"\r\n", b"\n\n",
    b"\x1b]0;x\x07", b",,,,", b";", b'"', b"'", b"=1+1", b"= ", b"#", b"\t", b" " * 300,
    b"1970-01-01", b"0000-00-00", b"50.8in", b"2mm", b"psi", b"1_000", b"1.5.2", b"+", b"-",
)  # fmt: skip


@st.composite
def mutated(draw: st.DrawFn, seeds: tuple[bytes, ...]) -> bytes:
    """One of the seeds after up to six edits, or any bytes at all."""
    if draw(st.integers(0, 19)) == 0:
        return draw(st.binary(max_size=300))
    data = draw(st.sampled_from(seeds))
    for _ in range(draw(st.integers(1, 6))):
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.sampled_from((0, 1, 2, 4, 8, 40, 10**6))))
        piece = draw(
            st.sampled_from(AWKWARD)
            | st.binary(max_size=4)
            | st.sampled_from(seeds).map(lambda seed: seed[: len(seed) // 2])
            | st.integers(-(2**70), 2**70).map(lambda number: str(number).encode())
            | st.floats().map(lambda number: repr(number).encode())
        )
        data = data[:start] + piece + data[end:]
    return data

"""What a decoder of JSON or TOML may raise for the bytes that it is given."""

import msgspec

#: Not JSON or not as typed; bytes that are no UTF-8, or an integer of thousands of digits; nested
#: too deep; a number beyond what Python converts.
UNDECODABLE: tuple[type[Exception], ...] = (
    msgspec.MsgspecError,
    ValueError,
    RecursionError,
    OverflowError,
)

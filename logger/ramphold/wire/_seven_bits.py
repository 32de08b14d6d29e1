"""Recognizes seven bits with parity that were read as eight bits."""

# This many random bytes have one parity once in 2**11; a single repeated byte is no text.
_LEAST_BYTES, _LEAST_KINDS = 12, 4
_PARITIES = {0: "7E1", 1: "7O1"}


def seven_bit_framing(data: bytes) -> str | None:
    """The framing in which bytes that were read as 8N1 were sent; None if they do not show it.

    Text has no bit 7. Sent with seven bits and parity, about half of its bytes seem to have it, and
    either all bytes have an even number of bits, or all have an odd number.
    """
    parities = {byte.bit_count() % 2 for byte in data}
    enough = len(data) >= _LEAST_BYTES and len(set(data)) >= _LEAST_KINDS
    if not enough or len(parities) != 1 or data.isascii():
        return None
    return _PARITIES[parities.pop()]

"""Seven bits and parity, read as eight: told by the parity that the bytes then keep."""

__all__ = ["seven_bit_framing"]

# So many bytes of chance keep one parity once in 2**11; one byte again and again is no text.
_LEAST_BYTES, _LEAST_KINDS = 12, 4
_PARITIES = {0: "7E1", 1: "7O1"}


def seven_bit_framing(data: bytes) -> str | None:
    """The framing that bytes read as 8N1 were sent in, where they show it; None where not.

    Text has no bit 7. Sent with seven bits and parity it seems to have one in about half of its
    bytes, and every byte has an even, or every byte an odd, number of bits.
    """
    parities = {byte.bit_count() % 2 for byte in data}
    enough = len(data) >= _LEAST_BYTES and len(set(data)) >= _LEAST_KINDS
    if not enough or len(parities) != 1 or data.isascii():
        return None
    return _PARITIES[parities.pop()]

"""Whole numbers in proportion."""

from collections.abc import Sequence


def apportioned(total: int, shares: Sequence[int]) -> list[int]:
    """Whole numbers in proportion to the shares, that sum to the total (largest remainders)."""
    whole = sum(shares)
    given = [share * total // whole for share in shares]
    by_remainder = sorted(range(len(shares)), key=lambda i: (-(shares[i] * total % whole), i))
    for i in by_remainder[: total - sum(given)]:
        given[i] += 1
    return given

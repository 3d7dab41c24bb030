"""An independent reader of QR codes, written from the standard: from a picture's modules to the words.

Source: ISO/IEC 18004 (from memory): finder patterns 6.3.3, masks 7.8.2, format 7.9, placement 7.7.3, byte mode 7.4.5, blocks
table 9. It corrects nothing: it checks that every block's Reed-Solomon syndromes are nought, so a wrong module is noticed.
"""

from __future__ import annotations

from collections.abc import Callable

# Data codewords of each block and check codewords a block, for error correction Q, versions 1 to 7.
BLOCKS_Q = {
    1: ([13], 13), 2: ([22], 22), 3: ([17, 17], 18), 4: ([24, 24], 26), 5: ([15, 15, 16, 16], 18), 6: ([19] * 4, 24),
}  # fmt: skip
ALIGNED = {1: [], 2: [6, 18], 3: [6, 22], 4: [6, 26], 5: [6, 30], 6: [6, 34]}
MASKS: list[Callable[[int, int], bool]] = [
    lambda r, c: (r + c) % 2 == 0,
    lambda r, c: r % 2 == 0,
    lambda r, c: c % 3 == 0,
    lambda r, c: (r + c) % 3 == 0,
    lambda r, c: (r // 2 + c // 3) % 2 == 0,
    lambda r, c: (r * c) % 2 + (r * c) % 3 == 0,
    lambda r, c: ((r * c) % 2 + (r * c) % 3) % 2 == 0,
    lambda r, c: ((r + c) % 2 + (r * c) % 3) % 2 == 0,
]
FORMAT_MASK, LEVEL_Q = 0b101010000010010, 0b11


def read_qr(modules: list[list[bool]]) -> str:
    """The words in a code without a quiet zone; ``modules`` True where dark, rows from the top."""
    side = len(modules)
    version = (side - 17) // 4
    mask = MASKS[_format(modules)]
    bits = [modules[r][c] != mask(r, c) for r, c in _way(side, _fixed(side, version))]
    words = [int("".join("01"[bit] for bit in bits[n : n + 8]), 2) for n in range(0, len(bits) - len(bits) % 8, 8)]
    return _bytes_in(_data(words, *BLOCKS_Q[version]))


def _format(modules: list[list[bool]]) -> int:
    places = [(8, c) for c in (0, 1, 2, 3, 4, 5, 7, 8)] + [(r, 8) for r in (7, 5, 4, 3, 2, 1, 0)]
    told = int("".join("01"[modules[r][c]] for r, c in places), 2) ^ FORMAT_MASK
    assert told >> 13 == LEVEL_Q, "error correction is not Q"
    return (told >> 10) & 0b111


def _fixed(side: int, version: int) -> set[tuple[int, int]]:
    """Every module that holds no data: finders, timing, alignment, format."""
    found = {(r, c) for r in range(9) for c in range(9)}
    found |= {(r, c) for r in range(9) for c in range(side - 8, side)}
    found |= {(r, c) for r in range(side - 8, side) for c in range(9)}
    found |= {(6, n) for n in range(side)} | {(n, 6) for n in range(side)}
    middles = ALIGNED[version]
    for r in middles:
        for c in middles:
            if (r, c) not in ((6, 6), (6, middles[-1]), (middles[-1], 6)):
                found |= {(r + down, c + right) for down in range(-2, 3) for right in range(-2, 3)}
    return found


def _way(side: int, fixed: set[tuple[int, int]]) -> list[tuple[int, int]]:
    way, up, right = [], True, side - 1
    while right > 0:
        if right == 6:
            right = 5  # the timing column is stepped over
        for r in range(side - 1, -1, -1) if up else range(side):
            way += [(r, c) for c in (right, right - 1) if (r, c) not in fixed]
        up, right = not up, right - 2
    return way


def _data(words: list[int], blocks: list[int], checks: int) -> list[int]:
    parts: list[list[int]] = [[] for _ in blocks]
    rest = iter(words)
    for place in range(max(blocks)):
        for part, length in zip(parts, blocks, strict=True):
            if place < length:
                part.append(next(rest))
    ends: list[list[int]] = [[] for _ in blocks]
    for _ in range(checks):
        for end in ends:
            end.append(next(rest))
    for part, end in zip(parts, ends, strict=True):
        assert _syndromes(part + end, checks) == [0] * checks, "a module is wrong"
    return [word for part in parts for word in part]


def _syndromes(block: list[int], checks: int) -> list[int]:
    power, log = [1], {1: 0}
    for n in range(1, 255):
        twice = power[-1] << 1
        power.append(twice ^ 0x11D if twice > 255 else twice)
        log[power[-1]] = n
    found = []
    for n in range(checks):
        total = 0
        for word in block:  # Horner's rule at the n-th power of two
            total = power[(log[total] + n) % 255] if total else 0
            total ^= word
        found.append(total)
    return found


def _bytes_in(data: list[int]) -> str:
    bits = "".join(f"{word:08b}" for word in data)
    assert bits[:4] == "0100", "not byte mode"
    length = int(bits[4:12], 2)
    return bytes(int(bits[12 + 8 * n : 20 + 8 * n], 2) for n in range(length)).decode("utf-8")

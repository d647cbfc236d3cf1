"""Seeded damage to files: text, binary, and JSON trees. Each mutator takes data and dice and returns new data."""

import gzip
import json
import random
import struct
from collections.abc import Callable
from typing import Any

Mutate = Callable[[bytes, random.Random], bytes]

NUMBERS = (
    b"1e999", b"-1e999", b"NaN", b"nan", b"inf", b"-inf", b".inf", b"0", b"-0", b"-1", b"1e-320", b"1e308",
    b"9" * 400, b"0x1F", b"1_000", b"1,5", b"2147483648", b"9223372036854775808", b"1/0", b"01:60:61",
)  # fmt: skip
WORDS = (
    b"", b"~", b"null", b"true", b"[]", b"{}", b"''", b'"', b"'", b"\\", b"%", b"%s", b"\0", b"\x1b[31m", b"\x07",
    b"\t", b"\r", b"\r\n", b"\n\n", b"\x85", b"\xff", b"\xef\xbb\xbf", b"\xe2\x80\xa8", b"\xe2\x80\xae",
    "Ölkühler".encode(), "油温 [°C]".encode(), "𝄞".encode(), "e\u0301".encode(), b"../../x", b"/dev/zero", b"<<",
    b"!!python/object/apply:os.abort []", b"&a", b"*a", b"<!DOCTYPE x>", b"{{7*7}}", b"=1+1", b"name", b"kind",
    b'"\\0"', b'"\\ud800"', b'"\\x00\\n"', b"? [a, b]", b"---", b"...", b"- ", b": ", b"#", b"|", b">-", b"a" * 5000,
)  # fmt: skip
COUNTS = (0, 1, 2, 7, 255, 256, 65535, 65536, 2**24, 2**31 - 1, 2**31, 2**32 - 1, 2**63, 2**64 - 1)
MARKS = b",;: \t[]{}()<>=\"'|/"


def spot(data: bytes, dice: random.Random) -> int:
    """A place; headers and footers, where formats keep their counts, are visited more often."""
    size = max(len(data), 1)
    if dice.random() < 0.3:
        return dice.randrange(min(size, 300))
    return size - 1 - dice.randrange(min(size, 300)) if dice.random() < 0.2 else dice.randrange(size)


def flip(data: bytes, dice: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(dice.choice((1, 1, 2, 5, 40)) if out else 0):
        out[spot(data, dice)] ^= 1 << dice.randrange(8)
    return bytes(out)


def scribble(data: bytes, dice: random.Random) -> bytes:
    at, length = spot(data, dice), dice.choice((1, 4, 8, 60))
    return data[:at] + dice.randbytes(length) + data[at + length :]


def cut(data: bytes, dice: random.Random) -> bytes:
    return data[: spot(data, dice)]


def behead(data: bytes, dice: random.Random) -> bytes:
    return data[spot(data, dice) :]


def drop(data: bytes, dice: random.Random) -> bytes:
    at = spot(data, dice)
    return data[:at] + data[at + dice.choice((1, 4, 50, 1000)) :]


def insert(data: bytes, dice: random.Random) -> bytes:
    at = spot(data, dice)
    return data[:at] + dice.choice((*WORDS, *NUMBERS, b"\0" * 64)) + data[at:]


def move(data: bytes, dice: random.Random) -> bytes:
    a, length, b = spot(data, dice), dice.choice((4, 30, 500)), spot(data, dice)
    piece = data[a : a + length]
    return data[:b] + piece + data[b + (0 if dice.random() < 0.5 else length) :]


def absurd_count(data: bytes, dice: random.Random) -> bytes:
    """A number of 1 to 8 bytes overwritten by one at the edge of its range."""
    at, width = spot(data, dice), dice.choice((1, 2, 4, 4, 8, 8))
    if dice.random() < 0.6:
        at -= at % width
    number = dice.choice(COUNTS) % 2 ** (8 * width)
    return data[:at] + number.to_bytes(width, dice.choice(("little", "little", "big"))) + data[at + width :]


def odd_float(data: bytes, dice: random.Random) -> bytes:
    at, form = spot(data, dice), dice.choice(("<f", "<d"))
    at -= at % struct.calcsize(form)
    number = dice.choice((float("nan"), float("inf"), -float("inf"), 1e38, -1e38, 1e-40, 0.0))
    return data[:at] + struct.pack(form, number) + data[at + struct.calcsize(form) :]


def twice(data: bytes, dice: random.Random) -> bytes:
    return data + data[spot(data, dice) :]


def noise(data: bytes, dice: random.Random) -> bytes:
    return dice.randbytes(dice.choice((0, 1, 3, 100, 5000)))


BINARY: tuple[Mutate, ...] = (
    flip, flip, scribble, cut, behead, drop, insert, move, move, absurd_count, absurd_count, absurd_count, odd_float,
    twice, noise,
)  # fmt: skip


# --- text -------------------------------------------------------------------------------------------------
def lines_of(data: bytes) -> list[bytes]:
    return data.split(b"\n")


def some_lines(data: bytes, dice: random.Random) -> bytes:
    """Lines doubled, deleted, moved, swapped."""
    rows = lines_of(data)
    for _ in range(dice.choice((1, 1, 3, 20))):
        a, b = dice.randrange(len(rows)), dice.randrange(len(rows))
        what = dice.randrange(4)
        if what == 0:
            rows.insert(b, rows[a])
        elif what == 1 and len(rows) > 1:
            del rows[a]
        elif what == 2:
            rows[a], rows[b] = rows[b], rows[a]
        elif len(rows) > 1:
            rows.insert(min(b, len(rows) - 1), rows.pop(a))
    return b"\n".join(rows)


def tokens_of(row: bytes) -> list[bytes]:
    """Words and the marks between them."""
    out, word = [], b""
    for k in range(len(row)):
        if row[k : k + 1] in MARKS:
            out += [word, row[k : k + 1]]
            word = b""
        else:
            word += row[k : k + 1]
    return [*out, word]


def some_tokens(data: bytes, dice: random.Random) -> bytes:
    """Words of a few lines swapped, replaced by odd ones, or by odd numbers."""
    rows = lines_of(data)
    for _ in range(dice.choice((1, 1, 2, 8))):
        at = dice.randrange(len(rows))
        tokens = tokens_of(rows[at][:4000])
        k = dice.randrange(len(tokens))
        what = dice.randrange(4)
        if what == 0:
            other = tokens_of(rows[dice.randrange(len(rows))][:4000])
            tokens[k] = dice.choice(other)
        elif what == 1:
            tokens[k] = dice.choice(NUMBERS)
        elif what == 2:
            tokens[k] = dice.choice(WORDS)
        else:
            digits = [n for n, one in enumerate(tokens) if one[:1].isdigit()]
            tokens[dice.choice(digits or [k])] = dice.choice(NUMBERS)
        rows[at] = b"".join(tokens)
    return b"\n".join(rows)


def line_ends(data: bytes, dice: random.Random) -> bytes:
    ends = dice.choice(
        ((b"\r\n",), (b"\r",), (b"\n", b"\r\n", b"\r"), (b"\x0b", b"\n"), (b"\xc2\x85", b"\n"))
    )
    return b"".join(row + dice.choice(ends) for row in lines_of(data))


def encoding(data: bytes, dice: random.Random) -> bytes:
    name = dice.choice(("utf-16", "utf-16-be", "utf-32", "cp1252", "utf-7", "cp037", "shift_jis"))
    out = data.decode("utf-8", "replace").encode(name, "replace")
    return out if dice.random() < 0.7 else out[: len(out) // 2] + data[len(data) // 2 :]


def deep(data: bytes, dice: random.Random) -> bytes:
    at, count = spot(data, dice), dice.choice((30, 300, 3000, 60_000))
    opening, closing = dice.choice(
        ((b"[", b"]"), (b"{a: ", b"}"), (b"(", b")"), (b"- ", b""), (b'{"a":', b"}"))
    )
    return data[:at] + opening * count + (closing * count if dice.random() < 0.7 else b"") + data[at:]


def bomb(data: bytes, dice: random.Random) -> bytes:
    """Aliases that double at every line, laid before, behind, or in place of the text."""
    rows = [b"a0: &a0 [x, x, x, x, x, x, x, x]"]
    rows += [b"a%d: &a%d [%s]" % (k, k, b", ".join([b"*a%d" % (k - 1)] * 8)) for k in range(1, 9)]
    text = b"\n".join(rows) + b"\n"
    return dice.choice(
        (text, data + b"\n" + text, text + data, data.replace(b": {", b": &x {", 1) + b"\nz: *x\n")
    )


def wide(data: bytes, dice: random.Random) -> bytes:
    """One line many times over."""
    rows = lines_of(data)
    at = dice.randrange(len(rows))
    return b"\n".join(rows[:at] + [rows[at]] * dice.choice((100, 3000)) + rows[at:])


def long_cell(data: bytes, dice: random.Random) -> bytes:
    at = spot(data, dice)
    return (
        data[:at]
        + dice.choice((b"x", b"9", b" ", b'"', b"\n", b",")) * dice.choice((2000, 140_000))
        + data[at:]
    )


TEXT: tuple[Mutate, ...] = (
    some_lines, some_lines, some_tokens, some_tokens, some_tokens, some_tokens, line_ends, encoding, deep, bomb, wide,
    long_cell, flip, cut, drop, insert, insert, move, scribble, noise,
)  # fmt: skip


def packed(data: bytes, dice: random.Random) -> bytes:
    """Compressed, sometimes damaged, sometimes many members, sometimes a bomb."""
    what = dice.randrange(5)
    if what == 0:
        return flip(gzip.compress(data, 1), dice)
    if what == 1:
        return cut(gzip.compress(data, 1), dice)
    if what == 2:
        return b"".join(gzip.compress(row + b"\n", 1) for row in lines_of(data)[:40])
    if what == 3:
        return gzip.compress(data, 1) + flip(gzip.compress(data[:500], 1), dice)
    return gzip.compress(data[:200], 1) * 2 + gzip.compress(
        dice.choice((b"0,", b"\n")) * 8_000_000, 9
    ) * dice.choice((1, 2))


def chain(mutators: tuple[Mutate, ...], data: bytes, dice: random.Random) -> bytes:
    """One to three mutators, one after another."""
    for _ in range(dice.choice((1, 1, 1, 2, 3))):
        data = dice.choice(mutators)(data, dice) if data else noise(data, dice)
    return data[:4_000_000]


def text(data: bytes, dice: random.Random) -> bytes:
    return chain(TEXT, data, dice)


def binary(data: bytes, dice: random.Random) -> bytes:
    return chain(BINARY, data, dice)


# --- JSON trees ---------------------------------------------------------------------------------------------
ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 10**9, 2**31, 2**63, 2**70, 10**400, 1e308, -1e308, 1e-320, float("nan"), float("inf"),
    "", "x", "\0", "../../x", "a" * 5000, "\ud800", "\u202e", "1e999", "NaN", [], {}, [[]], [None], {"": {}}, {"a": 1},
)  # fmt: skip


def places_in(tree: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place of a tree below its root."""
    below = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    out = []
    for key, value in below:
        out.append((*at, key))
        out += places_in(value, (*at, key))
    return out


def tree(whole: Any, dice: random.Random) -> Any:
    """A copy with one to three values replaced, removed, moved, doubled or nested."""
    whole = json.loads(json.dumps(whole))
    for _ in range(dice.choice((1, 1, 1, 2, 3))):
        places = places_in(whole)
        if not places or dice.random() < 0.02:
            return dice.choice(ODD)
        place = dice.choice(places)
        holder = value_at(whole, place[:-1])
        what = dice.randrange(6)
        if what == 0:
            del holder[place[-1]]
        elif what == 1:
            holder[place[-1]] = json.loads(json.dumps(value_at(whole, dice.choice(places))))
        elif what == 2 and isinstance(holder, list):
            holder.extend(holder[:50])
        elif what == 3 and isinstance(holder, dict):
            holder[dice.choice(("x", "", "\0", "format", "ﬁtted"))] = dice.choice(ODD)
        elif what == 4:
            holder[place[-1]] = nested(dice.choice((30, 200)))
        else:
            holder[place[-1]] = dice.choice(ODD)
    return whole


def nested(depth: int) -> Any:
    out: Any = 1
    for k in range(depth):
        out = [out] if k % 2 else {"a": out}
    return out


def value_at(whole: Any, place: tuple[Any, ...]) -> Any:
    for key in place:
        whole = whole[key]
    return whole


def json_bytes(data: bytes, dice: random.Random) -> bytes:
    """JSON whose tree was damaged, or, every fourth time, whose text was."""
    if dice.random() < 0.25:
        return text(data, dice)
    return json.dumps(tree(json.loads(data), dice)).encode("utf-8", "surrogatepass")

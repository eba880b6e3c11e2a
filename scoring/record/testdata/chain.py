"""The links of chain_test.go, computed from the description in encode.go alone."""
import hashlib
import struct


def varint(n):
    out = b""
    while n > 127:
        out += bytes([n & 127 | 128])
        n >>= 7
    return out + bytes([n])


def zigzag(n):
    return varint(2 * n if n >= 0 else -2 * n - 1)


def field(number, content):
    return varint(number) + varint(len(content)) + content


def eight(n):
    return struct.pack(">Q", n)


def link(label, before, content):
    return hashlib.sha256(label + b"\0" + before + content).digest()[:16]


AT = 1900000000123
setup = (
    field(1, b"value-first") + field(2, zigzag(1)) + field(3, eight(7)) + field(4, zigzag(20))
    + field(8, field(1, b"a")) + field(8, field(1, b"b") + field(2, b"2"))
    + field(11, field(1, zigzag(7_000_000_000)) + field(3, zigzag(1)) + field(4, bytes([64, 64, 64])))
)
sitting = (
    field(1, b"S1") + field(2, b"L1") + field(3, eight(AT)) + field(4, b"exam:A:1") + field(5, setup)
    + field(7, field(1, b"here") + field(2, b"B1"))
)
trial = (
    field(1, b"value-first") + field(2, zigzag(1)) + field(6, bytes(3))
    + field(7, field(1, b"x") + field(2, bytes([1, 2, 3]))) + field(9, struct.pack(">d", 1.25))
)
answer = (
    field(1, bytes([200, 0, 0])) + field(2, b"L78 C16 h86") + field(6, struct.pack(">d", 0.5))
    + field(7, zigzag(-1) + zigzag(0) + zigzag(1)) + field(8, zigzag(2) + zigzag(0) + zigzag(1))
    + field(10, zigzag(2_000_000_000))
)
attempt = field(1, eight(AT + 1000)) + field(2, trial) + field(3, answer)

start = link(b"shadedrill sitting", b"", sitting)
first = link(b"shadedrill answer", start, attempt)
end = link(b"shadedrill end", first, eight(AT + 60_000) + b"\1")
for each in (start, first, end):
    print(each.hex())

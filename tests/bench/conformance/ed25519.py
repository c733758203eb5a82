"""Ed25519 signatures, verified in plain Python after RFC 8032, section 5.1.7. Slow and small: for a second opinion."""

import hashlib

P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT_OF_MINUS_ONE = pow(2, (P - 1) // 4, P)


def _add(a, b):
    """Points in extended coordinates (X, Y, Z, T), x = X/Z, y = Y/Z, xy = T/Z."""
    p, q = (a[1] - a[0]) * (b[1] - b[0]) % P, (a[1] + a[0]) * (b[1] + b[0]) % P
    r, s = 2 * a[3] * b[3] * D % P, 2 * a[2] * b[2] % P
    e, f, g, h = q - p, s - r, s + r, q + p
    return e * f % P, g * h % P, f * g % P, e * h % P


def _times(scalar, point):
    sum_ = (0, 1, 1, 0)
    while scalar:
        if scalar & 1:
            sum_ = _add(sum_, point)
        point, scalar = _add(point, point), scalar >> 1
    return sum_


def _equal(a, b):
    return (a[0] * b[2] - b[0] * a[2]) % P == 0 and (a[1] * b[2] - b[1] * a[2]) % P == 0


def _x_of(y, sign):
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    if square == 0:
        return None if sign else 0
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT_OF_MINUS_ONE % P
    if (x * x - square) % P:
        return None
    return P - x if x & 1 != sign else x


def _point(data):
    number = int.from_bytes(data, "little")
    y, sign = number & (2**255 - 1), number >> 255
    x = _x_of(y, sign)
    return None if x is None else (x, y, 1, x * y % P)


BASE = (lambda y: (_x_of(y, 0), y, 1, _x_of(y, 0) * y % P))(4 * pow(5, P - 2, P) % P)


def verifies(key, signature, message):
    """Whether a signature of 64 bytes under a key of 32 holds for the message. Keys of small order never do."""
    if len(key) != 32 or len(signature) != 64:
        return False
    public, commitment = _point(key), _point(signature[:32])
    scalar = int.from_bytes(signature[32:], "little")
    if public is None or commitment is None or scalar >= ORDER or _equal(_times(8, public), (0, 1, 1, 0)):
        return False
    hashed = int.from_bytes(hashlib.sha512(signature[:32] + key + message).digest(), "little") % ORDER
    return _equal(_times(scalar, BASE), _add(commitment, _times(hashed, public)))


def times(scalar, point):
    return _times(scalar, point)


def packed(point):
    """A point's 32 bytes."""
    inverse = pow(point[2], P - 2, P)
    x, y = point[0] * inverse % P, point[1] * inverse % P
    return (y | (x & 1) << 255).to_bytes(32, "little")

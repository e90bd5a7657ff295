"""The Beta distribution: its cumulative probability and quantiles. Knows nothing of steps or recall."""

from math import exp, lgamma, log, log1p

_NEAR, _TINY = 1e-15, 1e-300
_CLOSE = 1e-13
"""Relative difference of two steps at which a quantile is found."""
_MOST_ROUNDS = 500


def probability(x: float, a: float, b: float) -> float:
    """Return the probability that a Beta(a, b) variable is at most `x`: the regularised incomplete beta.

    Continued fraction 8.17.22 of the NIST Digital Library of Mathematical Functions, from memory.
    """
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1) / (a + b + 2):
        # There the fraction converges slowly; its mirror image does not.
        return 1.0 - _tail(1.0 - x, b, a)
    return _tail(x, a, b)


def _tail(x: float, a: float, b: float) -> float:
    return exp(a * log(x) + b * log1p(-x) - _log_beta(a, b)) * _fraction(x, a, b) / a


def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def _fraction(x: float, a: float, b: float) -> float:
    """Return the continued fraction, by the method of Lentz."""
    upper, lower = 1.0, 1.0 / _apart(1.0 - (a + b) * x / (a + 1))
    value = lower
    for m in range(1, _MOST_ROUNDS):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        for term in (even, odd):
            lower = 1.0 / _apart(1.0 + term * lower)
            upper = _apart(1.0 + term / upper)
            value *= lower * upper
        if abs(lower * upper - 1.0) < _NEAR:
            break
    return value


def _apart(value: float) -> float:
    """Keep a divisor away from nought."""
    return value if abs(value) > _TINY else _TINY


def quantile(p: float, a: float, b: float) -> float:
    """Return the value below which a Beta(a, b) variable lies with probability `p`, to about twelve digits.

    Newton's method, held inside the interval that bisection leaves.
    """
    low, high, x = 0.0, 1.0, a / (a + b)
    constant = _log_beta(a, b)
    for _ in range(_MOST_ROUNDS):
        error = probability(x, a, b) - p
        low, high = (x, high) if error < 0 else (low, x)
        density = exp((a - 1) * log(x) + (b - 1) * log1p(-x) - constant)
        step = error / density if density > _TINY else high - low
        if abs(step) <= _CLOSE * x or high - low <= _NEAR * high:
            return x
        x = x - step if low < x - step < high else (low + high) / 2
    return x

"""Round numbers along an axis."""

from __future__ import annotations

import math

_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


def nice_step(span: float, most: int) -> float:
    """The smallest round step that cuts a positive `span` into at most so many pieces."""
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in _STEPS if step * power >= rough * (1.0 - 1e-9))


def ticks(low: float, high: float, most: int = 5) -> list[float]:
    """Round numbers from `low` to `high`. Raises ValueError unless low < high."""
    if not low < high:
        raise ValueError(f"low must be less than high, got {low} and {high}")
    step = nice_step(high - low, most)
    first = math.ceil(low / step - 1e-9)
    return [index * step for index in range(first, math.floor(high / step + 1e-9) + 1)]


def tick_places(values: list[float]) -> int:
    """Decimals that tell the ticks apart."""
    if len(values) < 2:
        return 2
    return next(places for places in range(7) if _is_whole((values[1] - values[0]) * 10**places) or places == 6)


def padded(low: float, high: float) -> tuple[float, float]:
    """A little room beyond both ends; some room around a single value."""
    size = max(abs(low), abs(high))
    room = 0.06 * ((high - low) if high - low > 1e-6 * size else (size or 1.0))
    return low - room, high + room


def _is_whole(value: float) -> bool:
    return abs(value - round(value)) < 1e-6

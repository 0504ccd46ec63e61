"""A rope's response from its data sheet: the EN 892 drop run backwards.

80 kg (half ropes 55 kg) fall 4.6 m freely and are then held by one straight strand of 2.6 m, no edge.
Until the strand goes slack again the drop is a linear system, so it is solved here in closed form.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

GRAVITY = 9.80665
FREE_FALL_M, STRAND_M = 4.6, 2.6
SENSIBLE_RELAX_S = (0.01, 2.0)


@dataclass(frozen=True)
class Response:
    """A standard linear solid: `slow` spring beside a `fast` spring that relaxes in `relax` seconds; kN per unit strain."""

    slow: float
    fast: float
    relax: float


def drop(rope: Response, mass: float) -> tuple[float, float]:
    """Largest tension (kN) and largest strain of the first drop.

    The state is stretch (m), speed (m/s) and q (kN) from the moment the strand is taut.
    """
    rates = np.array([
        [0.0, 1.0, 0.0],
        [-1000 * rope.slow / STRAND_M / mass, 0.0, -1000 / mass],
        [0.0, rope.fast / STRAND_M, -1 / rope.relax],
    ])
    settled = np.linalg.solve(rates, [0.0, -GRAVITY, 0.0])
    speeds, shapes = np.linalg.eig(rates)
    weights = np.linalg.solve(shapes, np.array([0.0, math.sqrt(2 * GRAVITY * FREE_FALL_M), 0.0]) - settled)

    def state(time: float) -> np.ndarray:
        return settled + np.real(shapes @ (weights * np.exp(speeds * time)))

    def tension_rate(time: float) -> float:
        _, speed, q = state(time)
        return (rope.slow + rope.fast) * speed / STRAND_M - q / rope.relax

    turned = _first_root(lambda time: state(time)[1])
    peak = state(_first_root(tension_rate))
    return rope.slow * peak[0] / STRAND_M + peak[2], state(turned)[0] / STRAND_M


def _first_root(value: Callable[[float], float]) -> float:
    """The first time (s) at which `value` falls through zero."""
    step, time = 1e-3, 0.0
    while value(time + step) > 0:
        time += step
    return brentq(value, time, time + step, xtol=1e-14)


@functools.cache
def from_data_sheet(impact_kn: float, static_pct: float, dynamic_pct: float, half: bool = False) -> Response:
    """The response whose first drop meets the impact force and the dynamic elongation together.

    Raises ValueError where no `relax_s` from 0.01 to 2 s does.
    """
    mass = 55.0 if half else 80.0
    slow = 75 * GRAVITY / 1000 / (static_pct / 100)

    def with_force(relax: float) -> Response:
        def miss(fast: float) -> float:
            return drop(Response(slow, fast, relax), mass)[0] - impact_kn

        if miss(0.0) > 0:
            raise ValueError("the impact force is too small for the static elongation")
        high = 10.0
        while miss(high) < 0 and high < 1e5:
            high *= 2
        return Response(slow, brentq(miss, 0.0, high, xtol=1e-10), relax)

    def stretch_miss(log_relax: float) -> float:
        return drop(with_force(math.exp(log_relax)), mass)[1] - dynamic_pct / 100

    low, high = (math.log(limit) for limit in SENSIBLE_RELAX_S)
    if stretch_miss(low) * stretch_miss(high) > 0:
        raise ValueError("the dynamic elongation cannot be met together with the impact force")
    return with_force(math.exp(brentq(stretch_miss, low, high, xtol=1e-10)))

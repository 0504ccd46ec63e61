"""Rest: the minimum of the potential energy of legs, frictionless lines, pulls and hanging persons.

Energies in kJ (kN times m). The energy is convex, so any minimum gives the forces; it is found by
`scipy.optimize.minimize` with exact gradient and curvature and accepted only where the forces balance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from rig import GRAVITY, Rig

BALANCE = 1e-6
"""Largest force left unbalanced at a point, as a fraction of the largest load."""


@dataclass(frozen=True)
class Rest:
    """Tension of each leg and of each line, kN."""

    legs: list[float]
    lines: list[float]


@dataclass(frozen=True)
class Strand:
    """A tension-only spring through a chain of points; a leg has two of them, a line may have more."""

    through: tuple[int, ...]
    length: float
    stiffness: float
    """kN per metre of stretch."""

    def stretch(self, at: np.ndarray) -> float:
        """How much longer than its own length it is drawn, m; negative when slack."""
        return sum(np.linalg.norm(at[b] - at[a]) for a, b in zip(self.through, self.through[1:])) - self.length

    def tension(self, at: np.ndarray) -> float:
        """Tension in kN, zero when slack."""
        return self.stiffness * max(self.stretch(at), 0.0)

    def slope(self, at: np.ndarray) -> np.ndarray:
        """Gradient of the stretch with respect to all positions."""
        slope = np.zeros_like(at)
        for a, b in zip(self.through, self.through[1:]):
            unit = (at[b] - at[a]) / np.linalg.norm(at[b] - at[a])
            slope[b] += unit
            slope[a] -= unit
        return slope

    def bend(self, at: np.ndarray) -> np.ndarray:
        """Second derivative of the stretch, indexed point, axis, point, axis."""
        bend = np.zeros(at.shape + at.shape)
        for a, b in zip(self.through, self.through[1:]):
            distance = np.linalg.norm(at[b] - at[a])
            unit = (at[b] - at[a]) / distance
            block = (np.eye(3) - np.outer(unit, unit)) / distance
            for p, q, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                bend[p, :, q, :] += sign * block
        return bend


class Network:
    """The rig as an energy over the positions of the points that move."""

    def __init__(self, rig: Rig) -> None:
        self.at = np.array([point.at for point in rig.points], dtype=float)
        self.moves = [i for i, p in enumerate(rig.points) if p.kind in ("joint", "falls")]
        self.legs = [Strand((leg.start, leg.end), leg.length, leg.stiffness) for leg in rig.legs]
        self.lines = [
            Strand(line.through, sum(line.lengths), line.rope.slow / sum(line.lengths)) for line in rig.lines
        ]
        self.load = np.zeros_like(self.at)
        for point, force in rig.pulls:
            self.load[point] += force
        for i, point in enumerate(rig.points):
            if point.kind == "falls":
                self.load[i, 2] -= point.mass * GRAVITY / 1000

    def place(self, x: np.ndarray) -> np.ndarray:
        """All positions, given those of the points that move."""
        at = self.at.copy()
        at[self.moves] = x.reshape(-1, 3)
        return at

    def energy(self, x: np.ndarray) -> float:
        """Potential energy, kJ."""
        at = self.place(x)
        stored = sum(0.5 * s.stiffness * max(s.stretch(at), 0.0) ** 2 for s in self.legs + self.lines)
        return stored - float(np.sum(self.load * at))

    def gradient(self, x: np.ndarray) -> np.ndarray:
        """What is out of balance at each point that moves, kN."""
        at = self.place(x)
        total = sum(s.tension(at) * s.slope(at) for s in self.legs + self.lines) - self.load
        return total[self.moves].ravel()

    def curvature(self, x: np.ndarray) -> np.ndarray:
        """Second derivative of the energy, kN/m."""
        at = self.place(x)
        total = np.zeros(at.shape + at.shape)
        for s in self.legs + self.lines:
            if s.stretch(at) > 0:
                slope = s.slope(at)
                total += s.stiffness * np.multiply.outer(slope, slope) + s.tension(at) * s.bend(at)
        size = 3 * len(self.moves)
        return total[self.moves][:, :, self.moves].reshape(size, size)


def solve(rig: Rig, starts: int = 8) -> Rest:
    """The forces at rest. Raises ValueError where no start leads to balance: nothing holds the load."""
    network = Network(rig)
    scale = np.abs(network.load).max()
    random = np.random.default_rng(0)
    drawn = network.at[network.moves].ravel()
    for spread in np.linspace(0.0, 0.3, starts):
        x = _descend(network, drawn + spread * random.standard_normal(drawn.size))
        if np.abs(network.gradient(x)).max() <= BALANCE * scale:
            at = network.place(x)
            return Rest([float(s.tension(at)) for s in network.legs], [float(s.tension(at)) for s in network.lines])
    raise ValueError("no equilibrium found: nothing holds the load")


def _descend(network: Network, x: np.ndarray) -> np.ndarray:
    """A coarse descent that needs no curvature, then trust-region steps with it."""
    coarse = minimize(network.energy, x, jac=network.gradient, method="BFGS")
    options = {"gtol": 1e-11, "maxiter": 500}
    fine = minimize(
        network.energy, coarse.x, jac=network.gradient, hess=network.curvature, method="trust-exact", options=options
    )
    return fine.x

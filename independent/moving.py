"""Ropes steadily on the move: forces in balance, with the capstan law at its limit wherever a rope turns.

Unknown are the places of what can move, the tension at the near end of each rope that runs and the one tension of each that
does not. As many equations: forces balance at each point that moves; each rope is as long as it was drawn. They are solved
as they stand by `scipy.optimize.root`, with no energy and no rounds of turns and rest; forces in kN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import root

from rig import GRAVITY, Line, Rig

BALANCE = 1e-7
"""Largest equation left over, as a fraction of the largest load."""
STAGES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Shares of the friction that the solution is followed through."""


@dataclass(frozen=True)
class Moving:
    """Tension of each leg, and of each segment of each line half way along, kN."""

    legs: list[float]
    lines: list[list[float]]


class System:
    """The equations over places and tensions."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.drawn = np.array([point.at for point in rig.points], dtype=float)
        self.moves = [i for i, point in enumerate(rig.points) if point.kind in ("joint", "falls")]
        self.load = np.zeros_like(self.drawn)
        for point, force in rig.pulls:
            self.load[point] += force
        for i, point in enumerate(rig.points):
            if point.kind == "falls":
                self.load[i, 2] -= point.mass * GRAVITY / 1000
        self.unknown = [i for i, line in enumerate(rig.lines) if line.runs is None or line.runs.pull is None]

    def start(self) -> np.ndarray:
        """Places as drawn, and a tension of a third of the load everywhere."""
        tension = np.full(len(self.unknown), self.scale() / 3.0)
        return np.concatenate([self.drawn[self.moves].ravel(), tension])

    def scale(self) -> float:
        """The largest load or given pull, kN."""
        pulls = [line.runs.pull for line in self.rig.lines if line.runs and line.runs.pull]
        return max([float(np.abs(self.load).max()), *pulls])

    def split(self, x: np.ndarray) -> tuple[np.ndarray, list[float]]:
        """All places, and the near tension of every line."""
        at = self.drawn.copy()
        at[self.moves] = x[: 3 * len(self.moves)].reshape(-1, 3)
        near = [line.runs.pull if line.runs else 0.0 for line in self.rig.lines]
        for place, value in zip(self.unknown, x[3 * len(self.moves) :], strict=True):
            near[place] = value
        return at, near

    def tensions(self, line: Line, near: float, at: np.ndarray, share: float) -> list[float]:
        """Half way along each segment, in the order of `through`; each turn multiplies by its capstan ratio."""
        places = line.through if line.runs is None or not line.runs.last else line.through[::-1]
        at_point, found = near, []
        for step, (a, b) in enumerate(zip(places, places[1:])):
            if step and line.runs is not None:
                before, after = at[a] - at[places[step - 1]], at[b] - at[a]
                cosine = before @ after / (np.linalg.norm(before) * np.linalg.norm(after))
                turn = line.turn(a, math.acos(min(1.0, max(-1.0, cosine))), share)
                at_point = at_point / turn if line.runs.taken_in else at_point * turn
            rise = 0.5 * line.weight * (at[b][2] - at[a][2])
            found.append(at_point + rise)
            at_point += 2.0 * rise
        return found if line.runs is None or not line.runs.last else found[::-1]

    def left_over(self, x: np.ndarray, share: float, least: float) -> np.ndarray:
        """What is out of balance at each point that moves, then by how much force each rope's length is missed.

        No leg pulls with less than `least` kN: minus infinity on the way, where a slack leg would lead nowhere, then zero.
        """
        at, near = self.split(x)
        force = self.load.copy()
        for leg in self.rig.legs:
            span = at[leg.end] - at[leg.start]
            distance = float(np.linalg.norm(span))
            pull = span / distance * max(leg.stiffness * (distance - leg.length), least)
            force[leg.start] += pull
            force[leg.end] -= pull
        missed = []
        for place, line in enumerate(self.rig.lines):
            tensions = self.tensions(line, near[place], at, share)
            length = 0.0
            for (a, b), tension in zip(zip(line.through, line.through[1:]), tensions, strict=True):
                span = at[b] - at[a]
                distance = float(np.linalg.norm(span))
                force[a] += span / distance * tension
                force[b] -= span / distance * tension
                force[[a, b], 2] -= 0.5 * line.weight * distance
                length += distance / (1.0 + tension / line.rope.slow)
            if place in self.unknown:
                missed.append((length / sum(line.lengths) - 1.0) * line.rope.slow)
        return np.concatenate([force[self.moves].ravel(), missed])


def solve(rig: Rig) -> Moving:
    """The steady motion. Raises ValueError where the equations are not met, or a rope would push."""
    system = System(rig)
    x = system.start()
    for share, least in [(share, -math.inf) for share in STAGES] + [(1.0, 0.0)]:
        options = {"xtol": 1e-14, "ftol": 1e-14, "maxiter": 20000}
        x = root(system.left_over, x, args=(share, least), method="lm", options=options).x
    worst = float(np.abs(system.left_over(x, 1.0, 0.0)).max())
    if worst > BALANCE * system.scale():
        raise ValueError(f"no steady motion found: {worst:.3g} kN left over")
    at, near = system.split(x)
    lines = [system.tensions(line, near[place], at, 1.0) for place, line in enumerate(rig.lines)]
    if min(min(line) for line in lines) < 0.0:
        raise ValueError("a rope would push")
    legs = []
    for leg in rig.legs:
        distance = float(np.linalg.norm(at[leg.end] - at[leg.start]))
        legs.append(leg.stiffness * max(distance - leg.length, 0.0))
    return Moving(legs, lines)

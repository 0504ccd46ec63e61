"""Falls by `scipy.integrate.solve_ivp`, with the capstan friction softened.

The contract's friction is a threshold: rope runs only while the tensions differ by more than the capstan ratio,
and while it runs they differ by exactly that. Here rope runs at a speed proportional to what the tensions differ
beyond the ratio: `softening` kN for each m/s. The brake is softened alike. Each fall is solved twice, the second
time with the softening halved, and counts only where both agree: see `Fall.agrees`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import OptimizeResult

from rig import GRAVITY, Leg, Line, Rig

SOFTENING = 2e-4
"""kN of excess tension for each m/s of running rope, in the coarser of the two runs."""
SOFTENING_AT_JOINTS = 2e-5
"""The same where a rope runs through a joint or a draw: these are light and whip, so their peaks close in late and
not from one side, and two coarser runs can agree with each other while both are 1 % from the limit."""
AGREEMENT = 0.005
"""Largest relative difference of any line peak between the two runs."""
SMALL_KN = 0.05
"""Peaks below this are compared as if they were this large: a rope that hardly pulls has no meaningful ratio."""
METHOD = "Radau"
"""An implicit method, for rope that runs over a hardly softened friction is very stiff."""
DIFFERENCE = 1e-8
"""Step of the derivative's differences, in the state's own units: m, m/s and kN."""
LEG_DAMPING = 0.1
NEAREST_M = 0.3
TOUCH_M = 1e-8
"""How far a person sinks past the floor or the stop before it counts, so that leaving is not taken for arriving."""


@dataclass
class Peaks:
    """Largest forces (kN) and extreme heights (m) of one run."""

    lines: list[list[float]]
    legs: list[float]
    points: dict[str, float]
    heights: dict[str, tuple[float, float]]
    stopped: bool = False


@dataclass(frozen=True)
class Fall:
    """Both runs of one fall."""

    coarse: Peaks
    fine: Peaks

    @property
    def disagreement(self) -> float:
        """Largest relative difference of a line peak between the two runs."""
        pairs = zip(sum(self.coarse.lines, []), sum(self.fine.lines, []))
        return max(abs(a - b) / max(b, SMALL_KN) for a, b in pairs)

    @property
    def agrees(self) -> bool:
        """Whether the result counts."""
        return self.disagreement <= AGREEMENT


def solve(rig: Rig, tolerance: float = 1e-6) -> Fall:
    """Solves a fall with the softening that suits it and with half of that."""
    at_joints = any(rig.points[i].kind == "joint" for line in rig.lines for i in line.through[1:-1])
    softening = SOFTENING_AT_JOINTS if at_joints else SOFTENING
    return Fall(Run(rig, softening, tolerance).peaks(), Run(rig, softening / 2, tolerance).peaks())


@dataclass
class Snapshot:
    """All forces at one state."""

    pulls: list[list[float]]
    """Sum of ropes and legs on each point, kN."""
    ropes: list[list[float]]
    """Sum of the ropes alone on each point, kN."""
    legs: list[float] = field(default_factory=list)
    tensions: list[list[float]] = field(default_factory=list)
    rope_rates: list[float] = field(default_factory=list)
    """Rates of unstretched length and q, segment by segment."""


class Run:
    """One integration of a rig with one softening.

    The state holds position and velocity of each point that moves, then unstretched length and q of each segment.
    """

    def __init__(self, rig: Rig, softening: float, tolerance: float) -> None:
        self.rig, self.softening, self.tolerance = rig, softening, tolerance
        self.movers = [i for i, p in enumerate(rig.points) if p.kind != "fixed"]
        self.slot = {point: 6 * n for n, point in enumerate(self.movers)}
        self.standers = [i for i in self.movers if rig.points[i].kind == "stands"]
        self.next_point = {i: self._next_point(i) for i in self.standers}
        self.held = set(self.standers)
        self.dampers = [self._damper(leg) for leg in rig.legs]
        self.stopped = False
        self.start = [x for i in self.movers for x in (*rig.points[i].at, 0.0, 0.0, 0.0)]
        self.start += [x for line in rig.lines for length in line.lengths for x in (length, 0.0)]

    def _next_point(self, person: int) -> int | None:
        for line in self.rig.lines:
            if line.through[0] == person:
                return line.through[1]
            if line.through[-1] == person:
                return line.through[-2]
        return None

    def _damper(self, leg: Leg) -> float:
        """Damping of a leg in kN s/m: a tenth of critical for its lighter end that moves."""
        masses = [self.rig.points[i].mass for i in (leg.start, leg.end) if i in self.slot]
        return 2 * LEG_DAMPING * math.sqrt(1000 * leg.stiffness * min(masses)) / 1000 if masses else 0.0

    def forces(self, y: list[float]) -> Snapshot:
        """Every force at the state `y`, and the rates of the ropes."""
        count = len(self.rig.points)
        at = [y[self.slot[i] : self.slot[i] + 3] if i in self.slot else p.at for i, p in enumerate(self.rig.points)]
        speed = [y[self.slot[i] + 3 : self.slot[i] + 6] if i in self.slot else (0.0,) * 3 for i in range(count)]
        now = Snapshot([[0.0] * 3 for _ in range(count)], [[0.0] * 3 for _ in range(count)])
        for leg, damper in zip(self.rig.legs, self.dampers):
            unit, distance, rate = _between(at, speed, leg.start, leg.end)
            stretch = distance - leg.length
            tension = max(leg.stiffness * stretch + damper * rate, 0.0) if stretch > 0 else 0.0
            now.legs.append(tension)
            _pull(now.pulls, leg.start, leg.end, unit, tension)
        first = 6 * len(self.movers)
        for line in self.rig.lines:
            last = first + 2 * len(line.lengths)
            self._rope(line, y[first:last], at, speed, now)
            first = last
        return now

    def _rope(self, line: Line, state: list[float], at: list, speed: list, now: Snapshot) -> None:
        """Adds one line's tensions, pulls and rates to `now`."""
        rope, lengths, qs = line.rope, state[0::2], state[1::2]
        spans = [_between(at, speed, a, b) for a, b in zip(line.through, line.through[1:])]
        tensions = [max(rope.slow * (d / l - 1) + q, 0.0) for (_, d, _), l, q in zip(spans, lengths, qs)]
        for (a, b), (unit, _, _), tension in zip(zip(line.through, line.through[1:]), spans, tensions):
            _pull(now.pulls, a, b, unit, tension)
            _pull(now.ropes, a, b, unit, tension)
        gains = self._gains(line, spans, tensions)
        for (_, d, rate), l, q, tension, gain in zip(spans, lengths, qs, tensions, gains):
            if tension > 0:
                q_rate = rope.fast * (rate - d * gain / l) / l - q / rope.relax
            else:
                q_rate = -q / rope.relax * rope.slow / (rope.slow + rope.fast)
            now.rope_rates += (gain, q_rate)
        now.tensions.append(tensions)

    def _gains(self, line: Line, spans: list, tensions: list[float]) -> list[float]:
        """Rate of unstretched length of each segment, m/s: what the brake pays out and what runs at each turn."""
        gains = [0.0] * len(tensions)
        if line.slips_at is not None:
            gains[0] += max(tensions[0] - line.slips_at, 0.0) / self.softening
        for i, friction in enumerate(line.friction):
            before, after = spans[i][0], spans[i + 1][0]
            cosine = before[0] * after[0] + before[1] * after[1] + before[2] * after[2]
            ratio = math.exp(friction * math.acos(min(1.0, max(-1.0, cosine))))
            onward = max(tensions[i + 1] - ratio * tensions[i], 0.0)
            back = max(tensions[i] - ratio * tensions[i + 1], 0.0)
            running = (onward - back) / self.softening
            gains[i] -= running
            gains[i + 1] += running
        return gains

    def rates(self, _time: float, state: np.ndarray) -> list[float]:
        """Right-hand side of the equations of motion."""
        y = state.tolist()
        now = self.forces(y)
        rates: list[float] = []
        for i in self.movers:
            if i in self.held:
                rates += (0.0,) * 6
                continue
            slot, (x, up, z) = self.slot[i], now.pulls[i]
            per = 1000 / self.rig.points[i].mass
            rates += y[slot + 3 : slot + 6]
            rates += (x * per, up * per, z * per - GRAVITY)
        return rates + now.rope_rates

    def slopes(self, time: float, state: np.ndarray) -> np.ndarray:
        """Derivative of the rates by the state, by differences of one fixed step.

        The solver's own estimate lets the step grow without end for what nothing depends on, such as the place of
        a person who is held.
        """
        here, slopes = np.array(self.rates(time, state)), np.empty((state.size, state.size))
        for i in range(state.size):
            beside = state.copy()
            beside[i] += DIFFERENCE
            slopes[:, i] = (np.array(self.rates(time, beside)) - here) / DIFFERENCE
        return slopes

    # --- persons who stand ------------------------------------------------------------------------------------

    def _lift(self, person: int, state: np.ndarray) -> float:
        """Positive where a held person leaves: lifted off the floor, or sinking away from the stop."""
        y = state.tolist()
        pull = self.forces(y).pulls[person]
        net = (pull[0], pull[1], pull[2] - self.rig.points[person].mass * GRAVITY / 1000)
        if self._height(person, state) <= TOUCH_M:
            return net[2]
        nearer = self._offset(person, state)
        return -sum(a * b for a, b in zip(net, nearer))

    def _height(self, person: int, state: np.ndarray) -> float:
        """Height of a person over their floor, m."""
        return state[self.slot[person] + 2] - self.rig.points[person].at[2]

    def _offset(self, person: int, state: np.ndarray) -> np.ndarray:
        """From a person to the next point of their line, m."""
        target = self.next_point[person]
        there = state[self.slot[target] :][:3] if target in self.slot else np.array(self.rig.points[target].at)
        return there - state[self.slot[person] :][:3]

    def _clearance(self, person: int, state: np.ndarray) -> float:
        """Distance of a person in the air to what will halt them: the floor or the stop before the next point, m."""
        to_floor = self._height(person, state)
        if self.next_point[person] is None:
            return to_floor
        return min(to_floor, float(np.linalg.norm(self._offset(person, state))) - NEAREST_M)

    def _events(self) -> list[Callable[[float, np.ndarray], float]]:
        return [self._event(person) for person in self.standers]

    def _event(self, person: int) -> Callable[[float, np.ndarray], float]:
        """Rises through zero when the person changes between held and free."""
        if person in self.held:

            def event(_time: float, state: np.ndarray) -> float:
                return self._lift(person, state)
        else:

            def event(_time: float, state: np.ndarray) -> float:
                return -TOUCH_M - self._clearance(person, state)

        event.terminal, event.direction = True, 1
        return event

    def _change(self, person: int, state: np.ndarray) -> None:
        """Lets a held person go, or halts one in the air; who is halted loses all speed."""
        if person in self.held:
            self.held.remove(person)
            return
        self.held.add(person)
        slot = self.slot[person]
        state[slot + 3 : slot + 6] = 0.0
        if self._height(person, state) <= 0:
            state[slot + 2] = self.rig.points[person].at[2]
        else:
            self.stopped = True

    # --- the whole run ----------------------------------------------------------------------------------------

    def peaks(self) -> Peaks:
        """Integrates from rest to `until_s` and gathers the extremes."""
        time, state = 0.0, np.array(self.start)
        seen = Extremes(self)
        while time < self.rig.until:
            for person in self.standers:
                if person in self.held and self._lift(person, state) > 0:
                    self._change(person, state)
            part = solve_ivp(
                self.rates, (time, self.rig.until), state, method=METHOD, jac=self.slopes, events=self._events(),
                dense_output=True, rtol=self.tolerance, atol=self.tolerance * 0.1,
            )
            if part.status < 0:
                raise ArithmeticError(part.message)
            seen.add(part)
            time, state = part.t[-1], part.y[:, -1].copy()
            for person, times in zip(self.standers, part.t_events if self.standers else []):
                if len(times):
                    self._change(person, state)
        return seen.peaks()


class Extremes:
    """Largest forces and extreme heights, gathered at every step and between."""

    BETWEEN = (0.25, 0.5, 0.75, 1.0)

    def __init__(self, run: Run) -> None:
        self.run = run
        rig = run.rig
        self.lines = [[0.0] * len(line.lengths) for line in rig.lines]
        self.legs = [0.0] * len(rig.legs)
        self.points = [0.0] * len(rig.points)
        self.low = [p.at[2] for p in rig.points]
        self.high = list(self.low)

    def add(self, part: OptimizeResult) -> None:
        """Takes in one integrated stretch of the run."""
        for before, after in zip(part.t, part.t[1:]):
            for state in part.sol([before + share * (after - before) for share in self.BETWEEN]).T:
                self._take(state.tolist())

    def _take(self, y: list[float]) -> None:
        now = self.run.forces(y)
        self.legs = [max(pair) for pair in zip(self.legs, now.legs)]
        self.lines = [[max(pair) for pair in zip(*both)] for both in zip(self.lines, now.tensions)]
        for i, point in enumerate(self.run.rig.points):
            force = now.ropes[i] if point.kind == "joint" else now.pulls[i]
            self.points[i] = max(self.points[i], math.hypot(*force))
            if i in self.run.slot:
                z = y[self.run.slot[i] + 2]
                self.low[i], self.high[i] = min(self.low[i], z), max(self.high[i], z)

    def peaks(self) -> Peaks:
        """What was gathered, by name."""
        names = [p.name for p in self.run.rig.points]
        heights = {name: (low, high) for name, low, high in zip(names, self.low, self.high)}
        return Peaks(self.lines, self.legs, dict(zip(names, self.points)), heights, self.run.stopped)


def _between(at: list, speed: list, a: int, b: int) -> tuple[tuple[float, float, float], float, float]:
    """Unit vector from a to b, distance, and rate of the distance."""
    (ax, ay, az), (bx, by, bz) = at[a], at[b]
    (au, av, aw), (bu, bv, bw) = speed[a], speed[b]
    x, y, z = bx - ax, by - ay, bz - az
    distance = math.sqrt(x * x + y * y + z * z)
    x, y, z = x / distance, y / distance, z / distance
    return (x, y, z), distance, x * (bu - au) + y * (bv - av) + z * (bw - aw)


def _pull(on: list[list[float]], a: int, b: int, unit: tuple[float, float, float], tension: float) -> None:
    """Adds a tension between a and b to the forces on both."""
    for axis in range(3):
        on[a][axis] += tension * unit[axis]
        on[b][axis] -= tension * unit[axis]

"""Reads the core keys of a rig file into plain data for the two solvers.

Lengths in metres, masses in kilograms, forces in kilonewtons, times in seconds.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from response import Response, from_data_sheet

GRAVITY = 9.80665
"""Standard gravity in m/s2."""

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Point:
    """A place of the rig: an anchor, a joint or a person."""

    name: str
    at: Vector
    kind: str
    """`fixed` (anchors, anchored persons), `joint`, `stands` or `falls`."""
    mass: float = 0.0


@dataclass(frozen=True)
class Leg:
    """A strand of sling that pulls and never pushes; points by index."""

    start: int
    end: int
    length: float
    stiffness: float
    """Force per metre of stretch, kN/m."""


@dataclass(frozen=True)
class Runs:
    """How a line is on the move: at its first or last point, taken in or paid out there, with a pull in kN where given."""

    last: bool
    taken_in: bool
    pull: float | None


@dataclass(frozen=True)
class Line:
    """A rope, fast at both ends, that runs through the points between."""

    rope: Response
    through: tuple[int, ...]
    lengths: tuple[float, ...]
    """Unstretched length of each segment at t = 0."""
    friction: tuple[float, ...]
    """Capstan coefficient at each inner point."""
    slips_at: float | None
    runs: Runs | None = None
    weight: float = 0.0
    """Weight by length, kN/m; for ropes on the move."""
    factors: tuple[float, ...] = ()
    """At each inner point, what a device makes of the tension whatever the angle; on the move only."""

    def turn(self, point: int, angle: float, share: float) -> float:
        """Ratio of the tensions on both sides of an inner point, with a share of all friction."""
        inner = self.through.index(point, 1) - 1
        return (math.exp(self.friction[inner] * angle) * self.factors[inner]) ** share


@dataclass
class Rig:
    """Everything the mechanics need to know."""

    case: str
    until: float
    points: list[Point] = field(default_factory=list)
    legs: list[Leg] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    pulls: list[tuple[int, Vector]] = field(default_factory=list)

    def index(self, name: str) -> int:
        """Index of the point called `name`."""
        return next(i for i, point in enumerate(self.points) if point.name == name)


def load(path: Path) -> Rig:
    """Reads the rig file at `path`."""
    return from_table(tomllib.loads(path.read_text(encoding="utf-8")))


def from_table(table: dict[str, Any]) -> Rig:
    """Builds the rig that a parsed rig file describes."""
    rig = Rig(case=table["case"], until=table.get("until_s", 3.0))
    _add_points(rig, table)
    _add_legs(rig, table)
    for line in table.get("line", []):
        rig.lines.append(_line(rig, table, line))
    for pull in table.get("pull", []):
        rig.pulls.append((rig.index(pull["at"]), tuple(pull["force_kn"])))
    return rig


def _add_points(rig: Rig, table: dict[str, Any]) -> None:
    for anchor in table.get("anchor", []):
        rig.points.append(Point(anchor["name"], tuple(anchor["at_m"]), "fixed"))
    for joint in table.get("joint", []):
        rig.points.append(Point(joint["name"], tuple(joint["at_m"]), "joint", joint.get("mass_kg", 0.1)))
    for person in table.get("person", []):
        kind = "fixed" if person.get("anchored") else "stands" if person.get("stands") else "falls"
        rig.points.append(Point(person["name"], tuple(person["at_m"]), kind, person["mass_kg"]))
    for draw in table.get("draw", []):
        x, y, z = rig.points[rig.index(draw["on"])].at
        rig.points.append(Point(draw["name"], (x, y, z - draw["length_m"]), "joint", draw.get("mass_kg", 0.1)))


def _add_legs(rig: Rig, table: dict[str, Any]) -> None:
    draws = [{"from": d["on"], "to": d["name"], "of": d["of"], "length_m": d["length_m"]} for d in table.get("draw", [])]
    for leg in table.get("leg", []) + draws:
        start, end = rig.index(leg["from"]), rig.index(leg["to"])
        length = leg.get("length_m", math.dist(rig.points[start].at, rig.points[end].at))
        stiffness = table["sling"][leg["of"]]["stiffness_kn"] * leg.get("strands", 1) / length
        rig.legs.append(Leg(start, end, length, stiffness))


def _line(rig: Rig, table: dict[str, Any], line: dict[str, Any]) -> Line:
    through = tuple(rig.index(name) for name in line["through"])
    drawn = [math.dist(rig.points[a].at, rig.points[b].at) for a, b in zip(through, through[1:])]
    if "length_m" in line:
        lengths = [line["length_m"] * d / sum(drawn) for d in drawn]
    else:
        lengths = drawn[:-1] + [drawn[-1] + line.get("slack_m", 0.0)]
    turns = [_turn(table, name, line["of"]) for name in line["through"][1:-1]]
    slips_at = line["brake"]["slips_at_kn"] if "brake" in line else None
    rope = table["rope"][line["of"]]
    weight = rope.get("mass_kg_per_m", 0.0) * GRAVITY / 1000
    friction, factors = (tuple(part) for part in zip(*turns)) if turns else ((), ())
    return Line(_response(rope), through, tuple(lengths), friction, slips_at, _runs(line), weight, factors)


def _runs(line: dict[str, Any]) -> Runs | None:
    end = line.get("taken_in_at", line.get("runs_to", line.get("paid_out_at")))
    if end is None:
        return None
    return Runs(line["through"][0] != end, "paid_out_at" not in line, line.get("pull_kn"))


def _turn(table: dict[str, Any], point: str, rope: str) -> tuple[float, float]:
    """Friction per radian and factor at a point: of the device there, else of the connector."""
    for device in table.get("device", []):
        if device["at"] == point and rope in (device.get("joins") or [rope]):
            if "efficiency" in device:
                return -math.log(device["efficiency"]) / math.pi, 1.0
            if "ratio" in device:
                return 0.0, device["ratio"]
            return 0.0, math.exp(device["friction"] * 2 * math.pi * device["wraps"])
    return _friction(table, point, rope), 1.0


def _friction(table: dict[str, Any], point: str, rope: str) -> float:
    """The coefficient where `rope` runs at `point`: of several connectors the one that joins it, else the first."""
    default = table.get("friction", 0.25)
    here = [c for c in table.get("connector", []) if c["at"] == point]
    for draw in table.get("draw", []):
        if draw["name"] == point and "rope_end" in draw:
            here = [c for c in here if c["name"] == draw["rope_end"]]
    chosen = next((c for c in here if rope in c.get("joins", [])), here[0] if here else {})
    return chosen.get("friction", default)


def _response(rope: dict[str, Any]) -> Response:
    if "response" in rope:
        return Response(*(rope["response"][key] for key in ("slow_kn", "fast_kn", "relax_s")))
    sheet = (rope[key] for key in ("impact_force_kn", "static_elongation_pct", "dynamic_elongation_pct"))
    return from_data_sheet(*sheet, half=rope.get("kind") == "half")

"""Random rigs of core keys only, as tables and as TOML text."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.random import Generator

from response import from_data_sheet

Table = dict[str, Any]


def falls(random: Generator) -> list[Table]:
    """Twenty falls of all kinds."""
    kinds = [direct_belay] * 4 + [lead] * 9 + [two_half_ropes] + [top_rope] * 4 + [lead_on_draws] * 2
    return [kind(random) for kind in kinds]


def networks(random: Generator) -> list[Table]:
    """Forty networks at rest."""
    return [network(random) for _ in range(40)]


def moving(random: Generator) -> list[Table]:
    """Thirty rigs with ropes on the move."""
    kinds = [z_rig, compound, lowered, rappel, drag]
    return [kinds[i % len(kinds)](random) for i in range(30)]


# --- falls ----------------------------------------------------------------------------------------------------


def direct_belay(random: Generator) -> Table:
    """A hard fall near the belay: no piece or one piece between an anchor and the leader."""
    rig = _fall(random, "Direct belay")
    rig["anchor"] = [{"name": "belay", "at_m": [0.0, 0.0, 0.0]}]
    if random.random() < 0.5:
        rig["anchor"].append({"name": "piece 1", "at_m": _vector(random, (-0.6, 0.6), (-0.3, 0.3), (1.0, 2.5))})
    _leader_above(random, rig, (1.0, 3.0))
    _connectors(random, rig, [a["name"] for a in rig["anchor"][1:]])
    _run_rope(random, rig, [a["name"] for a in rig["anchor"]] + ["leader"])
    return rig


def lead(random: Generator) -> Table:
    """A lead fall past one to five clips, belayed from the ground."""
    rig = _fall(random, "Lead fall")
    pieces = _pieces(random, rig, int(random.integers(1, 6)))
    _leader_above(random, rig, (0.5, 2.5))
    _belayer(random, rig)
    _connectors(random, rig, pieces)
    _run_rope(random, rig, ["belayer", *pieces, "leader"])
    return rig


def two_half_ropes(random: Generator) -> Table:
    """A lead fall on two half ropes clipped in turn."""
    rig = _fall(random, "Lead fall on two half ropes")
    rig["rope"] = {name: {"kind": "half", "response": _response(random, 0.6)} for name in ("red", "blue")}
    pieces = _pieces(random, rig, 4)
    _leader_above(random, rig, (0.5, 2.0))
    _belayer(random, rig)
    rig["line"] = [
        {"of": "red", "through": ["belayer", pieces[0], pieces[2], "leader"], "slack_m": _number(random, 0.0, 0.4)},
        {"of": "blue", "through": ["belayer", pieces[1], pieces[3], "leader"], "slack_m": _number(random, 0.0, 0.4)},
    ]
    return rig


def top_rope(random: Generator) -> Table:
    """A climber falls below a master point on two cord legs."""
    rig = _fall(random, "Top rope on two legs")
    height = random.uniform(10.0, 16.0)
    rig["sling"] = {"cord": {"stiffness_kn": _number(random, 50.0, 100.0)}}
    rig["anchor"] = [
        {"name": "left", "at_m": _vector(random, (-0.6, -0.2), (-0.1, 0.1), (height, height + 0.3))},
        {"name": "right", "at_m": _vector(random, (0.2, 0.6), (-0.1, 0.1), (height, height + 0.3))},
    ]
    rig["joint"] = [{"name": "master", "at_m": _vector(random, (-0.1, 0.1), (-0.1, 0.1), (height - 0.8, height - 0.5))}]
    rig["leg"] = [{"from": side, "to": "master", "of": "cord"} for side in ("left", "right")]
    at = _vector(random, (-0.4, 0.4), (-0.4, 0.4), (height - 5.0, height - 2.5))
    rig["person"] = [{"name": "leader", "mass_kg": _number(random, 60.0, 95.0), "at_m": at}]
    _belayer(random, rig)
    _connectors(random, rig, ["master"])
    _run_rope(random, rig, ["belayer", "master", "leader"])
    return rig


def lead_on_draws(random: Generator) -> Table:
    """A lead fall on swinging draws of moderate stiffness."""
    rig = _fall(random, "Lead fall on draws")
    bolts = _pieces(random, rig, int(random.integers(1, 4)))
    rig["sling"] = {"tape": {"stiffness_kn": _number(random, 60.0, 150.0)}}
    draws = [f"draw {i + 1}" for i in range(len(bolts))]
    rig["draw"] = [
        {"name": draw, "on": bolt, "of": "tape", "length_m": _number(random, 0.12, 0.6)} for draw, bolt in zip(draws, bolts)
    ]
    _leader_above(random, rig, (0.8, 2.0))
    _belayer(random, rig)
    rig["connector"] = [{"name": "lower", "at": draws[-1], "friction": _number(random, 0.1, 0.4)}]
    rig["draw"][-1]["rope_end"] = "lower"
    _run_rope(random, rig, ["belayer", *draws, "leader"])
    return rig


def _fall(random: Generator, title: str) -> Table:
    return {
        "title": title,
        "case": "fall",
        "friction": _number(random, 0.1, 0.35),
        "until_s": 2.5,
        "rope": {"main": _rope(random)},
    }


def _rope(random: Generator) -> Table:
    """A rope by its response or by a data sheet that a response can meet."""
    if random.random() < 0.5:
        return {"response": _response(random)}
    while True:
        impact, static, dynamic = (_number(random, *limits, 1) for limits in ((8.0, 9.6), (6.5, 9.5), (30.0, 36.0)))
        try:
            from_data_sheet(impact, static, dynamic)
        except ValueError:
            continue
        return {"impact_force_kn": impact, "static_elongation_pct": static, "dynamic_elongation_pct": dynamic}


def _response(random: Generator, share: float = 1.0) -> Table:
    return {
        "slow_kn": _number(random, 8.0 * share, 14.0 * share),
        "fast_kn": _number(random, 10.0 * share, 25.0 * share),
        "relax_s": _number(random, 0.08, 0.4),
    }


def _pieces(random: Generator, rig: Table, count: int) -> list[str]:
    """Adds pieces one above the other at random places; returns their names."""
    height, rig["anchor"] = random.uniform(3.0, 4.0), []
    for i in range(count):
        at = _vector(random, (-0.8, 0.8), (-0.4, 0.4), (height, height))
        rig["anchor"].append({"name": f"piece {i + 1}", "at_m": at})
        height += random.uniform(1.5, 3.0)
    return [anchor["name"] for anchor in rig["anchor"]]


def _leader_above(random: Generator, rig: Table, above: tuple[float, float]) -> None:
    """Adds a leader above the last piece, beside it so that the fall does not pass through it."""
    x, y, z = rig["anchor"][-1]["at_m"]
    aside, bearing = random.uniform(0.2, 0.6), random.uniform(0.0, 2 * math.pi)
    at = [x + aside * math.cos(bearing), y + aside * math.sin(bearing), z + random.uniform(*above)]
    rig["person"] = [{"name": "leader", "mass_kg": _number(random, 60.0, 95.0), "at_m": [round(v, 4) for v in at]}]


def _belayer(random: Generator, rig: Table) -> None:
    at = _vector(random, (-1.0, 1.0), (0.3, 1.5), (1.0, 1.0))
    how = "stands" if random.random() < 0.6 else "anchored"
    rig["person"].append({"name": "belayer", "mass_kg": _number(random, 55.0, 95.0), "at_m": at, how: True})


def _connectors(random: Generator, rig: Table, places: list[str]) -> None:
    """Gives some places a connector of its own friction, or two of which the second joins the rope."""
    rig["connector"] = []
    for place in places:
        if random.random() < 0.4:
            rig["connector"].append({"name": f"at {place}", "at": place, "friction": _number(random, 0.05, 0.4)})
            if random.random() < 0.3:
                second = {"name": f"second at {place}", "at": place, "joins": ["main"]}
                rig["connector"].append(second | {"friction": _number(random, 0.05, 0.4)})


def _run_rope(random: Generator, rig: Table, through: list[str]) -> None:
    line: Table = {"of": "main", "through": through}
    if random.random() < 0.7:
        line["slack_m"] = _number(random, 0.0, 1.0)
    if random.random() < 0.5:
        line["brake"] = {"slips_at_kn": _number(random, 1.0, 4.0)}
    rig["line"] = [line]


# --- ropes on the move ----------------------------------------------------------------------------------------


def z_rig(random: Generator) -> Table:
    """A 3:1 from a station on two legs, raised or lowered."""
    rig = _moving(random, "Z rig")
    _station(random, rig)
    _climber(random, rig)
    _traveller(random, rig, "traveller", (9.0, 13.0))
    _hands(random, rig, (20.5, 22.0))
    end = "taken_in_at" if random.random() < 0.5 else "paid_out_at"
    rig["line"] = [
        {"of": "main", "through": ["climber", "traveller"]},
        {"of": "main", "through": ["traveller", "station", "traveller", "hands"], end: "hands"},
    ]
    rig["device"] = [_pulley(random, "station"), _pulley(random, "traveller")]
    return rig


def compound(random: Generator) -> Table:
    """A 2:1 or a 3:1 that pulls on a 3:1; the rope between runs with no hand on it."""
    rig = _moving(random, "Pulleys on pulleys")
    rig["rope"]["second"] = {"response": _response(random)}
    _station(random, rig)
    _climber(random, rig)
    _traveller(random, rig, "traveller", (9.0, 13.0))
    _traveller(random, rig, "second traveller", (29.0, 33.0))
    rig["anchor"].append({"name": "high", "at_m": _vector(random, (-0.5, 0.5), (-0.5, 0.5), (40.0, 45.0))})
    _hands(random, rig, (45.5, 47.0))
    second = ["second traveller", "high", "second traveller", "hands"]
    if random.random() < 0.5:
        second = ["high", "second traveller", "hands"]
    rig["line"] = [
        {"of": "main", "through": ["climber", "traveller"]},
        {"of": "main", "through": ["traveller", "station", "traveller", "second traveller"], "runs_to": "second traveller"},
        {"of": "second", "through": second, "taken_in_at": "hands"},
    ]
    rig["device"] = [_pulley(random, at) for at in ("station", "traveller", "second traveller", "high")]
    if second[0] == "high":
        rig["device"].pop()
    return rig


def lowered(random: Generator) -> Table:
    """One lowered off a station by a device, or with the rope over connectors; the rope has weight."""
    rig = _moving(random, "Lowering")
    rig["rope"]["main"]["mass_kg_per_m"] = _number(random, 0.05, 0.08)
    _station(random, rig)
    _climber(random, rig)
    _hands(random, rig, (0.0, 2.0) if random.random() < 0.5 else (18.0, 19.5))
    rig["line"] = [{"of": "main", "through": ["hands", "station", "climber"], "paid_out_at": "hands"}]
    kind = random.integers(0, 3)
    if kind == 0:
        rig["device"] = [{"name": "brake", "at": "station", "ratio": _number(random, 2.0, 9.0)}]
    elif kind == 1:
        bar = {"name": "bar", "at": "station", "friction": _number(random, 0.1, 0.25), "wraps": _number(random, 0.5, 1.5)}
        rig["device"] = [bar]
    else:
        _connectors(random, rig, ["station"])
    return rig


def rappel(random: Generator) -> Table:
    """A rappel on one or two strands with weight; the device hangs on the rappeller."""
    rig = _moving(random, "Rappel")
    rig["rope"]["main"]["mass_kg_per_m"] = _number(random, 0.05, 0.08)
    _station(random, rig)
    _climber(random, rig)
    x, y, z = rig["person"][0]["at_m"]
    rig["joint"].append({"name": "device", "at_m": [x, y, round(z + 0.6, 4)]})
    rig["leg"].append({"from": "device", "to": "climber", "of": "cord"})
    strand = {"of": "main", "through": ["station", "device", "climber"], "paid_out_at": "climber"}
    rig["line"] = [dict(strand) for _ in range(int(random.integers(1, 3)))]
    rig["device"] = [{"name": "brake", "at": "device", "ratio": _number(random, 3.0, 12.0)}]
    return rig


def drag(random: Generator) -> Table:
    """A rope that a leader takes along over clips to either side, paid out with a little pull."""
    rig = _moving(random, "Rope drag")
    pieces = _pieces(random, rig, int(random.integers(2, 6)))
    for side, anchor in enumerate(rig["anchor"]):
        anchor["at_m"][0] += 2.0 * (side % 2)
    rig["sling"] = {"tape": {"stiffness_kn": _number(random, 60.0, 150.0)}}
    draws = [f"draw {i + 1}" for i in range(len(pieces))]
    rig["draw"] = [
        {"name": draw, "on": bolt, "of": "tape", "length_m": _number(random, 0.12, 0.3), "mass_kg": 1e-6}
        for draw, bolt in zip(draws, pieces)
    ]
    top = rig["anchor"][-1]["at_m"]
    rig["person"] = [
        {"name": "leader", "mass_kg": 80.0, "at_m": [top[0] - 1.0, top[1], round(top[2] + 2.0, 4)], "anchored": True},
        {"name": "belayer", "mass_kg": 70.0, "at_m": _vector(random, (-1.0, 1.0), (0.3, 1.5), (1.0, 1.0)), "anchored": True},
    ]
    rig["line"] = [
        {"of": "main", "through": ["belayer", *draws, "leader"], "paid_out_at": "belayer", "pull_kn": _number(random, 0.01, 0.2)}
    ]
    return rig


def _moving(random: Generator, title: str) -> Table:
    rope = {"main": {"response": _response(random)}}
    return {"title": title, "case": "running", "friction": _number(random, 0.1, 0.35), "rope": rope}


def _station(random: Generator, rig: Table) -> None:
    """Two legs of cord to a joint at a height of about 20 m."""
    rig["sling"] = {"cord": {"stiffness_kn": _number(random, 50.0, 100.0)}}
    rig["anchor"] = [
        {"name": "left", "at_m": _vector(random, (-0.6, -0.2), (-0.1, 0.1), (20.6, 21.0))},
        {"name": "right", "at_m": _vector(random, (0.2, 0.6), (-0.1, 0.1), (20.6, 21.0))},
    ]
    rig["joint"] = [{"name": "station", "at_m": _vector(random, (-0.05, 0.05), (-0.05, 0.05), (19.8, 20.0))}]
    rig["leg"] = [{"from": side, "to": "station", "of": "cord"} for side in ("left", "right")]


def _climber(random: Generator, rig: Table) -> None:
    at = _vector(random, (-0.3, 0.3), (-0.3, 0.3), (2.0, 6.0))
    rig["person"] = [{"name": "climber", "mass_kg": _number(random, 50.0, 120.0), "at_m": at}]


def _traveller(random: Generator, rig: Table, name: str, heights: tuple[float, float]) -> None:
    rig["joint"].append({"name": name, "at_m": _vector(random, (-0.1, 0.1), (-0.1, 0.1), heights)})


def _hands(random: Generator, rig: Table, heights: tuple[float, float]) -> None:
    at = _vector(random, (0.3, 1.5), (-0.5, 0.5), heights)
    rig["person"].append({"name": "hands", "mass_kg": 75.0, "at_m": at, "anchored": True})


def _pulley(random: Generator, at: str) -> Table:
    return {"name": f"pulley at {at}", "at": at, "efficiency": _number(random, 0.5, 0.98)}


# --- networks at rest -----------------------------------------------------------------------------------------


def network(random: Generator) -> Table:
    """Anchors, joints below them, legs from each joint to points above it, a line in some, and pulls.

    Every joint hangs by a leg or a line on points above it, so whatever the pulls, something holds them.
    """
    rig: Table = {"title": "Network at rest", "case": "rest", "sling": {}, "leg": [], "line": []}
    for name in ("cord", "tape"):
        rig["sling"][name] = {"stiffness_kn": _number(random, 30.0, 300.0)}
    rig["rope"] = {"loop": {"response": {"slow_kn": _number(random, 20.0, 120.0), "fast_kn": 5.0, "relax_s": 0.5}}}
    rig["anchor"] = [
        {"name": f"anchor {i + 1}", "at_m": _vector(random, (-1.0, 1.0), (-0.3, 0.3), (-0.2, 0.6))}
        for i in range(int(random.integers(2, 7)))
    ]
    rig["joint"] = []
    for i in range(int(random.integers(1, 7))):
        _hang_joint(random, rig, f"joint {i + 1}", -0.7 - 0.4 * i)
    _load(random, rig)
    return rig


def _hang_joint(random: Generator, rig: Table, name: str, height: float) -> None:
    """Adds a joint with legs to one to four points above it, and perhaps a line; perhaps only the line."""
    above = rig["anchor"] + rig["joint"]
    joint = {"name": name, "at_m": _vector(random, (-0.5, 0.5), (-0.2, 0.2), (height - 0.1, height + 0.1))}
    rig["joint"].append(joint)
    count = int(random.integers(1, min(4, len(above)) + 1))
    with_line = random.random() < 0.25
    if with_line:
        _hang_line(random, rig, joint)
    if not with_line or random.random() < 0.5:
        for chosen in random.choice(len(above), size=count, replace=False):
            rig["leg"].append(_leg(random, above[chosen], joint))


def _leg(random: Generator, upper: Table, lower: Table) -> Table:
    drawn = math.dist(upper["at_m"], lower["at_m"])
    leg = {"from": upper["name"], "to": lower["name"], "of": str(random.choice(["cord", "tape"]))}
    if random.random() < 0.7:
        leg["length_m"] = round(drawn * random.uniform(0.9, 1.15), 4)
    if random.random() < 0.3:
        leg["strands"] = 2
    return leg


def _hang_line(random: Generator, rig: Table, joint: Table) -> None:
    """A line from one anchor through the joint to another; in some it returns to the first as a closed loop."""
    first, second = (rig["anchor"][i] for i in random.choice(len(rig["anchor"]), size=2, replace=False))
    through = [first, joint, second] + ([first] if random.random() < 0.4 else [])
    drawn = sum(math.dist(a["at_m"], b["at_m"]) for a, b in zip(through, through[1:]))
    length = round(drawn * random.uniform(0.92, 1.08), 4)
    rig["line"].append({"of": "loop", "through": [p["name"] for p in through], "length_m": length})


def _load(random: Generator, rig: Table) -> None:
    """Pulls roughly downwards on one to three joints, the lowest always; in some a person hangs there too."""
    joints = [joint["name"] for joint in rig["joint"]]
    pulled = set(random.choice(joints[:-1], size=min(len(joints) - 1, int(random.integers(0, 3))), replace=False))
    rig["pull"] = []
    for name in [j for j in joints if j in pulled] + joints[-1:]:
        force, tilt, bearing = random.uniform(1.0, 8.0), random.uniform(0.0, math.pi / 4), random.uniform(0, 2 * math.pi)
        flat = force * math.sin(tilt)
        pull = [flat * math.cos(bearing), flat * math.sin(bearing), -force * math.cos(tilt)]
        rig["pull"].append({"at": name, "force_kn": [round(v, 4) for v in pull]})
    if random.random() < 0.25:
        x, y, z = rig["joint"][-1]["at_m"]
        person = {"name": "guest", "mass_kg": _number(random, 50.0, 100.0), "at_m": [x, y, round(z - 0.8, 4)]}
        rig["person"] = [person]
        rig["leg"].append(_leg(random, rig["joint"][-1], person))


def _number(random: Generator, low: float, high: float, decimals: int = 4) -> float:
    return round(float(random.uniform(low, high)), decimals)


def _vector(random: Generator, *ranges: tuple[float, float]) -> list[float]:
    return [_number(random, low, high) for low, high in ranges]


# --- text -----------------------------------------------------------------------------------------------------


def to_toml(rig: Table) -> str:
    """The rig file of a table."""
    lines = [f"{key} = {_value(value)}" for key, value in rig.items() if not isinstance(value, (dict, list))]
    for key, value in rig.items():
        if isinstance(value, dict):
            for name, entries in value.items():
                lines += ["", f"[{key}.{name}]", *_entries(entries)]
        elif isinstance(value, list):
            for entries in value:
                lines += ["", f"[[{key}]]", *_entries(entries)]
    return "\n".join(lines) + "\n"


def _entries(table: Table) -> list[str]:
    return [f"{key} = {_value(value)}" for key, value in table.items()]


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(_entries(value)) + " }"
    return repr(float(value)) if isinstance(value, float) else str(value)

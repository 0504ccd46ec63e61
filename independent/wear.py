"""Compares the wear forecasts of a `linkwright` program with SciPy on random wear files.

The regression: `scipy.optimize.curve_fit` on the readings and the prior as two more readings. The use that is left: the
distribution of the crossing, by `scipy.integrate.quad` over the rate and `scipy.optimize.brentq`. The prior that other
pieces of the kind give: the integral over their spread by `quad`. What counts as use: from the program's own table of
shares of a person's weight, multiplied out here.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import numpy as np
from scipy import integrate, optimize, special, stats

CLOSE = 1e-6
"""Allowed difference, as a share, of everything computed."""
FILES = 40
GRAVITY = 9.80665
DATA = Path(__file__).parent.parent / "crates" / "wear" / "data"


def table(name: str) -> dict:
    """A data file of the program."""
    return tomllib.loads((DATA / name).read_text(encoding="utf-8"))


SHARES = {row["code"]: row["share_of_weight"] for row in table("exposure.toml")["activity"]}
FIGURES = {name: row["value"] for name, row in table("wear.toml").items()}


def exposure(period: dict) -> float:
    """Load times length of rope run, kN m."""
    used = period.get("use", [])
    total = sum(u["times"] * SHARES[u["activity"]] * u["person_kg"] * GRAVITY / 1000 * u["rope_run_m"] for u in used)
    return total + sum(r["times"] * r["load_kn"] * r["rope_run_m"] for r in period.get("run", []))


def readings(piece: dict) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Use, depth and standard uncertainty of each reading."""
    uses = np.cumsum([exposure(period) for period in piece["period"]])
    depths = np.array([period["photo"]["depth_mm"] for period in piece["period"]])
    deviations = np.array([period["photo"]["plus_minus_mm"] for period in piece["period"]]) / stats.norm.ppf(0.975)
    return uses, depths, deviations


def line(piece: dict, rate: tuple[float, float]) -> dict:
    """Posterior of start and rate, given what is held of the rate: mean, scale matrix, degrees of freedom."""
    uses, depths, deviations = readings(piece)
    start = FIGURES["start_new_mm"] if piece.get("from_new") else FIGURES["start_worn_mm"]
    degrees = FIGURES["scatter_degrees"] + len(uses)
    # The prior is two readings more: of the start alone, and of the rate alone.
    rows = np.vstack([np.column_stack([np.ones_like(uses), uses]), np.eye(2)])
    values = np.concatenate([depths, [0.0, rate[0]]])
    sigma = np.concatenate([deviations, [start, rate[1]]])
    # Curve fitting works best on numbers near one.
    scale = np.array([1.0, 1e-4])
    found, covariance = optimize.curve_fit(
        lambda _, a, b: rows @ (scale * [a, b]),
        np.arange(len(values)),
        values,
        p0=[0.0, 1.0],
        sigma=sigma,
        absolute_sigma=True,
        jac=lambda *_: rows * scale,
        ftol=1e-15,
    )
    misfit = np.sum(((values - rows @ (scale * found)) / sigma) ** 2)
    spread = (FIGURES["scatter_degrees"] + misfit) / degrees
    return {"mean": scale * found, "scale": spread * covariance * np.outer(scale, scale), "degrees": degrees}


def prior_of_kind(others: list[dict]) -> tuple[float, float]:
    """Mean and standard deviation of the rate of a new piece, after the other pieces of its kind."""
    wide = FIGURES["rate_wide_mm_per_mn_m"] / 1000
    if not others:
        return 0.0, wide
    lines = [line(piece, (0.0, wide)) for piece in others]
    means = np.array([found["mean"][1] for found in lines])
    deviations = np.array([np.sqrt(found["scale"][1, 1] * found["degrees"] / (found["degrees"] - 2)) for found in lines])
    scale = np.sqrt(np.mean(means**2))

    def given(spread: float) -> tuple[float, float, float]:
        covariance = np.diag(deviations**2 + spread**2) + wide**2
        weight = stats.multivariate_normal.pdf(means, np.zeros_like(means), covariance) * stats.halfnorm.pdf(spread, scale=scale)
        precision = 1 / wide**2 + np.sum(1 / (deviations**2 + spread**2))
        mean = np.sum(means / (deviations**2 + spread**2)) / precision
        return weight, mean, 1 / precision + spread**2

    nearest = deviations.min()
    ends = sorted({0.0, *(nearest * 2.0**k for k in range(-2, 8) if nearest * 2.0**k < 12 * scale), 12 * scale})

    def over(of) -> float:
        return sum(
            integrate.quad(lambda s: of(*given(s)), low, high, epsabs=0, epsrel=1e-11, limit=400)[0]
            for low, high in zip(ends, ends[1:])
        )

    whole = over(lambda weight, *_: weight)
    mean = over(lambda weight, mean, _: weight * mean) / whole
    variance = over(lambda weight, m, v: weight * (v + (m - mean) ** 2)) / whole
    return mean, np.sqrt(variance)


def reached(found: dict, use: float, limit: float) -> float:
    """Probability that the limit is reached at a use, given a rate above zero: over the rate, of what the start then is."""
    (a, b), scale, degrees = found["mean"], found["scale"], found["degrees"]
    width = np.sqrt(scale[1, 1])
    slope = scale[0, 1] / scale[1, 1]
    height = stats.t.pdf(0.0, degrees)
    rest = scale[0, 0] - scale[0, 1] ** 2 / scale[1, 1]

    def at(t: float) -> float:
        rate = b + width * t
        # A conditional of a bivariate t is a t with a degree more.
        spread = np.sqrt(rest * (degrees + t * t) / (degrees + 1))
        level = (limit - rate * use - (a + slope * (rate - b))) / spread
        return special.stdtr(degrees + 1, -level) * height * (1 + t * t / degrees) ** (-(degrees + 1) / 2)

    lowest = -b / width
    # Where the chance turns over, and on both sides of the middle: places that must not be stepped over.
    turn = ((limit - a + slope * b) / (use + slope) - b) / width if use + slope > 0 else 0.0
    narrow = np.sqrt(rest) / (use + slope) / width if use + slope > 0 else 1.0
    places = [lowest, *(turn + narrow * k for k in (-30, -8, -2, 0, 2, 8, 30)), -8.0, -2.0, 0.0, 2.0, 8.0, 40.0, 400.0]
    ends = sorted({place for place in places if place >= lowest})
    pieces = zip(ends, [*ends[1:], np.inf])
    total = sum(integrate.quad(at, low, high, epsabs=1e-13, epsrel=1e-11, limit=400)[0] for low, high in pieces)
    return total / stats.t.sf(lowest, degrees)


def left(found: dict, so_far: float, limit: float, chance: float) -> float:
    """The use that is left until the limit, by its quantile."""
    if reached(found, so_far, limit) >= chance:
        return 0.0
    high = limit / abs(found["mean"][1])
    while reached(found, so_far + high, limit) < chance:
        high *= 2
    return optimize.brentq(lambda more: reached(found, so_far + more, limit) - chance, 0.0, high, xtol=1e-12, rtol=1e-12)


def random_file(random: np.random.Generator) -> dict:
    """A piece with two to six readings, and up to five others of its kind."""
    kind = 1.5e-4 * np.exp(0.6 * random.normal())

    def piece(number: int) -> dict:
        rate, depth, periods = kind * np.exp(0.3 * random.normal()), random.uniform(0, 0.2), []
        count = int(random.integers(2, 7))
        for _ in range(count):
            activity = str(random.choice(["rappel", "lower", "lower-over"]))
            person, rope = round(random.uniform(50, 100), 1), round(random.uniform(8, 40), 1)
            wanted = 0.6 / kind / count * random.uniform(0.5, 1.2)
            times = max(1, round(wanted / (SHARES[activity] * person * GRAVITY / 1000 * rope)))
            use = {"activity": activity, "times": times, "person_kg": person, "rope_run_m": rope}
            depth += rate * exposure({"use": [use]})
            half = round(random.uniform(0.04, 0.12), 3)
            seen = round(max(0.0, depth + half / 2 * random.normal()), 4)
            periods.append({"use": [use], "photo": {"depth_mm": seen, "plus_minus_mm": half}})
        return {"name": f"piece {number}", "kind": "pear", "from_new": bool(random.integers(2)), "period": periods}

    return {"piece": [piece(number) for number in range(int(random.integers(1, 7)))]}


def to_toml(file: dict) -> str:
    """The file as TOML; JSON's numbers and texts are TOML's too."""
    lines = []
    for piece in file["piece"]:
        lines += ["[[piece]]", *(f"{key} = {json.dumps(piece[key])}" for key in ("name", "kind", "from_new"))]
        for period in piece["period"]:
            used = ", ".join(
                "{ " + ", ".join(f"{key} = {json.dumps(value)}" for key, value in use.items()) + " }" for use in period["use"]
            )
            photo = ", ".join(f"{key} = {json.dumps(value)}" for key, value in period["photo"].items())
            lines += ["[[piece.period]]", f"use = [{used}]", f"photo = {{ {photo} }}"]
    return "\n".join(lines) + "\n"


def differences(file: dict, answer: dict) -> dict[str, float]:
    """Largest difference of each thing computed, as a share."""
    asked, others = file["piece"][0], file["piece"][1:]
    mean, deviation = prior_of_kind(others)
    found = line(asked, (mean, deviation))
    there = answer["forecast"]
    so_far, limit = readings(asked)[0][-1], answer["limit_mm"]
    line_there = there["line"]
    widths = np.sqrt(np.diag(found["scale"]))
    scale = found["scale"]
    pairs = {
        "use": [(so_far, answer["use_so_far_kn_m"], so_far)],
        "prior": [(mean, there["prior"]["mean"][1], deviation), (deviation, there["prior"]["deviation"][1], deviation)],
        "line": [
            (found["mean"][0], line_there["start_mm"], widths[0]),
            (found["mean"][1], line_there["rate_mm_per_kn_m"], widths[1]),
            (found["degrees"], line_there["degrees"], 1.0),
            (scale[0, 0], line_there["scale"][0], scale[0, 0]),
            (scale[0, 1], line_there["scale"][1], widths[0] * widths[1]),
            (scale[1, 1], line_there["scale"][2], scale[1, 1]),
        ],
        "left": [
            (left(found, so_far, limit, chance), there["left_kn_m"][name], there["left_kn_m"]["median"])
            for chance, name in ((0.05, "low"), (0.5, "median"))
        ],
    }
    high = left(found, so_far, limit, 0.95)
    pairs["left"].append((high, there["left_kn_m"]["high"], high))
    return {name: max(abs(here - there) / of for here, there, of in rows) for name, rows in pairs.items()}


def main() -> int:
    """Reads the command line and compares."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--binary", type=Path, required=True, help="the program to compare with")
    asked = parser.parse_args()
    random = np.random.default_rng(asked.seed)
    worst: dict[str, float] = {}
    compared = refused = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "wear.toml"
        while compared < FILES and refused < FILES:
            file = random_file(random)
            path.write_text(to_toml(file), encoding="utf-8")
            command = [asked.binary.resolve(), "wear", "forecast", path, "--json"]
            done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
            if done.returncode not in (0, 1):
                print(f"exit status {done.returncode}: {done.stderr.strip()[:300]}")
                return 1
            answer = json.loads(done.stdout)
            if answer["forecast"] is None:
                refused += 1
                continue
            compared += 1
            for name, difference in differences(file, answer).items():
                # A NaN must not slip through.
                worst[name] = max(worst.get(name, 0.0), difference if difference == difference else np.inf)
    for name, difference in worst.items():
        print(f"wear, {name:5}: largest difference {difference:.1e}, {CLOSE:.0e} allowed")
    print(f"{compared} wear files compared, {refused} refused by the program")
    return 0 if compared == FILES and max(worst.values()) <= CLOSE else 1


if __name__ == "__main__":
    sys.exit(main())

"""Compares what the program sees in photos with what OpenCV sees in them, and the time both take.

Marks: OpenCV's corner refinement, started up to three pixels off. Lens: OpenCV's calibration from its own marks of the one view, with
two radial terms and the middle of the picture where the program has it, for one view settles no more; where it and the program put a grid of points of the sheet. Homography: OpenCV's from the same marks, freed of
the lens found, against the program's on the grid. Outlines: OpenCV has no edges between pixels of its own; here they are the
steepest places of light blurred by it (Gauss, then Sobel), along the normals of its own rough contour, by its interpolation.
"""
import argparse
import pathlib
import resource
import subprocess
import sys
import time

import cv2
import numpy as np

LIMITS = {"marks": 0.05, "homography": 0.05, "lens": 0.05, "outlines": 0.1}


def traced(tool, photo, bar):
    """What the program sees, and the processor time it took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    text = subprocess.run([tool, "trace", photo, bar], capture_output=True, text=True, check=True).stdout
    seconds = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before
    rows = {"lens": [], "mark": [], "grid": [], "outer": [], "inner": []}
    for line in text.splitlines():
        name, *values = line.split()
        rows[name].append([float(value) for value in values])
    return {name: np.array(values) for name, values in rows.items()}, seconds


def linear(grey):
    share = np.arange(256) / 255
    table = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4).astype(np.float32)
    return table[grey]


def corners(light, marks, radius, shift):
    start = (marks + shift).astype(np.float32).reshape(-1, 1, 2)
    until = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 100, 1e-4)
    window = max(4, int(0.25 * radius))
    return cv2.cornerSubPix(light, start, (window, window), (-1, -1), until).reshape(-1, 2).astype(float)


def calibrated(sheet, found, size, middle):
    flat = np.column_stack([sheet, np.zeros(len(sheet))]).astype(np.float32)
    focal = 0.75 * max(size)
    guess = np.array([[focal, 0, middle[0]], [0, focal, middle[1]], [0, 0, 1]])
    flags = (cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_FIX_PRINCIPAL_POINT
             | cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_K3)
    _, matrix, bend, turn, shift = cv2.calibrateCamera([flat], [found.astype(np.float32)], size, guess, np.zeros(5), flags=flags)
    return lambda points: cv2.projectPoints(np.column_stack([points, np.zeros(len(points))]), turn[0], shift[0], matrix, bend)[0].reshape(-1, 2)


def straightened(points, lens):
    focal, x, y, k1, k2 = lens
    matrix = np.array([[focal, 0, x], [0, focal, y], [0, 0, 1]])
    return cv2.undistortPoints(points.reshape(-1, 1, 2), matrix, np.array([k1, k2, 0, 0, 0]), P=matrix).reshape(-1, 2)


def outlines(grey, light, middle):
    """Both lines around the piece, between pixels."""
    level, _ = cv2.threshold(cv2.GaussianBlur(grey, (0, 0), 2), 0, 255, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
    _, dark = cv2.threshold(cv2.GaussianBlur(grey, (0, 0), 2), level, 255, cv2.THRESH_BINARY_INV)
    lines, tree = cv2.findContours(dark, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    holding = [i for i in range(len(lines)) if tree[0][i][3] < 0 and cv2.pointPolygonTest(lines[i], middle, False) >= 0]
    outer = max(holding, key=lambda i: cv2.contourArea(lines[i]))
    holes = [i for i in range(len(lines)) if tree[0][i][3] == outer]
    inner = max(holes, key=lambda i: cv2.contourArea(lines[i]))
    return [steepest(light, lines[i].reshape(-1, 2).astype(float)) for i in (outer, inner)]


def steepest(light, line):
    count = len(line)
    reach = 12
    smooth = sum(np.roll(line, step, 0) for step in range(-reach, reach + 1)) / (2 * reach + 1)
    along = np.roll(smooth, -4, 0) - np.roll(smooth, 4, 0)
    normal = np.column_stack([along[:, 1], -along[:, 0]]) / np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    steps = np.arange(-6, 6.01, 0.5)
    spots = (smooth[:, None, :] + steps[None, :, None] * normal[:, None, :]).astype(np.float32)
    soft = cv2.GaussianBlur(light, (0, 0), 1.0)
    across, down = (cv2.Sobel(soft, cv2.CV_32F, right, 1 - right, ksize=3) for right in (1, 0))
    along_x, along_y = (cv2.remap(slope, spots[..., 0], spots[..., 1], cv2.INTER_CUBIC) for slope in (across, down))
    # Both signs: a contour of OpenCV may run either way round.
    slope = np.abs(along_x * normal[:, :1] + along_y * normal[:, 1:])
    top = np.clip(slope.argmax(1), 2, slope.shape[1] - 3)
    near = slope[np.arange(count)[:, None], top[:, None] + np.arange(-2, 3)]
    # The top of the parabola through five values half a pixel apart.
    first, second = near @ [-0.2, -0.1, 0, 0.1, 0.2], near @ [2 / 14, -1 / 14, -2 / 14, -1 / 14, 2 / 14]
    offset = steps[top] - 0.5 * first / np.minimum(2 * second, -1e-9)
    return smooth + offset[:, None] * normal


def apart(points, line):
    """Distance of each point to a closed line given by close points."""
    order = np.concatenate([line, line[:1]])
    found = []
    for point in points:
        way = line - point
        near = int((way ** 2).sum(1).argmin())
        best = np.inf
        for start in (near - 1, near):
            a, b = order[start % len(line)], order[start % len(line) + 1]
            side = b - a
            share = np.clip(((point - a) @ side) / max(side @ side, 1e-12), 0, 1)
            best = min(best, np.linalg.norm(a + share * side - point))
        found.append(best)
    return np.array(found)


def compare(tool, photo, bar, chance):
    seen, own_seconds = traced(tool, photo, bar)
    began = time.process_time()
    picture = cv2.imread(str(photo))
    grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    light = cv2.transform(linear(picture), np.array([[0.0722, 0.7152, 0.2126]], np.float32))
    sheet, marks = seen["mark"][:, :2], seen["mark"][:, 2:]
    size = (picture.shape[1], picture.shape[0])
    per_mm = np.linalg.norm(marks[1] - marks[0]) / np.linalg.norm(sheet[1] - sheet[0])
    found = corners(light, marks, 5 * per_mm, chance.uniform(-3, 3, marks.shape))
    project = calibrated(sheet, found, size, seen["lens"][0][1:3])
    lines = outlines(grey, light, tuple(seen["outer"].mean(0)))
    seconds = time.process_time() - began
    lens, grid = seen["lens"][0], seen["grid"]
    inside = np.all((grid[:, 2:] > 0) & (grid[:, 2:] < np.array(size) - 1), axis=1)
    flat, _ = cv2.findHomography(sheet, straightened(marks, lens), 0)
    mapped = cv2.perspectiveTransform(grid[inside, None, :2], flat).reshape(-1, 2)
    away = {
        "marks": np.linalg.norm(found - marks, axis=1),
        "homography": np.linalg.norm(mapped - straightened(grid[inside, 2:], lens), axis=1),
        "lens": np.linalg.norm(project(grid[inside, :2]) - grid[inside, 2:], axis=1),
        "outlines": np.concatenate([apart(seen[name][::7], line) for name, line in zip(("outer", "inner"), lines)]),
    }
    return away, own_seconds, seconds


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--tool", required=True, help="the render-photos program")
    arguments.add_argument("--folder", required=True, type=pathlib.Path, help="where photos are made and kept")
    arguments.add_argument("--photos", type=int, default=3)
    arguments.add_argument("--megapixels", default="3")
    arguments.add_argument("--seed", type=int, default=1)
    options = arguments.parse_args()
    cv2.setNumThreads(1)
    chance = np.random.default_rng(options.seed)
    options.folder.mkdir(parents=True, exist_ok=True)
    whole, times = {name: [] for name in LIMITS}, []
    for number in range(options.photos):
        photo = options.folder / f"{options.megapixels}-{options.seed + number}.jpg"
        if not photo.exists():
            subprocess.run([options.tool, "photo", str(options.seed + number), options.megapixels, photo], check=True)
        away, own, other = compare(options.tool, photo, "10", chance)
        times.append((own, other))
        for name, values in away.items():
            whole[name].append(values)
    failed = False
    for name, limit in LIMITS.items():
        values = np.concatenate(whole[name])
        within = np.quantile(values, 0.99)
        failed |= not within < limit
        print(f"{name}: {len(values)} compared, median {np.median(values):.4f} px, 99 % within {within:.4f} px,"
              f" largest {values.max():.4f} px; allowed for 99 %: {limit} px")
    own, other = np.median(np.array(times), axis=0)
    print(f"processor time for a photo of {options.megapixels} megapixels, median of {len(times)}: program {own:.3f} s, OpenCV {other:.3f} s")
    sys.exit(failed)


if __name__ == "__main__":
    main()

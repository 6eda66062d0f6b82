"""Readers of intensity distributions for zone_totals.py: LM-63, EULUMDAT, H-V grid, list of points, declared figure.

Written apart from the Rust tool on purpose. Directions are unit vectors in the lamp's frame, x along the beam, y left,
z up; angles in degrees, values in cd (or cd.s/min where a table says so), NaN where there is no data.
"""

import csv
import math
import re
from dataclasses import dataclass

import numpy as np

# ---- quantities -------------------------------------------------------------------------------------------------

LENGTH_M = {"in": 0.0254, "ft": 0.3048, "m": 1.0, "mm": 0.001, "cm": 0.01}
TIME_US = {"us": 1, "ms": 1000, "s": 1_000_000}


def split(text):
    m = re.fullmatch(r"\s*([-+0-9._eE]+)\s*(.*?)\s*", text)
    return float(m[1].replace("_", "")), m[2]


def metres(text):
    value, unit = split(text)
    return value * LENGTH_M[unit]


def degrees(text):
    value, unit = split(text)
    assert unit == "deg", text
    return value


def candela(text):
    value, unit = split(text)
    assert unit == "cd", text
    return value


def micros(text):
    value, unit = split(text)
    return round(value * TIME_US[unit])


# ---- intensity distributions ------------------------------------------------------------------------------------


@dataclass
class Table:
    """Values over two axes, bilinear between them, NaN outside. `frame` turns lamp-frame directions into (first, second)."""

    first: np.ndarray  # H or C
    second: np.ndarray  # V or gamma
    values: np.ndarray  # [first, second]
    frame: callable
    turn: str = ""  # for C: "quarter", "half-0", "half-90", "all", "rotational"; for H: "mirror"
    optical_power: bool = False

    def at(self, d):
        a, b = self.frame(d)
        if self.turn == "rotational":
            a = np.zeros_like(a)
        elif self.turn == "mirror":
            a = np.abs(a)
        elif self.turn:
            a = np.mod(a, 360)
            if self.turn == "quarter":
                a = np.where(a > 180, 360 - a, a)
                a = np.where(a > 90, 180 - a, a)
            elif self.turn == "half-0":
                a = np.where(a > 180, 360 - a, a)
            elif self.turn == "half-90":  # stored 90..270
                a = np.where((a < 90) | (a > 270), np.mod(180 - a, 360), a)
        i, s = bracket(self.first, a)
        j, t = bracket(self.second, b)
        w = self.values
        k, l = np.minimum(i + 1, len(self.first) - 1), np.minimum(j + 1, len(self.second) - 1)
        low = w[i, j] * (1 - s) + w[k, j] * s
        high = w[i, l] * (1 - s) + w[k, l] * s
        value = low * (1 - t) + high * t
        inside = (a >= self.first[0]) & (a <= self.first[-1]) & (b >= self.second[0]) & (b <= self.second[-1])
        return np.where(inside, value, np.nan)


def bracket(axis, x):
    if len(axis) == 1:
        return np.zeros(x.shape, int), np.zeros(x.shape)
    i = np.clip(np.searchsorted(axis, x, side="right") - 1, 0, len(axis) - 2)
    return i, (x - axis[i]) / (axis[i + 1] - axis[i])


@dataclass
class Declared:
    axis: float
    half: float
    optical_power: bool = False

    def at(self, d):
        off = np.degrees(np.arctan2(np.hypot(d[..., 1], d[..., 2]), d[..., 0]))
        m = math.log(0.5) / math.log(math.cos(math.radians(self.half)))
        with np.errstate(invalid="ignore"):
            value = self.axis * np.power(np.cos(np.radians(off)), m)
        return np.where(off <= 2 * self.half, value, np.nan)


def vertical_axis(d):
    return np.degrees(np.arctan2(-d[..., 1], d[..., 0])), np.degrees(np.arcsin(np.clip(d[..., 2], -1, 1)))


def horizontal_axis(d):
    return np.degrees(np.arcsin(np.clip(-d[..., 1], -1, 1))), np.degrees(np.arctan2(d[..., 2], d[..., 0]))


def c_gamma(frame, c0):
    """C and gamma of lamp directions. C grows anticlockwise seen from behind (beam-axis) or from above (vertical-axis)."""
    names = {"beam-axis": ["up", "left", "down", "right"], "vertical-axis": ["forward", "left", "back", "right"]}[frame]
    zero = 90.0 * names.index(c0) if c0 else 0.0

    def angles(d):
        x, y, z = d[..., 0], d[..., 1], d[..., 2]
        if frame == "beam-axis":
            c, g = np.arctan2(y, z), np.arccos(np.clip(x, -1, 1))
        else:
            c, g = np.arctan2(y, x), np.arccos(np.clip(-z, -1, 1))
        return np.mod(np.degrees(c) - zero, 360), np.degrees(g)

    return angles


def read_lm63(text, spec):
    head, body = re.split(r"TILT=NONE", text, maxsplit=1)
    numbers = [float(x) for x in re.split(r"[\s,]+", body.strip())]
    lamps, lumens, factor, nv, nh, kind, units, *_ = numbers[:13]
    if "LM-63-1995" not in head and "LM-63-2002" not in head and "LM-63-2019" not in head:
        factor *= numbers[11]
    factor *= numbers[10]
    nv, nh = int(nv), int(nh)
    v = np.array(numbers[13:13 + nv])
    h = np.array(numbers[13 + nv:13 + nv + nh])
    values = np.array(numbers[13 + nv + nh:]).reshape(nh, nv) * factor
    if kind != 1:
        frame = {"vertical-axis": vertical_axis, "horizontal-axis": horizontal_axis}[spec["frame"]]
        return Table(h, v, values, frame, "mirror" if h[0] == 0 else "")
    if nh == 1:
        turn = "rotational"
    else:
        turn = {(0, 90): "quarter", (0, 180): "half-0", (90, 270): "half-90"}.get((h[0], h[-1]), "all")
    return Table(h, v, values, c_gamma(spec["frame"], spec.get("c0")), turn)


def read_eulumdat(text, spec):
    lines = [line.strip().replace(",", ".") for line in text.splitlines()]
    symmetry, mc, ng = int(lines[2]), int(lines[3]), int(lines[5])
    conversion, sets = float(lines[23]), int(lines[25])
    flux = sum(float(lines[26 + 6 * i + 2]) for i in range(sets))
    rest = [float(x) for x in lines[26 + 6 * sets + 10:] if x]
    planes, gammas = np.array(rest[:mc]), np.array(rest[mc:mc + ng])
    values = np.array(rest[mc + ng:]).reshape(-1, ng) * conversion * flux / 1000
    frame = c_gamma(spec["frame"], spec.get("c0"))
    if symmetry == 1:
        return Table(planes[:1], gammas, values, frame, "rotational")
    if symmetry == 0:
        return Table(np.append(planes, planes[0] + 360), gammas, np.vstack([values, values[:1]]), frame, "all")
    if symmetry == 2:
        return Table(planes[:mc // 2 + 1], gammas, values, frame, "half-0")
    if symmetry == 4:
        return Table(planes[:mc // 4 + 1], gammas, values, frame, "quarter")
    # Symmetry 3 is stored from C270 over C0 to C90; its mirror image 90..270 is the same light.
    c = np.concatenate([planes[3 * mc // 4:] - 360, planes[:mc // 4 + 1]])
    return Table((180 - c)[::-1], gammas, values[::-1], frame, "half-90")


def read_csv_table(text, spec, optical_power):
    rows = [row for row in csv.reader(text.splitlines()) if row and any(cell.strip() for cell in row)]
    frame = {"vertical-axis": vertical_axis, "horizontal-axis": horizontal_axis}[spec["frame"]]
    if rows[0][0].strip() == "V\\H":
        h = np.array([float(x) for x in rows[0][1:]])
        v = np.array([float(row[0]) for row in rows[1:]])
        values = np.array([[float(x) for x in row[1:]] for row in rows[1:]]).T
        up = np.argsort(v)
        return Table(h, v[up], values[:, up], frame, optical_power=optical_power)
    cells = {(float(h), float(v)): float(x) for h, v, x in rows[1:]}
    h, v = (np.array(sorted({key[i] for key in cells})) for i in (0, 1))
    values = np.array([[cells.get((a, b), np.nan) for b in v] for a in h])
    return Table(h, v, values, frame, optical_power=optical_power)


def distribution(emitter, folder):
    if "declared" in emitter:
        d = emitter["declared"]
        return Declared(candela(d["axis"]), degrees(d["half-angle"]))
    power = "optical-power" in emitter
    spec = emitter["optical-power"] if power else emitter["intensity"]
    path = folder / spec["file"]
    text = path.read_text(encoding="latin-1")
    if path.suffix == ".ies":
        return read_lm63(text, spec)
    if path.suffix == ".ldt":
        return read_eulumdat(text, spec)
    return read_csv_table(text, spec, power)

#!/usr/bin/env python3
"""Recomputes zone totals, least points and least off-plane points of demo packages, apart from the Rust tool.

    python3 -m venv VENV && VENV/bin/pip install numpy
    VENV/bin/python tests/reference/zone_totals.py demo-data/rescue-4/package.toml [more packages] > totals.csv

Its own readers (distributions.py, and here the packages), its own pose, hiding and interpolation; no code is shared
with the tool, so that a slip in either shows as a difference.
Method `angular`: directions as on the bench, no parallax. Output: one row a purpose, level, zone, boundary
convention and quantity; `value` leaves out what is without data and is then a lower bound, `no_data` counts those
contributions of a head to a point. Several modes of one purpose: the least favourable one. A package with [inputs]
is handed to logic_states.py: the least favourable state.
What the zones, levels, colours and flash limits are stands below as constants, from the two shipped rulesets.
"""

import csv
import importlib
import math
import re
import sys
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from distributions import degrees, distribution, metres, micros

SECTORS = {"A": (-45, 45), "B": (45, 135), "C": (135, 225), "D": (225, 315)}
COLOURS = {
    "calling": {"A": {"red", "blue", "white"}, "B": {"red", "blue", "amber", "white"},
                "C": {"red", "blue", "amber"}, "D": {"red", "blue", "amber", "white"}},
    "blocking": {zone: {"red", "blue", "amber"} for zone in SECTORS},
}
STEP, OFF_PLANE = 5, (-5.0, 5.0)
DARK_AT_LEAST_US = 160_000
LEVEL_SPLIT_IN, LOWER_FROM_IN = 62.0, 18.0
BEHIND = 1e-9

# ---- the package ------------------------------------------------------------------------------------------------

FACES = {"front": 0.0, "right": 90.0, "rear": 180.0, "left": 270.0}


@dataclass
class Head:
    """One head as mounted; `place` is (behind-front, right, height) in metres, angles in degrees."""

    id: str
    model: dict
    groups: list
    place: np.ndarray
    faces: float
    pitch: float
    roll: float
    level: str | None
    role: str
    glass: float = 1.0
    poses: list = field(default_factory=list)
    turned: bool = False  # a mirrored twin of a handed model

    def mounted(self, given):
        for when, place, faces in self.poses:
            if when in given:
                return (self.place if place is None else place), (self.faces if faces is None else faces)
        return self.place, self.faces


def bearing(text):
    return FACES[text] if text in FACES else degrees(text)


def place(at):
    return np.array([metres(at["behind-front"]), metres(at["right"]), metres(at["height"])])


def head_from(raw, models):
    return Head(
        raw["id"], models[raw["model"]], raw.get("groups", []), place(raw["at"]), bearing(raw["faces"]),
        degrees(raw.get("tilt", "0 deg")) + degrees(raw.get("wedge", "0 deg")), degrees(raw.get("roll", "0 deg")),
        raw.get("level"), raw.get("role", "warning"), raw.get("behind", {}).get("transmittance", 1.0),
        [(p["when"], place(p["at"]) if "at" in p else None, bearing(p["faces"]) if "faces" in p else None)
         for p in raw.get("poses", [])])


def twin(head):
    assert head.id.endswith(("-left", "-right")), head.id
    stem, side = head.id.rsplit("-", 1)
    flip = np.array([1.0, -1.0, 1.0])
    return Head(
        stem + ("-right" if side == "left" else "-left"), head.model, head.groups, head.place * flip,
        (360 - head.faces) % 360, head.pitch, -head.roll, head.level, head.role, head.glass,
        [(w, None if p is None else p * flip, None if f is None else (360 - f) % 360) for w, p, f in head.poses],
        bool(head.model.get("handed")))


def rows_of(path):
    """Heads from a CSV table: a unit stands in the header in parentheses or in the cell."""
    for row in csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()):
        cells = {}
        for key, cell in row.items():
            m = re.fullmatch(r"(.*?)\s*\((.*)\)", key.strip())
            name, unit = (m[1], m[2]) if m else (key.strip(), None)
            if cell and cell.strip():
                cell = cell.strip()
                cells[name] = f"{cell} {unit}" if unit and re.fullmatch(r"[-+0-9.]+", cell) else cell
        cells["at"] = {key: cells.pop(key) for key in ("behind-front", "right", "height")}
        cells["groups"] = cells.get("groups", "").split()
        cells["mirror"] = cells.get("mirror") == "yes"
        yield cells


class Package:
    def __init__(self, path):
        path = Path(path)
        self.raw = tomllib.loads(path.read_text(encoding="utf-8"))
        self.models = {}
        for name in self.raw["catalogues"]:
            file = next(p for p in (path.parent / name, path.parent.parent / "catalogue" / name) if p.is_file())
            for model in tomllib.loads(file.read_text(encoding="utf-8"))["model"]:
                model["folder"] = file.parent
                self.models[model["id"]] = model
        raws = list(self.raw.get("head", []))
        if "heads" in self.raw:
            raws += rows_of(path.parent / self.raw["heads"])
        self.heads = []
        for raw in raws:
            head = head_from(raw, self.models)
            self.heads += [head, twin(head)] if raw.get("mirror") else [head]
        vehicle = self.raw["vehicle"]
        self.half_length = metres(vehicle["length"]) / 2
        self.patterns = {p["id"]: p for p in self.raw.get("pattern", [])}
        self.displays = {d["id"]: d for d in self.raw["display"]}
        self.bodies = [(b.get("when"), *self.box(b)) for b in self.raw.get("body", [])]
        self.two_levels = any("two-level" in rule for rule in self.raw["rules"])

    def xyz(self, p):
        return np.array([self.half_length - p[0], -p[1], p[2]])

    def box(self, body):
        corners = np.array([self.xyz(place(body["from"])), self.xyz(place(body["to"]))])
        return corners.min(axis=0), corners.max(axis=0)

    def shown(self, mode):
        """Head id -> the entry that it shows in this mode; a later entry wins."""
        result = {}
        for name in mode["displays"]:
            for entry in self.displays[name]["show"]:
                for head in self.heads:
                    if entry.get("head") == head.id or ("group" in entry and entry["group"] in head.groups):
                        result[head.id] = entry
        return result

    def emitter(self, head, colour):
        emitter = next(e for e in head.model["emitter"] if e["colour"] == colour)
        if "light" not in emitter:
            emitter["light"] = distribution(emitter, head.model["folder"])
        return emitter["light"]

    def level(self, head):
        if not self.two_levels:
            return ""
        if head.level:
            return head.level
        inches = head.place[2] / 0.0254
        if inches > LEVEL_SPLIT_IN + 1e-9:
            return "upper"
        return "lower" if inches >= LOWER_FROM_IN - 1e-9 else None

    # -- light ----------------------------------------------------------------------------------------------------

    def duty(self, name):
        p = self.patterns[name]
        return sum(micros(b) - micros(a) for a, b in p["pulses"]) / micros(p["period"])

    def flashes(self, name):
        if name == "steady":
            return False
        p = self.patterns[name]
        period = micros(p["period"])
        pulses = sorted((micros(a), micros(b)) for a, b in p["pulses"])
        following = pulses[1:] + [(pulses[0][0] + period, 0)]
        return any(b[0] - a[1] >= DARK_AT_LEAST_US for a, b in zip(pulses, following))

    def optical_power(self, head, entry, given, bearings, elevation):
        """cd.s/min of one head in the directions; NaN where there is no data. Hidden comes before behind."""
        at, faces = head.mounted(given)
        b, e = np.radians(np.asarray(bearings, float)), math.radians(elevation)
        world = np.stack([math.cos(e) * np.cos(b), -math.cos(e) * np.sin(b), np.full(b.shape, math.sin(e))], axis=-1)
        lamp = world @ rotation(faces, head.pitch, head.roll)  # rows: transpose(R) times direction
        light = self.emitter(head, entry["colour"])
        seen = lamp * np.array([1.0, -1.0, 1.0]) if head.turned else lamp
        value = light.at(seen) * head.glass
        if not light.optical_power:
            value = value * 60 * self.duty(entry["pattern"])
        if not head.model.get("all-round"):
            value = np.where(lamp[..., 0] <= BEHIND, 0.0, value)
        origin = self.xyz(at)
        for when, low, high in self.bodies:
            if when is None or when in given:
                value = np.where(hits(origin, world, low, high), 0.0, value)
        return value


def rotation(faces, pitch, roll):
    y, p, r = (math.radians(x) for x in (faces, pitch, roll))
    rz = np.array([[math.cos(y), math.sin(y), 0], [-math.sin(y), math.cos(y), 0], [0, 0, 1]])
    ry = np.array([[math.cos(p), 0, -math.sin(p)], [0, 1, 0], [math.sin(p), 0, math.cos(p)]])
    rx = np.array([[1, 0, 0], [0, math.cos(r), -math.sin(r)], [0, math.sin(r), math.cos(r)]])
    return rz @ ry @ rx


def hits(origin, directions, low, high):
    """Does the ray from origin meet the box? A box that holds the origin does not hide it."""
    if np.all(origin > low) and np.all(origin < high):
        return np.zeros(directions.shape[:-1], bool)
    near, far = np.full(directions.shape[:-1], 0.0), np.full(directions.shape[:-1], np.inf)
    for k in range(3):
        d = directions[..., k]
        with np.errstate(divide="ignore", invalid="ignore"):
            a, b = (low[k] - origin[k]) / d, (high[k] - origin[k]) / d
        inside = low[k] <= origin[k] <= high[k]
        a, b = np.where(d == 0, -np.inf if inside else np.inf, a), np.where(d == 0, np.inf, b)
        near, far = np.maximum(near, np.minimum(a, b)), np.minimum(far, np.maximum(a, b))
    return near < far


# ---- zones ------------------------------------------------------------------------------------------------------


def zone_bearings(zone, boundary):
    first, last = SECTORS[zone]
    return np.arange(first, last + (STEP if boundary == "both" else 0), STEP)


def counted(package, mode, zone):
    """(head, entry) of the heads that count in the zone in this mode."""
    for head in package.heads:
        entry = package.shown(mode).get(head.id)
        if entry is None or entry.get("role", head.role) != "warning" or not package.flashes(entry["pattern"]):
            continue
        if entry["colour"] in COLOURS[mode["purpose"]][zone]:
            yield head, entry


def quantities(package, mode, level, zone, boundary):
    bearings = zone_bearings(zone, boundary)
    given = set(mode.get("given", []))
    heads = [(h, e) for h, e in counted(package, mode, zone) if package.level(h) == level]
    planes = {}
    for elevation in (0.0, *OFF_PLANE):
        light = [package.optical_power(h, e, given, bearings, elevation) for h, e in heads]
        planes[elevation] = np.array(light).reshape(len(light), len(bearings))
    flat = np.nansum(planes[0.0], axis=0)
    off = [np.nansum(planes[e], axis=0).min() for e in OFF_PLANE]
    missing = {e: int(np.isnan(p).sum()) for e, p in planes.items()}
    yield "zone-total", flat.sum(), missing[0.0]
    yield "least-point", flat.min(), missing[0.0]
    yield "off-plane-point", min(off), sum(missing[e] for e in OFF_PLANE)


def totals(path):
    package = Package(path)
    if "inputs" in package.raw:  # the least over the states of a controller is found by another program
        return importlib.import_module("logic_states").totals(path)
    rows = {}
    for mode in package.raw["mode"]:
        for level in ("upper", "lower") if package.two_levels else ("",):
            for zone in SECTORS:
                for boundary in ("both", "first"):
                    for name, value, missing in quantities(package, mode, level, zone, boundary):
                        key = (str(path), mode["purpose"], level, zone, boundary, name)
                        if key not in rows or value < rows[key][0]:
                            rows[key] = (float(value), missing)
    return [(*key, repr(value), missing) for key, (value, missing) in rows.items()]


def main():
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["package", "purpose", "level", "zone", "boundary", "quantity", "value", "no_data"])
    for path in sys.argv[1:]:
        out.writerows(totals(path))


if __name__ == "__main__":
    main()

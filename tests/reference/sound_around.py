#!/usr/bin/env python3
"""Levels round whole vehicles, a second time: own readers, own geometry, absorption and sums by a library.

    VENV/bin/python tests/reference/sound_around.py PACKAGE.toml [more packages] > levels.csv

For each sounding of each package, at each eighth of a ring of 15.24 m, 1.2 m high: the lowest and the highest level in
dB(A) that the sheets leave open, `-inf` for silence, `inf` for unknown. And for each part of each exposure the same at
the ear. It follows the conventions in DEVELOPERS.md, not the program: what it shares with it is nothing but the files.
Absorption by air and sums of levels are those of acoustic-toolbox 0.2.2 (see sound_library.py).
"""

import csv
import math
import sys
import tomllib
from pathlib import Path

from sound_library import folder, module

ISO = module(folder("acoustic_toolbox") / "standards/iso_9613_1_1993.py")
DECIBEL = module(folder("acoustic_toolbox") / "decibel.py")
LENGTHS = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048}
BEARINGS = {"front": 0.0, "right": 90.0, "rear": 180.0, "left": 270.0}
BANDS = [63, 125, 250, 500, 1000, 2000, 4000, 8000]


def number(text, unit):
    value, _, symbol = text.partition(" ")
    assert symbol == unit, text
    return float(value)


def metres(text):
    value, _, symbol = text.partition(" ")
    return float(value) * LENGTHS[symbol]


def weight(hertz):
    """IEC 61672-1 from its rounded poles, zero at 1 kHz."""

    def response(f):
        poles = math.sqrt((f**2 + 107.65264864304629**2) * (f**2 + 737.8622307362901**2))
        return 12194.217147998012**2 * f**4 / ((f**2 + 20.598997057618316**2) * poles * (f**2 + 12194.217147998012**2))

    return 20 * math.log10(response(hertz) / response(1000.0))


def loss(air, hertz, distance):
    celsius, percent, kilopascal = air
    kelvin = celsius + 273.15
    vapour = ISO.molar_concentration_water_vapour(percent, ISO.saturation_pressure(kelvin), kilopascal)
    return distance * ISO.attenuation_coefficient(
        pressure=kilopascal,
        temperature=kelvin,
        reference_pressure=ISO.REFERENCE_PRESSURE,
        reference_temperature=ISO.REFERENCE_TEMPERATURE,
        relaxation_frequency_nitrogen=ISO.relaxation_frequency_nitrogen(kilopascal, kelvin, vapour),
        relaxation_frequency_oxygen=ISO.relaxation_frequency_oxygen(kilopascal, vapour),
        frequency=hertz,
    )


def midband(label):
    """The exact midband behind a label: a step of the tenth root of ten cubed."""
    return 1000 * 10 ** (round(math.log2(label / 1000)) * 0.3)


class Vehicle:
    def __init__(self, path):
        path = Path(path)
        self.package = tomllib.loads(path.read_text())
        self.models = {}
        for name in self.package["catalogues"]:
            for place in (path.parent / name, path.parent.parent / "catalogue" / name):
                if place.exists():
                    models = tomllib.loads(place.read_text())["model"]
                    self.models.update({model["id"]: model for model in models if "sound" in model})
                    break
        self.half = metres(self.package["vehicle"]["length"]) / 2
        self.sounders = {}
        for one in self.package.get("sounder", []):
            at, bearing = self.point(one["at"]), self.bearing(one["faces"])
            pitch = sum(number(one[key], "deg") for key in ("tilt", "wedge") if key in one)
            self.sounders[one["id"]] = (one, at, bearing, pitch)
            if one.get("mirror"):
                stem, _, side = one["id"].rpartition("-")
                twin = {**one, "id": f"{stem}-{'right' if side == 'left' else 'left'}"}
                self.sounders[twin["id"]] = (twin, (at[0], -at[1], at[2]), -bearing, pitch)
        self.boxes = []
        for body in self.package.get("body", []):
            corners = [self.point(body[key]) for key in ("from", "to")]
            low, high = zip(*(sorted(pair) for pair in zip(*corners)))
            self.boxes.append((low, high, "when" not in body))
        listening = self.package.get("listening", {})
        air = listening.get("air", {"temperature": "20 degC", "humidity": "70 %"})
        pressure = number(air["pressure"], "kPa") if "pressure" in air else 101.325
        self.air = (number(air["temperature"], "degC"), number(air["humidity"], "%"), pressure)
        self.ground = (-4.8, 6.02)
        if "reflection" in listening:
            self.ground = (number(listening["reflection"], "dB"),) * 2
        shut = listening.get("windows-shut")
        shut = shut["takes"] if isinstance(shut, dict) else shut
        self.shut = number(shut, "dB") if shut else None

    def point(self, at):
        ahead = self.half - metres(at["behind-front"]) if "behind-front" in at else metres(at["ahead"])
        return (ahead, -metres(at.get("right", "0 m")), metres(at["height"]))

    @staticmethod
    def bearing(faces):
        return BEARINGS[faces] if faces in BEARINGS else number(faces, "deg")

    def hidden(self, start, end):
        """Whether a box cuts the line, and whether one that always stands there does; one that holds an end is no
        hindrance, and grazing is free."""
        found = []
        for low, high, always in self.boxes:
            if any(all(a <= s <= b for a, s, b in zip(low, point, high)) for point in (start, end)):
                continue
            enter, leave, outside = 0.0, 1.0, False
            for a, b, s, e in zip(low, high, start, end):
                if abs(e - s) < 1e-12:
                    outside |= not a < s < b
                    continue
                one, other = sorted(((a - s) / (e - s), (b - s) / (e - s)))
                enter, leave = max(enter, one), min(leave, other)
            if not outside and enter < leave:
                found.append(always)
        return bool(found), any(found)

    def one(self, name, tone, place):
        """The lowest and highest level of one sounder at a place, and the length of its way."""
        sounder, at, bearing, pitch = self.sounders[name]
        sheet = next(sheet for sheet in self.models[sounder["model"]]["sound"] if sheet["tone"] == tone)
        way = math.dist(at, place)
        yaw, tilt = math.radians(bearing), math.radians(pitch)
        axis = (math.cos(tilt) * math.cos(yaw), -math.cos(tilt) * math.sin(yaw), math.sin(tilt))
        towards = [(b - a) / way for a, b in zip(at, place)]
        angle = math.degrees(math.acos(max(-1.0, min(1.0, sum(a * b for a, b in zip(axis, towards))))))
        right = (-math.sin(yaw), -math.cos(yaw), 0.0)
        if sum(a * b for a, b in zip(right, towards)) < 0:
            angle = -angle
        rows = [(0.0, number(sheet["level"], "dB(A)"))] if "level" in sheet else [
            (number(a, "deg"), number(b, "dB(A)")) for a, b in sheet.get("levels", [])
        ]
        if sheet.get("symmetric"):
            rows = sorted(rows + [(-a, b) for a, b in rows if a > 0])
        if "distance" not in sheet or not rows:
            return -math.inf, math.inf, way
        level, least = None, 0.0
        if len(rows) == 1:
            # Of a sheet that states the axis alone nothing is louder elsewhere, and near the axis nothing softer.
            level, least = rows[0][1], 0.0 if abs(angle) <= 5 else -math.inf
        for (a, one), (b, other) in zip(rows, rows[1:]):
            if a <= angle <= b and b - a <= 90:
                level = one + (other - one) * (angle - a) / (b - a)
                break
        if level is None:
            return -math.inf, math.inf, way
        stated = metres(sheet["distance"])
        level -= 20 * math.log10(way / stated)
        further = way - stated
        if "octaves" in sheet:
            bands = {int(band): number(text, "dB") for band, text in sheet["octaves"].items()}
            heard = [value + weight(midband(band)) for band, value in bands.items()]
            left = [value + weight(midband(band)) - loss(self.air, midband(band), further) for band, value in bands.items()]
            low = high = level + DECIBEL.dbsum(left) - DECIBEL.dbsum(heard)
        else:
            low, high = sorted((level - loss(self.air, midband(4000), further), level))
        low += least
        before = number(sounder["behind"], "dB") if "behind" in sounder else 0.0
        low, high = low - before, high - before
        between, always = self.hidden(at, place)
        if between:
            takes = number(sounder["screened"], "dB") if "screened" in sounder else None
            low = low - takes if takes is not None else -math.inf
            high = high - takes if always and takes is not None else high
        return low, high, way

    def heard(self, sounding, place):
        groups = {}
        speaker = lambda sounder: self.models[sounder["model"]]["sounder"] in ("siren-speaker", "low-frequency-speaker")
        sounders = [self.sounders[name][0] for name in sounding["sounders"]]
        unsaid = any(speaker(sounder) and "amplifier" not in sounder for sounder in sounders)
        for sounder in sounders:
            key = ("amplifier", sounder["amplifier"]) if "amplifier" in sounder else ("alone", sounder["id"])
            key = ("speakers",) if unsaid and speaker(sounder) else key
            source = (sounder["model"], sounder.get("polarity"))
            groups.setdefault(key, []).append((*self.one(sounder["id"], sounding["tone"], place), source))
        ends = [self.in_step(group) for group in groups.values()]
        add = lambda levels: DECIBEL.dbsum(levels) if any(math.isfinite(one) for one in levels) else max(levels)
        return add([low for low, _ in ends]), add([high for _, high in ends])

    @staticmethod
    def in_step(group):
        """Between against each other and with each other; a second speaker never counts for more at the lower end."""
        if len(group) == 1:
            return group[0][:2]
        pressure = lambda level: 10 ** (level / 20)
        highs = [pressure(high) for _, high, _, _ in group]
        lows = [pressure(low) for low, _, _, _ in group]
        left = max(low - (sum(highs) - high) for low, high in zip(lows, highs)) if math.isfinite(sum(highs)) else 0.0
        ways = [way for _, _, way, _ in group]
        phase = 2 * math.pi * 4000 * (max(ways) - min(ways)) / 343.2
        sources = {source for _, _, _, source in group}
        if len(sources) == 1 and None not in next(iter(sources)) and phase < math.pi:
            left = max(left, sum(lows) * math.cos(phase / 2))
        low = 20 * math.log10(left) if left > 0 else -math.inf
        high = 20 * math.log10(sum(highs)) if math.isfinite(sum(highs)) else math.inf
        return min(low, max(low for low, _, _, _ in group)), high

    def rows(self):
        for sounding in self.package.get("sounding", []):
            for bearing in range(0, 360, 45):
                angle = math.radians(bearing)
                place = (15.24 * math.cos(angle), -15.24 * math.sin(angle), 1.2)
                low, high = self.heard(sounding, place)
                yield "ring", sounding["id"], bearing, low + self.ground[0], high + self.ground[1]
        soundings = {sounding["id"]: sounding for sounding in self.package.get("sounding", [])}
        for exposure in self.package.get("exposure", []):
            for at, stretch in enumerate(exposure["stretches"]):
                if "level" in stretch:
                    low = high = number(stretch["level"], "dB(A)")
                else:
                    low, high = self.heard(soundings[stretch["sounding"]], self.point(exposure["at"]))
                    low, high = low + self.ground[0], high + self.ground[1]
                    if stretch.get("windows") == "shut":
                        low, high = (low - self.shut, high - self.shut) if self.shut is not None else (-math.inf, high)
                yield "ear", exposure["id"], at, low, high


def main():
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["package", "where", "what", "at", "low", "high"])
    for path in sys.argv[1:]:
        for row in Vehicle(path).rows():
            out.writerow([path, *row])


if __name__ == "__main__":
    main()

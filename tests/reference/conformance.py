"""Conformance probabilities for tests/decision_rule.rs, in whole numbers of the series for the normal distribution.

Written apart from the program: fifty digits of the decimal module, the Taylor series of the error function, no library
that the program uses. Writes tests/reference/readings/conformance.csv; --check says whether it still is as written here.
"""

import argparse
import decimal
import pathlib
import random
import sys
from decimal import Decimal as D

decimal.getcontext().prec = 60
FILE = pathlib.Path(__file__).resolve().parent / "readings" / "conformance.csv"
PI = D("3.14159265358979323846264338327950288419716939937510582097494459")


def cdf(z):
    """Area of the normal distribution below z: 1/2 + (1/sqrt(2 pi)) sum of (-1)^n z^(2n+1) / (2^n n! (2n+1))."""
    if z > 12:
        return D(1)
    if z < -12:
        return D(0)
    term, total, n = z, z, 0
    while abs(term) > D(10) ** -58:
        n += 1
        term = -term * z * z / (2 * n)
        total += term / (2 * n + 1)
    return D("0.5") + total / (2 * PI).sqrt()


def rows():
    draw = random.Random(106)
    yield "reading,standard,from,to,outside,probability"
    for at in range(400):
        u = D(draw.randint(1, 900)) / 100
        low = D(draw.randint(-5000, 5000)) / 100
        high = low + D(draw.randint(0, 4000)) / 100
        kind = ["range", "least", "most", "outside"][at % 4]
        # Within ten standard uncertainties of a limit.
        reading = (low if draw.random() < 0.5 else high) + u * D(draw.randint(-600, 600)) / 100
        below = cdf((low - reading) / u) if kind != "most" else D(0)
        above = cdf((reading - high) / u) if kind != "least" else D(0)
        inside = 1 - below - above
        p = 1 - inside if kind == "outside" else inside
        low, high = ("" if kind == "most" else low), ("" if kind == "least" else high)
        yield f"{reading},{u},{low},{high},{'yes' if kind == 'outside' else 'no'},{float(p)!r}"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--check", action="store_true")
    text = "\n".join(rows()) + "\n"
    if parser.parse_args().check:
        sys.exit(0 if FILE.read_text() == text else f"{FILE} is not as this program writes it")
    FILE.parent.mkdir(exist_ok=True)
    FILE.write_text(text)


main()
